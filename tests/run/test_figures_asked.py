"""Figures that a run asks for: nobody waits for nothing, and what was joined since is heeded."""

from pathlib import Path

from trial import Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.offers import Deed

FIGURES = "figures:\n  wear: {ask: Wear that is allowed., unit: mm}\n"
TOGETHER = """
- {inspect: Look at the arm., id: look, findings: {thin: go on, thick: go on}}
- {do: Brush on one coat., id: coat}
- reading: Measure the films.
  id: film
  unit: mm
  low: wear
  together: yes
  outside: [set aside, go on]
  window: {after: coat, least: {by: look, table: {thin: 1 min, thick: 2 min}}}
"""
MEASURE = (
    "- {reading: Measure the bore., id: bore, unit: mm, high: wear, outside: [go on, scrap]}\n"
)


def figured(trial: Trial, typed: str) -> int:
    trial.good(c.KeepFigure(e.FigureSpec("wear", typed)))
    return trial.seen


def test_parts_that_come_together_by_different_windows_are_asked_for_the_figure(
    tmp_path: Path,
) -> None:
    trial = Trial(tmp_path, TOGETHER, head=FIGURES)
    trial.do("look", "A", "thin")
    trial.skip("look", "B")  # its window cannot be told, so that A and B are two groups
    trial.do("coat", "A B")
    trial.minute = 9
    asked = [offer for offer in trial.offers() if offer.figures]
    assert [offer.step.id for offer in asked if offer.step] == ["film"] * len(asked)
    assert asked


def test_a_corrected_figure_is_not_taken_back_once_another_part_has_joined(
    tmp_path: Path,
) -> None:
    trial = Trial(tmp_path, MEASURE, head=FIGURES)
    entry = figured(trial, "5 mm")
    trial.good(c.Correct(entry, "", "wrong page", "7 mm", place="wear"))
    corrected = trial.seen
    trial.good(c.Add(e.PartSpec("C"), "", True, ""))
    assert "cannot be undone" in trial.refused(c.Retract(corrected, trial.seen, "slipped"))
    assert {trial.value(part, "wear") for part in "ABC"} == {"7"}


def test_a_corrected_figure_reads_alike_for_each_part_and_for_one_that_joins(
    tmp_path: Path,
) -> None:
    trial = Trial(tmp_path, MEASURE, head=FIGURES)
    trial.good(c.Correct(figured(trial, "5 mm"), "", "wrong page", "7 mm", place="wear"))
    trial.good(c.Add(e.PartSpec("C"), "", True, ""))
    assert len({trial.m(part).values["wear", ""] for part in "ABC"}) == 1
    assert trial.offered(Deed.DO, "bore").parts == ("A", "B", "C")


def test_the_number_of_a_pass_cannot_be_corrected(tmp_path: Path) -> None:
    steps = (
        "- repeat: Coats\n  id: coats\n  until: pass > 1\n"
        "  steps: [{do: Brush on one coat., id: coat}]\n- {do: Hang it up., id: hang}\n"
    )
    kinds = "kinds:\n  thin: {title: thin arm}\n  thick: {title: thick arm}\n"
    trial = Trial(tmp_path, steps, "A", head=kinds, kind="thin")
    trial.do("coat", "A")
    for n in range(trial.run.n):
        command = c.Correct(n, "A", "misread", finding="thick", place="pass")
        assert "holds no value" in trial.refused(command)
