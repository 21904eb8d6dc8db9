"""The start of a step that cannot be undone: refused, left, and then taken, with what it asks."""

import pytest
from scripted_face import ScriptedRun

from benchrun.account.deviations import deviations_in
from benchrun.dialogue.acts import act

PROCEDURE = """\
procedure: press-it
title: Press a bush in
revision: 1
status: draft
scope: Invented.
batch: {part: arm, at most: 4}
stages:
  - stage: Press
    steps:
      - {do: Oil the bush., id: oil}
      - do: Press the bush in.
        id: press-in
        critical: yes
        who: welder
        window: {after: oil, least: 2 min}
"""


@pytest.fixture
def run(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text(PROCEDURE)
    run = ScriptedRun(tmp_path, path, ("arm 1",), people=())
    run.drive(act(run.work))
    return run


def test_a_begin_that_is_refused_and_left_keeps_nothing_and_may_be_taken_later(run):
    face = run.drive(act(run.work), "-")
    (asked,) = face.asked
    assert asked.said.startswith("Step 2: This step is for a welder. Hand over, or give a reason. ")
    assert run.kinds() == ["open", "do"]
    run.clock.wait(3 * 60_000)
    run.work.tidy()
    face = run.drive(act(run.work), "the welder watches")
    assert face.asked[0].said == "Step 2: This step is for a welder. Hand over, or give a reason."
    assert run.kinds() == ["open", "do", "begin"]
    begun = run.session.entries[-1]
    (told,) = deviations_in(begun, run.session.run.route.steps.get, lambda _: None)
    assert (told.what, told.reason) == ("needed a reason", "the welder watches")
    run.drive(act(run.work), "the welder watches")
    assert run.kinds()[-1] == "do"
