"""A table holds all that it may be asked by: the limits of a reading, and each kind of part."""

from pathlib import Path

import pytest
from procedure_pages import problems

PAGE = """\
procedure: soak
title: Soak
revision: 1
scope: Invented.
changes: {1: first}
sources: {inv: invented}
batch: {part: arm}
kinds:
  long: {title: long arm, values: {reach: 120 mm}}
  short: {title: short arm, values: {reach: 80 mm}}
stages:
  - stage: One
    steps:
      - reading: Measure the bath.
        id: bath
        unit: degC
{limits}
        outside: [again, set aside]
        source: inv
      - dwell: Soak the arm.
        id: soak
        least: {by: {by}, table: {rows}, source: inv}
        early: again
        source: inv
"""
WARM = "{15 C: 20 min, 25 C: 10 min}"


def found(folder: Path, limits: str, by: str = "bath", rows: str = WARM) -> list[str]:
    lines = "\n".join(f"        {line}" for line in limits.split("; "))
    text = PAGE.replace("{limits}", lines).replace("{by}", by).replace("{rows}", rows)
    return [one.text for one in problems(folder, text) if not one.advice]


@pytest.mark.parametrize(
    "limits", ["low: 15 degC; high: 25 degC", "low: 60 degF; high: 20 degC", "low: 18 degC"]
)
def test_limits_within_the_table_are_sound(tmp_path: Path, limits: str) -> None:
    assert found(tmp_path, limits) == []


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ("low: 10 degC; high: 25 degC", "the table goes from 15 to 25 degC, and 'bath' may be 10"),
        ("low: 15 degC; high: 30 degC", "'bath' may be 30 degC: add a row there"),
        ("low: 50 degF; high: 20 degC", "'bath' may be 10 degC"),
    ],
)
def test_limits_beyond_the_table_are_an_error(tmp_path: Path, limits: str, said: str) -> None:
    told = found(tmp_path, limits)
    assert len(told) == 1, told
    assert said in told[0]


def test_a_table_by_a_value_of_the_kinds_holds_each_of_them(tmp_path: Path) -> None:
    limits = "low: 15 degC"
    assert found(tmp_path, limits, "reach", "{80 mm: 10 min, 120 mm: 20 min}") == []
    told = found(tmp_path, limits, "reach", "{90 mm: 10 min, 120 mm: 20 min}")
    assert len(told) == 1
    assert "'reach' may be 80 mm" in told[0]


SUMS = """\
procedure: soak
title: Soak
revision: 1
scope: Invented.
changes: {1: first}
sources: {inv: invented}
batch: {part: arm}
kinds:
  long: {title: long arm, values: {reach: 120 mm}}
  short: {title: short arm, values: {reach: 80 mm}}
vessels:
  tub: {title: tub, holds: 2}
needs: {supplies: [paint]}
stages:
  - stage: One
    steps:
      - reading: Measure the wall.
        id: wall
        unit: mm
      - inspect: Tell the metal.
        id: metal
        findings: {iron: go on, steel: go on}
"""
PLACES = {
    "low": "- reading: Measure the gap.\n  unit: mm\n  low: {table}\n  outside: again",
    "high": "- reading: Measure the gap.\n  unit: mm\n  high: {table}\n  outside: again",
    "low of a sum": "- work out: Double it.\n  unit: mm\n  formula: wall * 2\n  low: {table}\n"
    "  outside: set aside",
    "least": "- dwell: Soak the arm.\n  in: tub\n  least: {table}\n  early: again",
    "most": "- dwell: Soak the arm.\n  in: tub\n  most: {table}\n  late: go on",
    "aim": "- dwell: Soak the arm.\n  in: tub\n  least: 1 min\n  aim: {table}\n  early: again",
    "tend": "- dwell: Soak the arm.\n  in: tub\n  least: 1 h\n  early: again\n"
    "  tend: {every: {table}, do: Turn it.}",
    "window": "- do: Rinse the arm.\n  window: {after: wall, most: {table}, late: go on}",
    "amount": "- do: Paint the arm.\n  uses: {supply: paint, amount: {table}}",
}
ROWS = ("wall", "2 * wall", "wall + 1 mm", "2 * 3 min", "if(wall > 1 mm, 2 mm, 3 mm)", "metal",
        "{by: wall}", "[1 mm]", "", "1e999 mm", "(", "wall.found")  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("row", ROWS)
def test_a_row_that_is_a_sum_or_no_quantity_is_told_wherever_its_table_stands(
    tmp_path: Path, place: str, row: str
) -> None:
    for table in (
        f"{{by: metal, table: {{iron: {row}, steel: 1 mm}}, source: inv}}",
        f"{{by: kind, table: {{long: 1 mm, short: {row}}}, source: inv}}",
        f"{{by: wall, table: {{1 mm: {row}, 5 mm: 2 mm}}, source: inv}}",
        f"{{by: reach, table: {{80 mm: {row}, 120 mm: 2 mm}}, source: inv}}",
        "{by: metal, table: {}, source: inv}",
    ):
        step = PLACES[place].replace("{table}", table)
        lines = "\n".join(f"      {line}" for line in step.split("\n"))
        told = [one for one in problems(tmp_path, f"{SUMS}{lines}\n") if not one.advice]
        assert told, table
        assert all(one.line and one.text for one in told), told
