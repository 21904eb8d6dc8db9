"""A first script is sketched; scripts are told what they leave out; a wrong one keeps its log."""

from pathlib import Path

import pytest

from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.load_run import read_kept
from benchrun.record.folder import RunFolder
from benchrun.rehearse.coverage import coverage
from benchrun.rehearse.play import rehearse
from benchrun.rehearse.sketch import sketch
from benchrun.run.entries import Did
from benchrun.verify import verify

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PROCEDURES = sorted(
    [*(HERE / "procedures").glob("*.yaml"), ROOT / "procedures" / "degrease-etch-coat.yaml"]
)
COATS = """\
procedure: coats
title: Coats (invented, for tests)
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: Coats
    steps:
      - inspect: Look at the arm.
        id: look
        findings: {sound: go on, cracked: scrap}
      - if: look is "sound"
        id: sound
        steps: [{do: Dull the arm., id: dull}]
      - repeat: Coats
        id: coats
        at least: 1
        at most: 2
        until: film >= 60 µm
        steps:
          - {do: Brush on one coat., id: coat}
          - {reading: Measure the film., id: film, unit: µm, high: 200 µm,
             outside: [rework from dull once, set aside]}
"""
LATE_COAT = """\
procedure: coats
title: Coats (invented, for tests)
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: Coats
    steps:
      - {do: Brush on the first coat., id: first}
      - {do: Rub the pot clean., id: rub}
      - do: Brush on the second coat.
        id: second
        window:
          after: first
          most: 1 h
          late: [{first: [{do: Scuff the coat., id: scuff}], at most: 1}, set aside]
"""
HEAD = "rehearse: coats\ninvented: yes\nparts: [arm 1]\n"


@pytest.fixture
def coats(tmp_path: Path) -> Path:
    file = tmp_path / "coats.yaml"
    file.write_text(COATS, "utf-8")
    return file


def script(folder: Path, text: str, name: str = "answers") -> Path:
    file = folder / f"{name}.yaml"
    file.write_text(HEAD + text, "utf-8")
    return file


@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda path: path.stem)
def test_a_sketch_is_a_script_that_plays_to_the_close(procedure: Path, tmp_path: Path) -> None:
    answers = tmp_path / "sketched.yaml"
    answers.write_text(sketch(procedure), "utf-8")
    assert "closed after" in rehearse(procedure, answers, tmp_path / "run")
    assert verify(tmp_path / "run").whole


def test_a_sketch_chooses_what_ends_a_repeat(coats: Path) -> None:
    assert sketch(coats) == (
        "rehearse: coats\npath: all good\ninvented: yes\nparts: [arm 1]\n"
        'given:\n  look: sound\n  film: "100 µm"\n'
    )


def test_a_sketch_that_comes_to_a_halt_says_why(coats: Path) -> None:
    coats.write_text(COATS.replace("sound: go on", "sound: [scrap, go on]"), "utf-8")
    assert "answers:\n  look: go on" in sketch(coats)
    halted = COATS.replace("high: 200 µm", "low: film_least, high: 200 µm").replace(
        "      - repeat: Coats",
        "      - {work out: Work it out., id: film-least, unit: µm,\n"
        '         formula: "limits(size=501 mm, class=\\"H7\\").size_min"}\n      - repeat: Coats',
    )
    coats.write_text(halted, "utf-8")
    with pytest.raises(BenchrunError, match="limits"):
        sketch(coats)


def test_the_paths_that_no_script_goes_are_named(coats: Path, tmp_path: Path) -> None:
    one = script(tmp_path, "given: {look: sound, film: 80 µm}\n", "one")
    found = coverage(coats, [one])
    assert found.text() == (
        "coats: 1 script reaches 3 of 7 paths\n"
        "  not reached: look: cracked\n"
        "  not reached: sound: no\n"
        "  not reached: film: rework from dull\n"
        "  not reached: coats: again"
    )
    two = script(
        tmp_path, "given: {look: sound, film: [30, 250, 90]}\nanswers: {film: rework dull}\n", "two"
    )
    three = script(
        tmp_path,
        'given: {look: cracked}\nanswers: {look: scrap}\nnot reached:\n  "sound: no": never so\n',
        "three",
    )
    found = coverage(coats, [one, two, three])
    assert found.missing == ()
    assert found.text() == (
        "coats: 3 scripts reach 6 of 7 paths\n  not reached: sound: no - never so"
    )


