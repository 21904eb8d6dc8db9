"""What a step takes over from the procedure that it carries out."""

from pathlib import Path

import pytest
from procedure_pages import errors

OTHER = """\
procedure: crack-check
title: Look for cracks
revision: 2
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: Only
    steps:
      - {reading: Measure the crack., id: crack-depth, as: depth, unit: mm}
      - {inspect: Look at it., id: found, findings: {none: go on, small: go on}}
"""


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ("{depth: mm, found: finding}", ""),
        ("{depth: in}", ""),
        ("{depht: mm}", "has nothing called 'depht': did you mean 'depth'?"),
        ("{depth: kg}", "'depth' of procedure 'crack-check' is in mm"),
        ("{found: mm}", "is a finding: write finding"),
    ],
)
def test_values_are_held_against_the_other_procedure(tmp_path: Path, values: str, said: str):
    (tmp_path / "crack-check.yaml").write_text(OTHER, "utf-8")
    steps = f"- carry out: crack-check\n  revision: 2\n  id: crack-check\n  values: {values}"
    found = errors(tmp_path, steps)
    assert any(said in one for one in found) if said else found == [], found


def test_a_name_that_is_not_taken_over_is_told(tmp_path: Path):
    (tmp_path / "crack-check.yaml").write_text(OTHER, "utf-8")
    steps = (
        "- carry out: crack-check\n  revision: 2\n  id: crack-check\n  values: {depth: mm}\n"
        '- if: crack_check.found is "small"\n  steps: [{do: Grind., id: grind}]'
    )
    assert any("crack_check.found" in one for one in errors(tmp_path, steps))


@pytest.mark.parametrize(
    "quantity",
    [
        "{by: crack_check.depth, table: {0 mm: 1 min, 9 mm: 10 min}}",
        "{by: crack_check.found, table: {none: 1 min, small: 10 min}}",
        "crack_check.depth / 1 mm * 1 min",
    ],
)
def test_a_quantity_may_depend_on_what_the_other_procedure_found(tmp_path: Path, quantity: str):
    (tmp_path / "crack-check.yaml").write_text(OTHER, "utf-8")
    steps = (
        "- carry out: crack-check\n  revision: 2\n  id: crack-check\n"
        "  values: {depth: mm, found: finding}\n"
        f"- dwell: Soak it.\n  id: soak\n  least: {quantity}\n  source: practice"
    )
    assert errors(tmp_path, steps) == []


def test_what_was_found_in_the_last_pass_has_a_name_behind_the_repeat(tmp_path: Path):
    (tmp_path / "crack-check.yaml").write_text(OTHER, "utf-8")
    steps = (
        "- repeat: Checks\n  id: checks\n  at least: 2\n  steps:\n"
        "    - carry out: crack-check\n      revision: 2\n      id: crack-check\n"
        "      values: {depth: mm}\n"
        "- work out: Add the cracks up.\n  id: total\n  unit: mm\n"
        "  formula: sum(all crack_check.depth) + last crack_check.depth"
    )
    assert errors(tmp_path, steps) == []
    bare = steps.replace("last crack_check.depth", "crack_check.depth")
    (said,) = errors(tmp_path, bare)
    assert "has a value for each pass" in said
