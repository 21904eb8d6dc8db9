"""Names of a repeat in formulas: which pass is meant is said, and what has none is refused."""

from pathlib import Path

import pytest
from procedure_pages import problems

from benchrun.procedure.formula import FormulaError, parse_formula
from benchrun.quantity import Measure

PAGE = """\
procedure: leaves
title: Leaves
revision: 1
scope: Invented.
changes: {1: first}
sources: {inv: invented}
batch: {part: spring}
stages:
  - stage: One
    steps:
      - reading: Measure the eye.
        id: eye
        unit: mm
        source: inv
      - repeat: leaf
        id: leaves-loop
        at least: 3
        steps:
          - reading: Measure the leaf.
            id: leaf
            unit: mm
            source: inv
{inside}
{after}
"""
SUM = """\
      - work out: Add them up.
        id: stack
        unit: {unit}
        formula: {formula}
"""


def found(folder: Path, after: str = "", inside: str = "", unit: str = "mm") -> list[str]:
    text = PAGE.replace("{after}", SUM.format(formula=after, unit=unit) if after else "")
    within = SUM.format(formula=inside, unit=unit).replace("stack", "in")
    indented = "".join(f"    {line}\n" for line in within.splitlines()) if inside else ""
    return [
        one.text for one in problems(folder, text.replace("{inside}", indented)) if not one.advice
    ]


@pytest.mark.parametrize(
    "after",
    ["last leaf", "sum(all leaf)", "most(all leaf) - last leaf", "if(eye > 1 mm, eye, last leaf)"],
)
def test_after_a_repeat_the_last_and_all_values_have_a_name(tmp_path: Path, after: str) -> None:
    assert found(tmp_path, after) == []


def test_within_it_the_plain_name_is_of_this_pass(tmp_path: Path) -> None:
    assert found(tmp_path, inside="if(pass == 1, leaf, before leaf - leaf)") == []


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ("leaf", "write last leaf, or draw all together, such as sum(all leaf)"),
        ("most(leaf)", "'leaf' has a value for each pass of 'leaf'"),
        ("before leaf", "write last leaf"),
        ("all leaf", "several values"),
        ("sum(all eye)", "'eye' is in no repeat: write eye alone"),
        ("eye * pass", "is in no repeat"),
        ("if(eye > 1 mm, eye)", "if takes a condition and two values"),
        ("if(eye > 1 mm, eye, 3 kN)", "both must be alike"),
        ("if(eye, eye, eye)", "a condition such as bore > 62 mm is needed here"),
    ],
)
def test_what_does_not_say_the_pass_is_told_once(tmp_path: Path, after: str, said: str) -> None:
    told = found(tmp_path, after)
    assert len(told) == 1, told
    assert said in told[0]


def test_a_choice_works_out_the_way_that_it_takes_alone() -> None:
    known = {"eye": Measure("2 mm", parse_formula("2 mm").value({}).value, "mm")}
    assert parse_formula("if(eye > 1 mm, eye * 2, gone)").value(known).value == 4
    assert parse_formula("sum(eye, eye, 1 mm)").value(known).value == 5


def test_temperatures_have_no_sum() -> None:
    with pytest.raises(FormulaError, match="write mean"):
        parse_formula("sum(bath)").dimension({"bath": "temperature"}, {"bath"})


def test_one_name_may_be_written_by_both_ways_of_a_fork_alone(tmp_path: Path) -> None:
    both = (
        "eye\n      - if: eye > 1 mm\n        steps:\n"
        "          - {work out: Double it., id: a, as: pull, unit: mm, formula: eye * 2}\n"
        "        otherwise:\n"
        "          - {work out: Take it., id: b, as: pull, unit: mm, formula: eye}\n"
        "      - {reading: Measure., id: c, unit: mm, high: pull, outside: scrap, source: inv}"
    )
    assert found(tmp_path, both) == []
    again = both + "\n      - {work out: Once more., id: d, as: pull, unit: mm, formula: eye}"
    assert any("'pull' is already written" in text for text in found(tmp_path, again))
