"""Numbers are shown as they were measured; what was typed stays in the log to the last digit.

Worked examples: JCGM 100:2008, 7.2.6: with a combined uncertainty of 27 mΩ a result of
10.057 62 Ω is rounded to 10.058 Ω; an uncertainty of 28.05 kHz is given as 28 kHz.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.account.rounding import as_measured, limit_shown, uncertainty_shown
from benchrun.account.value_facts import ReadingFacts
from benchrun.shopmath.accepting import verdict_of


def reading(value, source="reading", **more):
    known = {"low": "", "high": "", "uncertainty": "", "resolution": "", "typed": value} | more
    low, high = known.pop("low"), known.pop("high")
    typed = known.pop("typed")
    about = ("2026-03-02T08:00:00.000Z", "ann", "a", "", "s", 1, "Measure it.", "s", "", source)
    return ReadingFacts(
        1, *about, typed, value, "mm", low, high, "", value, "", "gauge",
        known.pop("uncertainty"), **known,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "known", "shown"),
    [
        ("10.05762", {"uncertainty": "0.027"}, "10.058"),
        ("61.96", {"resolution": "0.001"}, "61.960"),
        ("61.9645", {"resolution": "0.001"}, "61.965"),
        ("61.990", {}, "61.990"),
        ("61.011796424917803", {"uncertainty": "2.4404718569967121", "typed": "45 ft lb"}, "61.0"),
        ("60", {"resolution": "1"}, "60"),
        ("22", {"resolution": "0.5"}, "22.0"),
    ],
)
def test_a_value_is_told_to_the_step_of_its_instrument_or_as_far_as_it_is_known(
    value, known, shown
):
    assert as_measured(reading(value, **known)) == shown


@pytest.mark.parametrize(
    ("uncertainty", "shown"),
    [("28.05", "28"), ("0.002", "0.002"), ("2.4404718569967121", "2.4"), ("", ""), ("0", "")],
)
def test_an_uncertainty_has_two_significant_digits_at_most(uncertainty, shown):
    assert uncertainty_shown(uncertainty) == shown


def test_a_worked_out_value_is_known_to_one_place_more_than_what_went_in():
    mean = reading("61.96633333333333333333333333", "work out")
    assert as_measured(mean, ("61.966", "61.967")) == "61.9663"
    assert as_measured(reading("61.98", "work out"), ("61.990", "61.970")) == "61.980"


def test_a_quotient_that_went_into_a_value_vouches_for_none_of_its_digits():
    third = "0." + "3" * 34
    assert as_measured(reading("0.35", "work out"), (third,)) == "0.35"
    assert as_measured(reading(third, "work out"), (third, "0.05")) == "0.333"


def test_a_limit_that_was_worked_out_is_no_longer_than_the_value_can_be_judged_by():
    assert limit_shown("61.94900000000000000000000001", "61.960") == "61.949"
    assert limit_shown("61.949", "62") == "61.949"


@given(
    st.decimals("0.1", "99", places=6),
    st.decimals("0.1", "99", places=4),
    st.sampled_from(["0.1", "0.01", "0.001", "1"]),
)
def test_rounding_never_brings_a_value_to_the_other_side_of_its_limit(value, high, step):
    shown = as_measured(reading(str(value), high=str(high), resolution=step))
    assert verdict_of(Decimal(shown), None, high) == verdict_of(value, None, high)
