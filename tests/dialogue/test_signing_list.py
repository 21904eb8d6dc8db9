"""What the record holds against a signature stands beside it, and stays in the line it signs."""

import json

import pytest
from scripted_face import WORD, ScriptedRun

from benchrun.account.record_text import show
from benchrun.dialogue.acts import act
from benchrun.dialogue.answers import numbered_answers
from benchrun.dialogue.run_prompts import SignaturePrompt
from benchrun.run import commands as c
from benchrun.run.questions import GO_ON
from benchrun.verify import verify

MINUTE = 60_000
JOB = """\
procedure: soak-job
title: A soak
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: bracket, at most: 12}
vessels: {tub: {title: tub, holds: 4}}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        in: tub
        most: 20 min
        late: [go on, set aside]
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        outside: [go on, set aside]
        source: memory, an invented part
      - hold: Release the part.
        id: release
        signs: Each part was soaked within its time, and its bore is inside its limits.
      - do: Pack it.
        id: pack
"""


@pytest.fixture
def soaked(tmp_path):
    path = tmp_path / "soak.yaml"
    path.write_text(JOB)
    return ScriptedRun(tmp_path, path, ["a", "b"], people=())


def soak(run, minutes):
    run.drive(act(run.work))
    run.clock.wait(minutes * MINUTE)
    run.work.tidy()
    run.drive(act(run.work))


def on_page(face):
    return [one for one in face.asked if isinstance(one, SignaturePrompt)][-1].remarks


def test_a_late_soak_stands_against_within_its_time(soaked):
    soak(soaked, 25)
    soaked.drive(act(soaked.work), "1", "1")
    for value in ("9.5", "9.6"):
        soaked.drive(act(soaked.work), value)
    face = soaked.drive(act(soaked.work), WORD)
    told = on_page(face)
    settled = "step 1 query answered: Go on as it is (looked at closely and judged sound)"
    assert [(one.parts, one.what, one.against) for one in told] == [
        (("a", "b"), "step 1 taken out late", "within its time"),
        (("a", "b"), settled, ""),
    ]
    out = next(one for one in soaked.session.entries if one.kind == "out")
    assert told[0].of == out.n
    assert soaked.last("do").remarks == told


def test_work_as_written_has_nothing_beside_its_signature(soaked):
    soak(soaked, 15)
    for value in ("9.5", "9.6"):
        soaked.drive(act(soaked.work), value)
    face = soaked.drive(act(soaked.work), WORD)
    assert on_page(face) == ()
    assert "remarks" not in soaked.session.folder.log.read_text()


def test_a_value_outside_stands_until_it_is_measured_again(soaked):
    soak(soaked, 15)
    soaked.drive(act(soaked.work), "9.5")
    soaked.drive(act(soaked.work), "10.5")
    question = soaked.work.now.offer.question
    numbered = numbered_answers(soaked.session.run, question)
    go_on = next(str(number) for number, answer in numbered if answer.code == GO_ON)
    soaked.drive(act(soaked.work), go_on, "as agreed")
    face = soaked.drive(act(soaked.work), WORD)
    words = {one.what: one.against for one in on_page(face)}
    assert words["step 2 10.5 mm, outside 9 to 10 mm"] == "inside its limits"
    assert "step 2 query answered: Go on as it is (as agreed)" in words


def test_what_was_signed_over_once_is_not_listed_again(soaked):
    test_a_late_soak_stands_against_within_its_time(soaked)
    soaked.drive(act(soaked.work))
    face = soaked.drive(act(soaked.work), WORD)
    assert soaked.session.run.ended
    assert on_page(face) == ()


def test_the_list_is_in_the_line_that_is_signed_and_the_record_is_whole(soaked):
    test_a_late_soak_stands_against_within_its_time(soaked)
    lines = [json.loads(row) for row in soaked.session.folder.log.read_bytes().splitlines()]
    signed = next(one for one in lines if one["kind"] == "sign")
    stated = lines[signed["data"]["of"]]["data"]
    assert stated["remarks"][0] == {
        "of": next(one["n"] for one in lines if one["kind"] == "out"),
        "what": "step 1 taken out late",
        "parts": ["a", "b"],
        "against": "within its time",
    }
    soaked.session.leave()
    assert not verify(soaked.session.folder.path).faults
    told = show(soaked.session.folder)
    assert "signed over entry" in told
    assert "step 1 taken out late, against “within its time”" in told


def test_no_caller_can_sign_without_the_list(soaked):
    soak(soaked, 25)
    soaked.drive(act(soaked.work), "1", "1")
    for value in ("9.5", "9.6"):
        soaked.drive(act(soaked.work), value)
    run = soaked.session.run
    soaked.session.sign(c.Do("release", ("a", "b"), run.n - 1), WORD).result()
    assert [one.against for one in soaked.last("do").remarks] == ["within its time", ""]


def test_a_close_lists_what_no_signature_stands_over(soaked):
    soak(soaked, 15)
    left = c.Skip("bore", ("a",), soaked.session.run.n - 1, "called away")
    soaked.session.send(left).result()
    reasons = dict.fromkeys("ab", "called away")
    soaked.session.sign(c.Close(reasons, "Ada Brook: I carried out this run."), WORD).result()
    assert [one.what for one in soaked.last("close").remarks] == ["step 2 skipped (called away)"]
