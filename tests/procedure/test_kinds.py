"""Kinds of part in a procedure: every kind has every value, and pairs are of kinds."""

from pathlib import Path

import pytest
from procedure_pages import problems

PAGE = """\
procedure: levers
title: Levers
revision: 1
scope: Invented.
changes: {{1: first}}
sources: {{inv: invented}}
batch: {{part: lever{pair}}}
kinds:
  left: {{title: left lever, values: {left}}}
  right: {{title: right lever, values: {right}}}
stages:
  - stage: One
    steps:
      - reading: Measure the height.
        id: height
        unit: mm
        source: inv
{step}
"""
LOW = "        low: {by: kind, table: {left: 1 mm, right: 2 mm}}\n        outside: scrap"


def found(folder: Path, *, left="{bore: 62 mm}", right="{bore: 60 mm}", pair="", step=LOW):
    text = PAGE.format(left=left, right=right, pair=pair, step=step)
    return [one.text for one in problems(folder, text) if not one.advice]


def test_kinds_with_all_their_values_are_sound(tmp_path: Path) -> None:
    assert found(tmp_path, pair=", pair: [left, right]") == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"right": "{}"}, "kind right has no 'bore': every kind needs every value"),
        ({"right": "{bore: 20 kN}"}, "'bore' is a force and a length: one name measures one thing"),
        ({"right": "{bore: large}"}, "one name measures one thing"),
        ({"right": "{bore: 60 mmm}"}, "unit 'mmm' is not known"),
        (
            {"left": "{bore: 62 mm, most: 1 mm}"},
            "'most' has a meaning of its own: choose another name",
        ),
        ({"pair": ", pair: [left, rihgt]"}, "'rihgt' is no kind of part: did you mean 'right'?"),
        ({"pair": ", pair: [left, left]"}, "a pair is of two or more kinds, each named once"),
        (
            {"step": "        low: {by: kind, table: {left: 1 mm}}\n        outside: scrap"},
            "the table has no row for right",
        ),
        (
            {"step": "        low: {by: kind, table: {left: 1 mm, rigth: 2 mm, right: 2 mm}}"},
            "'rigth' is no kind",
        ),
        (
            {"step": "        low: bore - 1 kN\n        outside: scrap"},
            "a force cannot be taken from a length",
        ),
        (
            {"step": "        together: pair"},
            "only a `work out` can be done by the parts of a pair",
        ),
        (
            {"step": '      - if: kind is "lefft"\n        steps: [{do: Stamp it.}]'},
            "'lefft' is no kind",
        ),
        (
            {
                "step": "      - work out: Compare them.\n        together: pair\n"
                "        formula: spread(height)\n        unit: mm"
            },
            "which parts are a pair?",
        ),
        (
            {
                "pair": ", pair: [left, right]",
                "step": "      - work out: Compare them.\n        together: pair\n"
                "        formula: height\n        unit: mm",
            },
            "must draw height of all parts together",
        ),
        (
            {"step": "      - reading: Measure.\n        id: bore\n        unit: mm"},
            "in the header",
        ),
    ],
)
def test_a_slip_is_told_in_one_message(tmp_path: Path, changes: dict[str, str], said: str) -> None:
    told = found(tmp_path, **changes)
    assert len(told) == 1, told
    assert said in told[0]
