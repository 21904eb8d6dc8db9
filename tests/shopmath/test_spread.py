import math
import statistics
from decimal import Decimal

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.tables import table_rows

SUMMARY, CONTROL, CAPABILITY = CALCS["summary"], CALCS["control"], CALCS["capability"]
readings = st.lists(st.decimals(-1000, 1000, places=3), min_size=2, max_size=40)


@pytest.mark.parametrize(
    "name", ["Lew", "Lottery", "Mavro", "Michelso", "NumAcc1", "NumAcc2", "NumAcc3"]
)
def test_nist_strd_sets_agree_to_fourteen_digits(nist, name):
    mean, spread, values = nist(name)
    result = SUMMARY.work({"values": values})
    # Certified to 15 digits; NIST asks for 9.
    assert abs(result["mean"].number - mean) <= abs(mean) * Decimal("1e-14")
    assert abs(result["s"].number - spread) <= spread * Decimal("1e-14")


def test_numacc4_comes_out_exactly(nist):
    mean, spread, values = nist("NumAcc4")
    assert (mean, spread) == (Decimal("10000000.2"), Decimal("0.1"))
    assert len(values) == 1001
    result = SUMMARY.work({"values": values})
    assert result["mean"].exact == "10000000.2"
    assert result["s"].exact == "0.1"
    assert result["s"].number == Decimal("0.1")


def test_floating_point_would_not_have_been_exact(nist):
    _, _, values = nist("NumAcc4")
    floats = [float(value) for value in values]
    assert np.std(floats, ddof=1) != 0.1


@given(readings)
def test_summaries_agree_with_numpy_and_statistics(values):
    result = SUMMARY.work({"values": values})
    floats = [float(value) for value in values]
    assert float(result["mean"].number) == pytest.approx(np.mean(floats), abs=1e-9)
    assert float(result["s"].number) == pytest.approx(np.std(floats, ddof=1), abs=1e-6)
    assert float(result["s"].number) == pytest.approx(float(statistics.stdev(values)), abs=1e-9)
    assert float(result["u"].number) == pytest.approx(stats.sem(floats), abs=1e-6)
    assert result["spread"].number == max(values) - min(values)


@given(st.lists(st.decimals(-10, 10, places=2), min_size=3, max_size=20))
def test_the_uncertainty_of_the_mean_agrees_with_gtc(values):
    floats = [float(value) for value in values]
    wanted = GTC.type_a.estimate(floats)
    result = SUMMARY.work({"values": values})
    assert float(result["mean"].number) == pytest.approx(wanted.x, abs=1e-9)
    assert float(result["u"].number) == pytest.approx(wanted.u, abs=1e-7)


def test_twenty_temperatures_of_the_guide():
    # JCGM 100, 4.4.3, data and values from memory: mean 100.14 (100.145), s 1.489, s(mean) 0.333.
    values = ("96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 100.33 100.42 100.68 "
              "100.95 101.11 101.20 101.57 101.84 102.36 102.72 C")  # fmt: skip
    result = SUMMARY(values=values)
    assert float(result["mean"].number) == pytest.approx(100.145, abs=1e-3)
    assert float(result["s"].number) == pytest.approx(1.489, abs=1e-3)
    assert float(result["u"].number) == pytest.approx(0.333, abs=1e-3)
    assert (result["mean"].unit, result["s"].unit) == ("degC", "delta degC")


@given(readings, st.decimals(-100, 100, places=3))
def test_shifting_all_readings_shifts_the_mean_alone(values, shift):
    here = SUMMARY.work({"values": values})
    there = SUMMARY.work({"values": [value + shift for value in values]})
    assert there["s"] == here["s"]
    assert abs(there["mean"].number - here["mean"].number - shift) < Decimal("1e-25")


def test_control_limits_of_the_handbook():
    # NIST/SEMATECH e-Handbook 6.3.2.2, as a stored test quotes it: 50.81, 55.8041, 45.8159;
    # moving range 1.8778, upper limit 6.1349 (6.1347 with 3.267).
    result = CONTROL(values="49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1")
    assert result["centre"].exact == "50.81"
    assert float(result["upper"].number) == pytest.approx(55.8041, abs=1e-4)
    assert float(result["lower"].number) == pytest.approx(45.8159, abs=1e-4)
    assert float(result["mr_centre"].number) == pytest.approx(1.8778, abs=1e-4)
    assert float(result["mr_upper"].number) == pytest.approx(6.1349, abs=3e-4)
    assert result["points"].value == "none"


