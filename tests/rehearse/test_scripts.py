"""Slips in scripts are told with their place, what was found, and what would do."""

from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.load_run import read_kept
from benchrun.record.folder import RunFolder
from benchrun.rehearse.play import rehearse
from benchrun.run.entries import Did

PROCEDURE = Path(__file__).parent / "procedures" / "wash-together.yaml"
HEAD = "rehearse: wash-together\ninvented: yes\nparts: [arm 1, arm 2]\ngiven: {look: sound}\n"


def played(tmp_path: Path, text: str) -> str:
    """The one line that playing a script ends with."""
    script = tmp_path / "script.yaml"
    script.write_text(text, "utf-8")
    with pytest.raises(BenchrunError) as caught:
        rehearse(PROCEDURE, script, tmp_path / "run")
    message = caught.value.message
    assert "\n" not in message
    return message.removeprefix(f"{script}")


@pytest.mark.parametrize(
    ("then", "said"),
    [
        ("  - wsh: arm 1", ":6:5: a line begins with what happens"),
        ("  - do: wash\n    part: [arm 1]", ":7:5: 'part' does not belong here"),
        ("  - do: wsh", ":6:5: the procedure has no step 'wsh'"),
        ("  - wait: soon", ":6:5: "),
        ("  - restart: soon", ":6:5: "),
        ("  - set clock: later", ":6:5: "),
        ("  - lift: arm 1\n    ago: a while", ":6:5: "),
        ("  - take back: wash", ":6:5: take back: last, or the number of an entry"),
        ("  - do: wash\n    seen: just now", ":6:5: `seen` needs a whole number"),
        ("  - add: arm 3\n    size: big", ":6:5: `size` needs a whole number"),
        ("  - hand over: third", ":6:5: the script has no person 'third': first, second"),
        ("  - expect: {arm 1: at rinse}", ":6:5: arm 1: at rinse is not so; at wash"),
        ("  - expect: {arm 9: at rinse}", ":6:5: arm 9: at rinse is not so; not there"),
        ("  - expect: arm 1", ":6:5: expect: {part: words} is needed"),
        ("  - correct: arm 1", ":6:5: correct: {step: …, part: …, to: …} is needed"),
        ("  - do: rinse\n    parts: [arm 1]", ":6:5: refused: arm 1 is at step 1"),
        (
            "  - do: wash\n    refused: not yet",
            ":6:5: this was taken; it should be refused: not yet",
        ),
        (
            "  - do: rinse\n    parts: [arm 1]\n    refused: too soon",
            ":6:5: refused in other words than 'too soon'",
        ),
        ("  - to: rinze", ":6:5: there is no step 'rinze' to go to"),
        ("  - do: wash\n    parts: {arm: 1}", ":6:5: tags of parts belong here"),
    ],
)
def test_a_slip_in_a_line_is_told_with_its_place(tmp_path, then, said):
    assert said in played(tmp_path, f"{HEAD}then:\n{then}\n")


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("parts: [arm 1]\n", ":1:1: `rehearse: procedure-id` is missing"),
        ("rehearse: wash-together\n", ":1:1: `parts: [one, another]` is missing"),
        ("rehearse: wash-together\nparts: [a]\nanswer: {}\n", ":3:1: 'answer' does not belong"),
        ("rehearse: another\nparts: [a]\n", " rehearses another, not wash-together"),
        (HEAD + "begins: tomorrow\n", ":5:9: tomorrow is no time"),
        (HEAD + "takes: {wash: long}\n", ":5:15: "),
        (HEAD + "takes: {wsh: 1 min}\n", ":5:9: wash-together has no step 'wsh'"),
        (HEAD + "answers: {wsh: go on}\n", ":5:11: wash-together has no step 'wsh'"),
        (HEAD + "answers: [go on]\n", ":5:10: `answers` needs a map"),
        (HEAD + "then: to the end\n", ":5:7: `then` needs a list"),
        ("rehearse: wash-together\nparts: [{tag: a, size: two}]\n", ":2:9: `size` needs a whole"),
        ("rehearse: [\n", ""),
    ],
)
def test_a_slip_in_the_head_is_told_with_its_place(tmp_path, head, said):
    assert said in played(tmp_path, head)


def test_a_step_without_anything_given_is_told(tmp_path):
    text = HEAD.replace("given: {look: sound}", "given: {look: {arm 1: sound}}")
    assert "step look of arm 2 has nothing under `given`" in played(tmp_path, text)


def test_a_question_without_an_answer_is_told_with_what_it_takes(tmp_path):
    said = played(tmp_path, HEAD.replace("look: sound", "look: doubtful"))
    assert "no answer under `answers` for look" in said
    assert "rework wash, scrap" in said


def test_a_folder_that_holds_something_is_left_alone(tmp_path):
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "kept").touch()
    assert "is there already: name a new folder" in played(tmp_path, HEAD)


COATS = """\
procedure: coats
title: Coats (invented, for tests)
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: Coats
    steps:
      - repeat: Coats
        at least: 1
        at most: 4
        until: film >= 60 µm and least(edge) >= 20 µm
        steps:
          - {do: Brush on one coat., id: coat}
          - {reading: Measure the film., id: film, unit: µm}
          - {reading: Measure the edges., id: edge, unit: µm, places: [left, right]}
"""


def test_a_reading_is_given_other_values_each_time_where_more_are_listed_than_places(tmp_path):
    procedure, script = tmp_path / "coats.yaml", tmp_path / "answers.yaml"
    procedure.write_text(COATS, "utf-8")
    script.write_text(
        "rehearse: coats\ninvented: yes\nparts: [arm 1]\n"
        "given:\n  film: [25, 55, 80]\n  edge: [10, 11, 19, 25, 30, 31]\n",
        "utf-8",
    )
    rehearse(procedure, script, tmp_path / "run")
    _, entries = read_kept(RunFolder(tmp_path / "run"))
    read = [
        (one.data.step, one.data.place, one.data.each["arm 1"].value.number)
        for one in entries
        if isinstance(one.data, Did) and one.data.step != "coat"
    ]
    films = [number for step, _, number in read if step == "film"]
    edges = [(place, number) for step, place, number in read if step == "edge"]
    assert films == ["25", "55", "80"]
    assert edges == [
        ("left", "10"), ("right", "11"), ("left", "19"), ("right", "25"), ("left", "30"),
        ("right", "31"),
    ]  # fmt: skip
