"""One key gives the last value again, and one gives it to all who wait for it."""

import pytest
from scripted_face import ScriptedRun

from benchrun.dialogue.acts import act
from benchrun.dialogue.correction import correct
from benchrun.dialogue.prompts import Choose
from benchrun.dialogue.run_prompts import ReadingPrompt

JOB = """\
procedure: count-job
title: Counts
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: bracket, at most: 12}
stages:
  - stage: All
    steps:
      - reading: Count the plugs.
        id: plugs
        unit: none
      - reading: Measure the wall.
        id: wall
        unit: mm
        low: 2 mm
        outside: set aside
        source: memory, an invented part
"""


@pytest.fixture
def count(tmp_path):
    path = tmp_path / "count.yaml"
    path.write_text(JOB)
    return ScriptedRun(tmp_path, path, ["a", "b", "c"])


def values(run, step):
    return {
        part: one.value.typed
        for entry in run.session.entries
        if entry.kind == "do" and entry.data.step == step
        for part, one in entry.data.each.items()
    }


def test_the_same_for_all_is_one_entry_a_part(count):
    face = count.drive(act(count.work), "3=")
    assert values(count, "plugs") == {"a": "3", "b": "3", "c": "3"}
    assert count.kinds() == ["open", "do", "do", "do"]
    assert face.said[-1] == "Recorded, entries 2 to 4: 3, all 3."


def test_the_last_value_again_is_given_to_one_part(count):
    count.drive(act(count.work), "3")
    face = count.drive(act(count.work), "=")
    assert values(count, "plugs") == {"a": "3", "b": "3"}
    (prompt,) = [one for one in face.asked if isinstance(one, ReadingPrompt)]
    assert prompt.last == "3"


def test_only_those_who_were_chosen_get_the_same(count):
    offer = count.work.now.offer
    count.work.pin(offer, ("b", "c"))
    count.drive(act(count.work), "4=")
    assert values(count, "plugs") == {"b": "4", "c": "4"}


def test_nothing_is_given_again_before_the_first_value_of_a_step(count):
    count.drive(act(count.work), "3=")
    face = count.drive(act(count.work), "=", "-")
    assert face.said == ["There is no value yet that could be given once more."]
    assert values(count, "wall") == {}


def test_each_part_off_its_limits_raises_its_own_question(count):
    count.drive(act(count.work), "3=")
    count.drive(act(count.work), "1=")
    markers = count.session.run.markers
    assert all(len(markers[part].questions) == 1 for part in "abc")


def test_a_value_that_was_taken_back_is_not_given_again(count):
    from benchrun.run import commands as c

    count.drive(act(count.work), "3")
    count.session.send(c.Retract(count.session.run.n - 1, count.session.run.n - 1)).result()
    count.work.tidy()
    face = count.drive(act(count.work), "=", "-")
    assert face.said == ["There is no value yet that could be given once more."]


def test_a_reading_of_all_together_is_put_right_in_one_line_for_all(tmp_path):
    path = tmp_path / "bath.yaml"
    path.write_text(
        JOB.replace("Count the plugs.", "Read the bath.").replace(
            "unit: none", "unit: °C\n        together: yes"
        )
    )
    run = ScriptedRun(tmp_path, path, ["arm 1", "arm 2", "arm 3"])
    run.drive(act(run.work), "21")
    run.drive(act(run.work), "4")
    face = run.drive(correct(run.work), "2", "22", "misread")
    (asked,) = [one for one in face.asked if isinstance(one, Choose)]
    assert [option.words for option in asked.options] == ["arm 1: 4 mm", "arm 1–3: 21 °C"]
    markers = run.session.run.markers.values()
    assert [marker.values["plugs", ""].number for marker in markers] == [22] * 3
