from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.cold import contraction

COOL = CALCS["cool_to_fit"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_cold_fits_agree_with_the_computed_table(rows):
    for row in rows("second/cool_to_fit"):
        found = COOL.work(
            {"diameter": row["diameter_mm"], "interference": f"{row['interference_mm']} mm",
             "clearance": f"{row['clearance_mm']} mm", "alpha": row["alpha_um_per_m_K"],
             "room": row["room_degC"], "coldest": f"{row['limit_degC']} C"}
        )  # fmt: skip
        assert float(found["cool_to"].number) == six(row["cool_to_degC"])
        reachable = found["verdict"].value == "reachable"
        assert reachable is (row["reachable"] == "yes"), row["id"]


def test_contraction_follows_the_measured_curves(rows):
    for row in rows("second/cold_contraction"):
        found, source = contraction(
            row["material"], Decimal(row["cold_degC"]), Decimal(row["from_degC"])
        )
        assert float(found) == pytest.approx(float(row["contraction_um_per_m"]), rel=3e-5)
        span = int(row["from_degC"]) - int(row["cold_degC"])
        assert float(found) / span == pytest.approx(float(row["mean_alpha_um_per_m_K"]), rel=6e-5)
        assert "NIST" in source


def test_the_curve_of_stainless_agrees_with_numpys_polynomial():
    warm, cold = np.array([293.15, 77.15])
    fit = np.polynomial.Polynomial([-295.54, -0.39811, 0.0092683, -0.000020261, 0.000000017127])
    found, _ = contraction("304", Decimal(-196), Decimal(20))
    assert float(found) == pytest.approx(10 * (fit(warm) - fit(cold)), rel=1e-9)


def test_the_coldest_of_coolants_and_parts_is_as_published(rows):
    known = {row["item"].split(" (")[0].split(",")[0]: row for row in rows("second/cold_limits")}
    base = {"diameter": "50", "interference": "10 µm", "alpha": "12"}
    for coolant, item in (("dry ice", "dry ice"), ("nitrogen", "liquid nitrogen"),
                          ("freezer", "household freezer")):  # fmt: skip
        found = COOL.work({**base, "coolant": coolant})
        assert found["limit"].number == Decimal(known[item]["degC"])
    # The kind of part stops it earlier: a maker's sheet gives -54 and -29 °C.
    assert COOL.work({**base, "part": "bearing"})["limit"].exact == "-54"
    assert COOL.work({**base, "part": "precision outer ring"})["limit"].exact == "-29"
    assert COOL.work({**base, "part": "bearing", "coolant": "freezer"})["limit"].exact == "-18"


def test_what_is_left_is_for_heating_the_outer_part():
    found = COOL.work(
        {"diameter": "30", "interference": "20 µm", "clearance": "10 µm", "alpha": "11.7",
         "coolant": "freezer", "alpha_outer": "23"}
    )  # fmt: skip
    # By hand: 11.7 × 30 × 38 / 1000 = 13.338 µm; 30 − 13.338 = 16.662; ÷ (23 × 30) = 24.148 K.
    assert found["contraction"].exact == "13.338"
    assert found["left"].exact == "16.662"
    assert float(found["heat_outer"].number) == pytest.approx(24.1478, rel=1e-5)
    both = found["contraction"].number + 23 * 30 * found["heat_outer"].number / 1000
    assert abs(both - 30) < Decimal("1e-20")


@given(
    st.decimals(10, 200, places=1), st.decimals("0.001", "0.09", places=3),
    st.decimals(5, 30, places=1), st.integers(-190, -20),
)  # fmt: skip
def test_reachable_is_when_the_part_shrinks_by_as_much(diameter, interference, alpha, coldest):
    inputs = {"diameter": diameter, "interference": interference, "alpha": alpha,
              "coldest": Decimal(coldest)}  # fmt: skip
    if interference * 10**6 / (alpha * diameter) > Decimal("293.15"):
        with pytest.raises(BenchrunError, match="absolute zero"):
            COOL.work(inputs)
        return
    found = COOL.work(inputs)
    reachable = found["verdict"].value == "reachable"
    assert reachable is (found["cool_to"].number >= coldest)
    assert (found["left"].number == 0) is reachable


def test_one_expansion_figure_far_down_is_told():
    far = COOL.work(
        {"diameter": "100", "interference": "0.12", "clearance": "0.03", "alpha": "11.7",
         "coolant": "nitrogen"}
    )  # fmt: skip
    assert any("5 to 10 % less" in note for note in far.notes)


BASE = {"diameter": "50", "interference": "20 µm", "alpha": "12"}


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({**BASE, "part": "sealed bearing"}, "ask the maker"),
        ({**BASE, "part": "bonded bush"}, "ask the maker"),
        ({**BASE, "interference": "0.6 mm"}, "1 % of the diameter"),
        ({**BASE, "interference": "0"}, "more than nothing"),
        ({**BASE, "diameter": "0"}, "more than nothing"),
        ({**BASE, "coldest": "25 C"}, "not colder than the room"),
        ({**BASE, "coldest": "-250 C"}, "coolants reach"),
        ({"diameter": "50", "interference": "20 µm"}, "INNER part"),
        ({**BASE, "coolant": "snow"}, "none of freezer"),
        ({**BASE, "alpha": "120"}, "metals expand"),
        ({**BASE, "room": "200"}, "a workshop"),
        ({**BASE, "diameter": "1 kg"}, "not a unit of length"),
    ],
)
def test_cold_fits_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        COOL.work(inputs)