def test_a_point_outside_is_named():
    result = CONTROL(values=" ".join(["10", "10.1"] * 10) + " 12")
    assert (result["outside"].exact, result["points"].value) == ("1", "21")
    assert any("range too wide at 21" in note for note in result.notes)


def test_moving_ranges_of_nist_data(nist):
    # Computed over the file's order: mean moving range of Lew 400.6180904523.
    _, _, values = nist("Lew")
    found = CONTROL.work({"values": values})["mr_centre"].number
    assert abs(found - Decimal("400.6180904523")) < Decimal("1e-9")


def test_capability_of_the_piston_rings(rows):
    # Montgomery: 25 subgroups of 5 between 73.95 and 74.05 mm: mean 74.00118, Cp 1.70, Cpk 1.66;
    # computed here sigma 0.009785, Cp 1.7032, Cpk 1.6632.
    groups = "; ".join(" ".join(row[f"x{n}"] for n in range(1, 6)) for row in rows("piston_rings"))
    result = CAPABILITY(subgroups=groups, low="73.95 mm", high="74.05 mm")
    assert float(result["mean"].number) == pytest.approx(74.00118, abs=1e-5)
    assert float(result["sigma"].number) == pytest.approx(0.009785, abs=1e-6)
    assert float(result["Cp"].number) == pytest.approx(1.7032, abs=1e-4)
    assert float(result["Cpk"].number) == pytest.approx(1.6632, abs=1e-4)


@given(st.lists(st.decimals(9, 11, places=2), min_size=2, max_size=30, unique=True))
def test_capability_of_values_is_by_their_standard_deviation(values):
    result = CAPABILITY.work({"values": values, "low": Decimal(8), "high": Decimal(12)})
    floats = [float(value) for value in values]
    sigma, mean = np.std(floats, ddof=1), np.mean(floats)
    assert float(result["Cp"].number) == pytest.approx(4 / (6 * sigma), rel=1e-9)
    assert float(result["Cpk"].number) == pytest.approx(
        min(12 - mean, mean - 8) / (3 * sigma), rel=1e-9
    )
    assert result["Cpk"].number <= result["Cp"].number


def test_the_range_constants_are_those_of_the_normal_distribution():
    for row in table_rows("chart_constants"):
        n = int(row["n"])
        d2, _ = integrate.quad(
            lambda x, n=n: 1 - (1 - stats.norm.cdf(x)) ** n - stats.norm.cdf(x) ** n, -8, 8
        )
        assert float(row["d2"]) == pytest.approx(d2, abs=1e-5)
    assert math.isclose(
        float(table_rows("chart_constants")[0]["d2"]), 2 / math.sqrt(math.pi), abs_tol=1e-5
    )


@pytest.mark.parametrize(
    ("name", "inputs", "because"),
    [
        ("summary", {"values": "5"}, "two values"),
        ("summary", {"values": ""}, "at least one"),
        ("control", {"values": "5"}, "two values"),
        ("capability", {"values": "5 5 5", "low": "4", "high": "6"}, "all readings are the same"),
        ("capability", {"values": "5 6", "low": "6", "high": "4"}, "not below"),
        ("capability", {"low": "4", "high": "6"}, "values or subgroups"),
        ("capability", {"subgroups": "1 2; 1", "low": "4", "high": "6"}, "same number"),
        ("capability", {"subgroups": "1; 2", "low": "4", "high": "6"}, "2 to 10"),
    ],
)  # fmt: skip
def test_readings_that_say_nothing_are_refused(name, inputs, because):
    with pytest.raises(BenchrunError, match=because):
        CALCS[name].work(inputs)


def test_the_sums_shown_have_the_brackets_that_make_them_true():
    (shown,) = CALCS["capability"].work(CALCS["capability"].example).workings
    assert "÷ (6 × " in shown
    (shown,) = CALCS["bolt"].work({"thread": "M10", "class": "8.8", "torque": "50"}).workings
    assert shown == "50 N·m ÷ (K 0.2 × 10 mm) = 25 kN"
