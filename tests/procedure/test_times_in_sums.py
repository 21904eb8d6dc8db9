"""Where a length of time may stand in a formula, and of which steps."""

from pathlib import Path

import pytest
from procedure_pages import errors


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        ("time_of(lost)", "there is no step 'lost'"),
        ("time_of(mix)", "'mix' is no dwell: write time_since(mix)"),
        ("time_since(late)", "step 'late' comes after this one"),
        ("time_of(3 mm)", "time_of takes one step by its id"),
        ("time_of(bake) + 3 mm", "length"),
    ],
)
def test_times_that_cannot_be_are_refused(tmp_path: Path, formula: str, said: str) -> None:
    steps = (
        "- do: Mix.\n  id: mix\n- dwell: Bake.\n  id: bake\n"
        f"- work out: Work out.\n  id: sum\n  unit: min\n  formula: {formula}\n"
        "- do: Go.\n  id: late"
    )
    found = errors(tmp_path, steps)
    assert any(said in one for one in found), found


def test_outside_a_sum_a_time_is_refused_with_the_way(tmp_path: Path) -> None:
    steps = "- dwell: Bake.\n  id: bake\n- if: time_of(bake) > 2 h\n  steps: [{do: Go.}]"
    found = errors(tmp_path, steps)
    assert any("the formula of a `work out` has a time" in one for one in found), found
