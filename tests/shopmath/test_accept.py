import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath import CALCS
from benchrun.shopmath.accepting import DOUBT, INSIDE, OUTSIDE, verdict_of

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


def test_no_zone_left_is_refused_with_the_reason():
    # Computed: 25 k5 is 9 µm wide; U 5 µm leaves -1 µm.
    with pytest.raises(BenchrunError, match="nearer together than twice U"):
        ACCEPT(value="25.006 mm", low="25.002", high="25.011", U="0.005")


def test_the_rule_of_ten_speaks_of_the_instrument():
    # Computed: 16 µm with a 0.01 mm step is 1.6 to 1; with 0.001 mm 16 to 1.
    coarse = ACCEPT(value="50.01 mm", low="50.002", high="50.018", resolution="0.01")
    assert any("1.6 times resolution: too coarse" in note for note in coarse.notes)
    fine = ACCEPT(value="50.01 mm", low="50.002", high="50.018", resolution="1 um")
    assert any("16 times resolution: fine" in note for note in fine.notes)


@given(numbers, numbers, st.decimals(0, 50, places=3), st.decimals(0, 20, places=3))
def test_the_three_verdicts_share_the_line_without_gap_or_overlap(value, low, width, u):
    high = low + width
    if width < 2 * u:
        with pytest.raises(BenchrunError):
            verdict_of(value, low, high, u)
        return
    distance = max(low - value, value - high)
    wanted = INSIDE if distance <= -u else OUTSIDE if distance > u else DOUBT
    assert verdict_of(value, low, high, u) == wanted


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
        ({"value": "5", "low": "6", "high": "5"}, "low is above high"),
        ({"value": "5", "low": "4", "U": "-1"}, "less than nothing"),
        ({"value": "5 mm", "low": "4 N"}, "not a unit of length"),
    ],
)
def test_judgements_without_sense_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        ACCEPT.work(inputs)
