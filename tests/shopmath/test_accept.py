"""The decision rule of a measured value at its limits.

No copy of JCGM 106 or of ISO 14253-1 is at hand. The zones are computed from the rule as two pages
tell it; the example of JCGM 106:2012 and the risks of ILAC-G8:09/2019 are from memory, and are held
here against the rule by arithmetic of their own, the normal distribution of Python's `statistics`.
"""

from decimal import Decimal
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.accepting import DOUBT, INSIDE, OUTSIDE, verdict_of, verdict_words
from benchrun.shopmath.catalogue import CALCS

ACCEPT = CALCS["accept"]
K6 = {"low": "50.002 mm", "high": "50.018", "U": "0.003"}
numbers = st.decimals(-100, 100, places=3)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        # ISO 14253-1 by two pages, zones computed: 50 k6 and U 0.003: accept 50.005 to 50.015,
        # reject below 49.999 and above 50.021.
        ("50.005", INSIDE), ("50.015", INSIDE), ("50.0049", DOUBT), ("50.0151", DOUBT),
        ("49.999", DOUBT), ("49.9989", OUTSIDE), ("50.021", DOUBT), ("50.0211", OUTSIDE),
    ],
)  # fmt: skip
def test_zones_of_the_decision_rule(value, verdict):
    assert ACCEPT.work(K6 | {"value": value})["verdict"].value == verdict


def test_zones_are_said():
    result = ACCEPT.work(K6 | {"value": "50.01 mm"})
    assert {name: result[name].exact for name in result.outputs if name != "verdict"} == {
        "accept_low": "50.005", "accept_high": "50.015",
        "reject_below": "49.999", "reject_above": "50.021",
    }  # fmt: skip


def test_a_limit_that_is_met_exactly_counts_in_any_unit():
    assert ACCEPT(value="25.4 mm", high="1 in")["verdict"].value == INSIDE
    assert ACCEPT(value="1 in", low="25.4 mm")["verdict"].value == INSIDE
    assert ACCEPT(value="68 F", high="20 C")["verdict"].value == INSIDE
    assert ACCEPT(value="25.4001 mm", high="1 in")["verdict"].value == OUTSIDE


def test_an_uncertainty_of_a_temperature_is_a_difference():
    result = ACCEPT(value="20.5 C", low="20 C", high="22 C", U="0.5 C")
    assert result["verdict"].value == INSIDE
    assert (result["accept_low"].exact, result["reject_above"].exact) == ("20.5", "22.5")
    # 0.9 °F is 0.5 K, and 20 °C is 68 °F exactly.
    assert ACCEPT(value="68.9 F", low="20 C", high="22 C", U="0.9 F")["verdict"].value == INSIDE
    assert ACCEPT(value="68.89 F", low="20 C", high="22 C", U="0.9 F")["verdict"].value == DOUBT


def conforming(value, u, low=None, high=None):
    """How likely a measured quantity lies within limits, normal with the standard uncertainty."""
    told = NormalDist(float(value), float(u))
    below = 1.0 if high is None else told.cdf(float(high))
    return below - (0.0 if low is None else told.cdf(float(low)))


def test_the_published_diode_is_too_near_its_limit_to_decide():
    # JCGM 106:2012, 7.3 (from memory): a breakdown voltage of -5.47 V with u = 0.05 V, which shall
    # be at most -5.40 V, conforms with a probability of 92 %. U = 2 u = 0.10 V: not proven.
    value, high, u = Decimal("-5.47"), Decimal("-5.40"), Decimal("0.05")
    assert round(conforming(value, u, high=high), 2) == 0.92
    assert verdict_of(value, None, high, 2 * u) == DOUBT
    assert verdict_of(Decimal("-5.50"), None, high, 2 * u) == INSIDE


@pytest.mark.parametrize(("guard", "most"), [("1", 0.025), ("0.83", 0.05), ("0", 0.5)])
def test_the_risk_at_the_edge_of_acceptance_is_the_published_one(guard, most):
    # ILAC-G8:09/2019, table 1 (from memory): a guard of U leaves less than 2.5 % of false
    # acceptance, 0.83 U (ISO 14253-1:2017) less than 5 %, none up to 50 %.
    limit, u = Decimal(10), Decimal("0.01")
    edge = limit - Decimal(guard) * 2 * u
    risk = 1 - conforming(edge, u, high=limit)
    assert most * 0.9 < risk <= most
    assert (verdict_of(edge, None, limit, 2 * u) == INSIDE) is (guard == "1")


@given(numbers, numbers, st.decimals("0.1", 50, places=3), st.decimals("0.01", 20, places=3))
def test_what_is_inside_conforms_and_what_is_outside_does_not_in_19_cases_of_20(
    value, low, width, u
):
    high = low + width
    verdict = verdict_of(value, low, high, 2 * u)
    likely = conforming(value, u, low, high)
    if verdict == INSIDE:
        assert likely >= 0.95
    elif verdict == OUTSIDE:
        assert likely <= 0.025