@pytest.mark.parametrize("waits_at", ["rub", "second"], ids=["before the fork", "at the step"])
def test_what_is_made_good_first_is_reached_wherever_the_window_closed(
    waits_at: str, tmp_path: Path
) -> None:
    procedure = tmp_path / "coats.yaml"
    procedure.write_text(LATE_COAT, "utf-8")
    text = f"answers: {{second: first}}\nthen: [to: {waits_at}, wait: 2 h, to the end]\n"
    found = coverage(procedure, [script(tmp_path, text)])
    assert "second: made good first" in found.reached
    assert ("second: window late" in found.reached) == (waits_at == "second")


def test_the_command_says_by_its_exit_code_whether_all_is_reached(
    coats: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = script(tmp_path, "given: {look: sound, film: 80 µm}\n", "one")
    assert main(["rehearse", str(coats), "--answers", str(one), "--paths"]) == 1
    assert "1 script reaches 3 of 7 paths" in capsys.readouterr().out
    assert main(["rehearse", str(coats), "--sketch"]) == 0
    assert capsys.readouterr().out == sketch(coats)
    assert main(["rehearse", str(coats), "--answers", str(one)]) == 2
    assert "--out DIR" in capsys.readouterr().err


def test_a_query_of_a_repeat_is_answered_under_its_own_name(coats: Path, tmp_path: Path) -> None:
    answers = script(tmp_path, "given: {look: sound, film: 30 µm}\nanswers: {coats: go on}\n")
    assert "closed" in rehearse(coats, answers, tmp_path / "run")


def test_a_query_of_a_repeat_without_an_answer_is_told_by_its_name(
    coats: Path, tmp_path: Path
) -> None:
    answers = script(tmp_path, "given: {look: sound, film: 30 µm}\n")
    with pytest.raises(BenchrunError) as caught:
        rehearse(coats, answers, tmp_path / "run")
    assert "no answer under `answers` for coats" in caught.value.message
    assert "It takes " in caught.value.message


def test_a_wrong_answer_keeps_the_log_and_tells_time_step_and_codes(
    coats: Path, tmp_path: Path
) -> None:
    text = "given: {look: sound, film: 300 µm}\nanswers: {film: scrap}\nbegins: 2026-03-02 08:00\n"
    with pytest.raises(BenchrunError) as caught:
        rehearse(coats, script(tmp_path, text), tmp_path / "run")
    said = caught.value.message
    assert "film does not take 'scrap'; it takes again, rework dull, aside" in said
    assert " - 2026-03-02 08:04 in the rehearsal, arm 1 at film" in said
    assert said.endswith(f"; the log until then is in {tmp_path / 'run'}")
    _, entries = read_kept(RunFolder(tmp_path / "run"))
    assert [one.data.step for one in entries if isinstance(one.data, Did)] == [
        "look", "dull", "coat", "film",
    ]  # fmt: skip


def test_an_answer_of_a_line_that_is_refused_is_told_what_would_be_taken(
    coats: Path, tmp_path: Path
) -> None:
    text = "given: {look: cracked}\nthen:\n  - to: look\n  - do: look\n  - answer: again\n"
    with pytest.raises(BenchrunError, match="look takes scrap"):
        rehearse(coats, script(tmp_path, text), tmp_path / "run")


def test_a_reading_may_differ_from_pass_to_pass(coats: Path, tmp_path: Path) -> None:
    text = "given: {look: sound, film: {pass 1: 30, pass 2: {arm 1: 70}}}\n"
    rehearse(coats, script(tmp_path, text), tmp_path / "run")
    _, entries = read_kept(RunFolder(tmp_path / "run"))
    films = [
        one.data.each["arm 1"].value.number
        for one in entries
        if isinstance(one.data, Did) and one.data.step == "film"
    ]
    assert films == ["30", "70"]
