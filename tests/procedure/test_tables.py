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