def test_limits_closer_than_twice_u_accept_nothing_and_the_sum_says_why():
    # Computed: 25 k5 is 9 µm wide; U 5 µm leaves -1 µm.
    k5 = {"low": "25.002 mm", "high": "25.011", "U": "0.005"}
    result = ACCEPT.work(k5 | {"value": "25.006 mm"})
    assert result["verdict"].value == DOUBT
    assert set(result.outputs) == {"verdict", "reject_below", "reject_above"}
    assert any("closer together than twice U" in note for note in result.notes)
    assert ACCEPT.work(k5 | {"value": "25.0161 mm"})["verdict"].value == OUTSIDE


def test_limits_twice_u_apart_accept_the_one_value_between_them():
    result = ACCEPT.work({"value": "10 mm", "low": "9.5 mm", "high": "10.5 mm", "U": "0.5"})
    assert result["verdict"].value == INSIDE
    assert result["accept_low"].exact == result["accept_high"].exact == "10"


def test_two_limits_may_be_one_value_and_one_that_is_not_given_is_said():
    assert (
        ACCEPT.work({"value": "10 mm", "low": "10 mm", "high": "10 mm"})["verdict"].value == INSIDE
    )
    assert (
        "against 10 mm to no limit" in ACCEPT.work({"value": "10 mm", "low": "10 mm"}).workings[0]
    )


@pytest.mark.parametrize(
    ("value", "low", "high", "u", "words"),
    [
        ("61.968", "61.949", "61.979", "0", "inside, 0.011 mm under the upper limit 61.979 mm"),
        ("61.952", "61.949", "61.979", "0", "inside, 0.003 mm over the lower limit 61.949 mm"),
        ("61.979", "61.949", "61.979", "0", "inside, at the upper limit 61.979 mm"),
        ("61.949", "61.949", None, "0", "inside, at the lower limit 61.949 mm"),
        ("61.990", "61.949", "61.979", "0", "0.011 mm over the upper limit 61.979 mm"),
        ("61.9", "61.949", "61.979", "0", "0.049 mm under the lower limit 61.949 mm"),
        ("61.978", "61.949", "61.979", "0.002",
         "too close to the upper limit 61.979 mm for this instrument (±0.002 mm) to decide"),
        ("61.950", "61.949", None, "0.002",
         "too close to the lower limit 61.949 mm for this instrument (±0.002 mm) to decide"),
        ("61.964", "61.949", "61.979", "0.016",
         "the limits 61.949 mm and 61.979 mm are too close together for this instrument "
         "(±0.016 mm) to decide"),
        ("62.1", "61.949", "61.979", "0.016", "0.121 mm over the upper limit 61.979 mm"),
        ("61.9", None, None, "0.016", ""),
    ],
)  # fmt: skip
def test_a_verdict_is_told_with_what_was_measured(value, low, high, u, words):
    ends = [None if end is None else Decimal(end) for end in (low, high)]
    assert verdict_words(Decimal(value), *ends, Decimal(u), "mm") == words


def test_a_difference_of_temperatures_is_no_temperature():
    words = verdict_words(Decimal(25), Decimal(10), Decimal(20), Decimal(0), "degC")
    assert words == "5 °C over the upper limit 20 °C"


def test_the_rule_of_ten_speaks_of_the_instrument():
    # Computed: 16 µm with a 0.01 mm step is 1.6 to 1; with 0.001 mm 16 to 1.
    coarse = ACCEPT(value="50.01 mm", low="50.002", high="50.018", resolution="0.01")
    assert any("1.6 times resolution: too coarse" in note for note in coarse.notes)
    fine = ACCEPT(value="50.01 mm", low="50.002", high="50.018", resolution="1 um")
    assert any("16 times resolution: fine" in note for note in fine.notes)


@given(numbers, numbers, st.decimals(0, 50, places=3), st.decimals(0, 20, places=3))
def test_the_three_verdicts_share_the_line_without_gap_or_overlap(value, low, width, u):
    high = low + width
    distance = max(low - value, value - high)
    wanted = INSIDE if distance <= -u else OUTSIDE if distance > u else DOUBT
    assert verdict_of(value, low, high, u) == wanted
    assert wanted != INSIDE or width >= 2 * u


@given(numbers, numbers, st.decimals(0, 50, places=3))
def test_without_uncertainty_nothing_is_in_doubt(value, low, width):
    assert verdict_of(value, low, low + width) in {INSIDE, OUTSIDE}


@given(numbers, numbers, st.decimals(0, 20, places=3))
def test_one_sided_limits_mirror_each_other(value, limit, u):
    assert verdict_of(value, limit, None, u) == verdict_of(-value, None, -limit, u)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"value": "5"}, "without a limit"),
        ({"value": "5", "low": "6", "high": "5"}, "low 6 is above high 5"),
        ({"value": "5", "low": "4", "U": "-1"}, "less than nothing"),
        ({"value": "5 mm", "low": "4 N"}, "not a unit of length"),
    ],
)
def test_judgements_without_sense_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        ACCEPT.work(inputs)


def test_the_rule_that_is_used_is_the_edition_that_is_named():
    # The guard is the whole of U at each limit: the rule of 1998, not the default of 2017.
    result = CALCS["accept"].work(CALCS["accept"].example)
    assert result["accept_low"].number - Decimal("50.002") == Decimal("0.003")
    (source,) = [line for line in result.sources if "guard of the whole U" in line]
    assert "1998" in source
