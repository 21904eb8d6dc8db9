from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

SPRING = CALCS["coil_spring"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_springs_agree_with_the_computed_grid(rows):
    for row in rows("second/helical_spring_grid"):
        found = SPRING.work(
            {"wire": row["wire_mm"], "mean": row["mean_diameter_mm"], "coils": row["total_coils"],
             "ends": row["ends"], "free": row["free_length_mm"], "load": row["load_N"]}
        )  # fmt: skip
        for name, column in (
            ("index", "index"), ("rate", "rate_N_mm"), ("active", "active_coils"),
            ("rate_with_shear", "rate_with_direct_shear_N_mm"), ("deflection", "deflection_mm"),
            ("K_wahl", "K_wahl"), ("K_bergstraesser", "K_bergstraesser"), ("K_direct", "K_direct"),
            ("stress", "stress_wahl_MPa"), ("stress_bergstraesser", "stress_bergstraesser_MPa"),
            ("solid", "solid_mm"), ("load_solid", "load_solid_N"),
            ("stress_solid", "stress_wahl_solid_MPa"),
            ("stable_below", "free_length_always_stable_mm"),
        ):  # fmt: skip
            assert float(found[name].number) == six(row[column]), (row["id"], name)
        if row["deflection_at_buckling_mm"]:
            assert float(found["buckles_at"].number) == six(row["deflection_at_buckling_mm"])
        else:
            assert "buckles_at" not in found.outputs


def test_sadhu_singhs_springs():
    # Machine Design, ch. 8: d 4.25, D 34, n 14, G 84 GPa: 6.25 N/mm wanted, 6.2256 with n rounded.
    found = SPRING.work(
        {"wire": "4.25", "mean": "34", "active": "14", "free": "124", "G": "84 GPa"}
    )
    assert float(found["rate"].number) == pytest.approx(6.2256, abs=1e-4)
    # d 3, C 6, n 15, G 84 GPa: Kw 1.2525, 85.05 MPa at 40 N, 9.72 N/mm, 305.7 N at 650 MPa.
    found = SPRING.work(
        {"wire": "3", "mean": "18", "active": "15", "free": "100", "G": "84 GPa", "load": "40"}
    )
    assert float(found["K_wahl"].number) == pytest.approx(1.2525, abs=1e-4)
    assert float(found["stress"].number) == pytest.approx(85.052, abs=1e-3)
    assert float(found["rate"].number) == pytest.approx(9.7222, abs=1e-4)
    assert 650 / float(found["stress"].number) * 40 == pytest.approx(305.69, abs=0.01)


def test_wentzells_spring_has_the_rate_of_unrounded_coils():
    # Machine Design, 8.2: d 0.105, D 0.620 in, G 11.85e6 psi, 10.792 coils: 70 lbf/in. The book's
    # own 73.3 comes from rounding the coils: we do not agree.
    found = SPRING.work(
        {"wire": "0.105 in", "mean": "0.620 in", "active": "10.792", "free": "2 in",
         "G": "11.85e6 psi", "E": "30e6 psi", "in": "lbf/in"}
    )  # fmt: skip
    rate = float(found["rate"].number)
    assert rate == pytest.approx(70, abs=0.01)
    assert abs(rate - 73.3) > 3
    # 8.3: free length by mean diameter 3.226 is below 5.26, both ends fixed: stable.
    assert "buckles_at" not in found.outputs
    assert found["stable_below"].to("in") / Decimal("0.620") == pytest.approx(
        Decimal("5.26"), abs=Decimal("0.1")
    )


def test_a_calculator_page_and_a_sheet_after_shigley():
    # A calculator page: d 1, D 10, Na 8, closed and ground, L0 40: 1.239 N/mm, 1.145, 361.2 MPa
    # pressed by 10 mm.
    found = SPRING.work({"wire": "1", "mean": "10", "active": "8", "free": "40", "height": "30"})
    assert float(found["rate"].number) == pytest.approx(1.239, abs=5e-4)
    assert float(found["K_wahl"].number) == pytest.approx(1.145, abs=5e-4)
    assert float(found["stress"].number) == pytest.approx(361.2, abs=0.05)
    assert found["solid"].exact == "10"
    assert 40 - found["solid"].number == 30
    # A sheet after Shigley: d 2.5, OD 24.75, 18 coils (16 active), L0 90: C 8.90, Ks 1.056, 2197
    # N/m, 98.9 N and 378.6 MPa solid, with the direct factor; Wahl gives 417.31.
    found = SPRING.work(
        {"wire": "2.5", "outside": "24.75", "coils": "18", "free": "90", "height": "45"}
    )
    assert float(found["index"].number) == pytest.approx(8.9)
    assert float(found["K_direct"].number) == pytest.approx(1.0562, abs=1e-4)
    assert found["rate"].to("N/m") == pytest.approx(Decimal(2197), abs=1)
    assert float(found["load"].number) == pytest.approx(98.87, abs=0.01)
    assert float(found["stress_direct"].number) == pytest.approx(378.65, abs=0.01)
    assert float(found["stress"].number) == pytest.approx(417.31, abs=0.01)


def test_the_hinged_limit_is_not_the_fixed_one():
    # Sadhu Singh calls L0 124 / D 34 = 3.647 unstable by the hinged limit of 2.6; with both ends
    # fixed the limit is 5.26 and it is stable.
    base = {"wire": "4.25", "mean": "34", "active": "14", "free": "124", "G": "84 GPa"}
    assert "buckles_at" not in SPRING.work({**base, "seat": "both fixed"}).outputs
    assert "buckles_at" in SPRING.work({**base, "seat": "both hinged"}).outputs


@settings(max_examples=80)
@given(
    st.floats(1, 20), st.floats(3, 15), st.floats(2, 20), st.floats(1.2, 6),
    st.sampled_from([("both fixed", 0.5), ("one hinged", 0.707), ("both hinged", 1),
                     ("one free", 2)]),
)  # fmt: skip
def test_random_springs_agree_with_energy_and_a_root(wire, index, active, stretch, seat):
    diameter = wire * index
    solid = (active + 2) * wire
    free = solid * stretch
    assume(free > solid * 1.01)
    found = SPRING.work(
        {"wire": Decimal(repr(wire)), "mean": Decimal(repr(diameter)),
         "active": Decimal(repr(active)), "free": Decimal(repr(free)), "seat": seat[0]}
    )  # fmt: skip
    # Castigliano: U = T² L / (2 G J), T = F D / 2, so 1/k = (D/2)² π D Na / (G J).
    polar = np.pi * wire**4 / 32
    rate = 79300 * polar / ((diameter / 2) ** 2 * np.pi * diameter * active)
    assert float(found["rate"].number) == pytest.approx(rate, rel=1e-9)
    assert float(found["solid"].number) == pytest.approx(solid, rel=1e-9)
    # Buckling where (1 − x/C1)² = 1 − C2/λ².
    e, g = 207, 79.3
    c1, c2 = e / (2 * (e - g)), 2 * np.pi**2 * (e - g) / (2 * g + e)
    slender = seat[1] * free / diameter
    if c2 / slender**2 > 1:
        assert "buckles_at" not in found.outputs
        assert free < float(found["stable_below"].number) * (1 + 1e-9)
    else:
        root = brentq(lambda x: (1 - x / c1) ** 2 - 1 + c2 / slender**2, 0, c1)
        assert float(found["buckles_at"].number) == pytest.approx(free * root, rel=1e-6)


def test_the_verdict_says_what_happens_first():
    base = {"wire": "14", "mean": "120", "coils": "8.5", "free": "700"}
    assert SPRING.work({**base, "load": "4000"})["verdict"].value == "stands"
    assert SPRING.work({**base, "load": "12000"})["verdict"].value == "buckles before this load"
    solid = SPRING.work({**base, "load": "20000"})
    assert solid["verdict"].value == "solid before this load"
    assert solid["height"].number == solid["solid"].number
    over = SPRING.work({**base, "load": "4000", "allowed": "500"})
    assert over["verdict"].value == "over the allowed stress"


BASE = {"wire": "2", "mean": "16", "coils": "10", "free": "45"}


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({**BASE, "free": "20"}, "not above the solid height"),
        ({**BASE, "height": "19"}, "below the solid height"),
        ({**BASE, "height": "46"}, "above the free length"),
        ({**BASE, "mean": "4"}, "index of 2 or less"),
        ({**BASE, "outside": "18"}, "one of them"),
        ({"wire": "2", "coils": "10", "free": "45"}, "one of them"),
        ({**BASE, "active": "8"}, "one of them"),
        ({**BASE, "coils": "2"}, "active coils"),
        ({**BASE, "load": "0"}, "more than nothing"),
        ({**BASE, "load": "10", "height": "30"}, "not both"),
        ({**BASE, "wire": "-1"}, "more than nothing"),
        ({**BASE, "G": "207 GPa"}, "spring metals"),
        ({**BASE, "G": "110 GPa"}, "not of one metal"),
        ({**BASE, "ends": "conical"}, "none of plain"),
        ({**BASE, "load": "10 kg m"}, "not a unit of force"),
    ],
)
def test_springs_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        SPRING.work(inputs)
