from decimal import Decimal

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.hardness import brinell
from benchrun.shopmath.tables import table_rows

HARD = CALCS["hardness"]


def test_every_row_of_din_50150_comes_out(rows):
    for row in rows("second/hardness_to_tensile_din50150"):
        found = HARD.work({"hardness": f"{row['HV']} HV", "table": "DIN 50150"})
        for column in ("HB", "HRB", "HRC"):
            if row[column]:
                assert found[column].number == Decimal(row[column]), row
        assert found["tensile"].number == Decimal(row["Rm_MPa"])


def test_misprints_of_copies_are_not_taken_over():
    # One copy prints Rm 1115 for 1155 at 360 HV, another HV 392 for 292 at 277 HB.
    assert HARD.work({"hardness": "360 HV"})["tensile"].exact == "1155"
    chart = HARD.work({"hardness": "277 HB", "table": "Brinell chart"})
    assert chart["HV"].exact == "292"


def test_every_row_of_e140_comes_out(rows):
    for row in rows("second/hardness_e140"):
        found = HARD.work({"hardness": f"{row['HRC']} HRC", "table": "ASTM E140"})
        assert found["HV"].number == Decimal(row["HV"])
        assert found["HB"].number == Decimal(row["HB_3000"])
        assert float(found["tensile"].number) == pytest.approx(float(row["tensile_MPa"]), abs=0.06)
        assert float(found["tensile"].to("ksi")) == pytest.approx(
            float(row["tensile_ksi"]), abs=0.01
        )


def test_dents_and_the_heat_treaters_chart(rows):
    for row in rows("second/hardness_brinell_tsi"):
        found = HARD.work(
            {"dent": row["dent_mm_10mm_3000kgf"], "table": "DIN 50150"}
        )  # fmt: skip
        assert float(found["HB"].number) == pytest.approx(float(row["HB_computed"]), abs=0.006)
        chart = HARD.work({"hardness": f"{row['HB']} HB", "table": "Brinell chart"})
        assert chart["HV"].number == Decimal(row["HV"])
        if row["HRC"]:
            assert chart["HRC"].number == Decimal(row["HRC"])
        assert chart["tensile"].number == Decimal(row["tensile_N_mm2"])
        # The chart's tons are rounded from kgf/mm²: exact tons are within its last digit or two.
        tons = float(chart["tensile_tsi"].number)
        assert tons == pytest.approx(float(row["tensile_tonf_in2"]), abs=0.8)
        assert float(row["tonf_in2_in_MPa"]) == pytest.approx(
            float(row["tensile_tonf_in2"]) * 15.444, rel=1e-4
        )


@given(st.floats(2.5, 5.9), st.floats(500, 3000))
def test_random_dents_agree_with_mpmath(dent, load):
    with mpmath.workdps(30):
        d = mpmath.mpf(dent)
        wanted = 2 * load / (mpmath.pi * 10 * (10 - mpmath.sqrt(100 - d * d)))
    found = brinell(Decimal(repr(dent)), Decimal(10), Decimal(repr(load)))
    assert float(found) == pytest.approx(float(wanted), rel=1e-9)


@given(st.floats(80, 650))
def test_between_rows_it_is_a_straight_line_as_numpy_draws_it(hv):
    grid = [(float(row["HV"]), float(row["HB"]), float(row["MPa"]))
            for row in table_rows("hardness_din50150")]  # fmt: skip
    found = HARD.work({"hardness": f"{hv:.6f} HV"})
    steps, brinells, strengths = zip(*grid, strict=True)
    assert float(found["HB"].number) == pytest.approx(np.interp(hv, steps, brinells), rel=1e-6)
    assert float(found["tensile"].number) == pytest.approx(
        np.interp(hv, steps, strengths), rel=1e-6
    )


def test_bolt_classes_have_the_limits_of_the_makers_tables(rows):
    for row in rows("second/iso898_hardness"):
        size = "20" if row["size"] == "d > 16" else "12"
        base = {"class": row["class"], "size": size}
        for scale in ("HV", "HB", "HRC"):
            if not row[f"{scale}_max"]:
                continue
            low, high = Decimal(row[f"{scale}_min"]), Decimal(row[f"{scale}_max"])
            for value, verdict in (
                (low, "fits"), (high, "fits"), (high + 1, "too hard"), (low - 1, "too soft")
            ):  # fmt: skip
                if scale == "HRC" and value < 20:
                    continue
                found = HARD.work({**base, "hardness": f"{value} {scale}"})
                assert str(found["verdict"].value).startswith(verdict), (row, value, scale)
                threatens = any("hydrogen" in caution for caution in found.cautions)
                assert threatens is (verdict == "too hard")


def test_the_checks_of_the_trade():
    assert HARD.work({"hardness": "100 HV"})["tensile"].exact == "320"
    forty = HARD.work({"hardness": "40 HRC", "table": "ASTM E140", "in": "ksi"})
    assert (forty["HV"].exact, forty["HB"].exact) == ("392", "371")
    assert float(forty["tensile"].number) == pytest.approx(182, abs=0.01)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"hardness": "38"}, "has no scale"),
        ({"hardness": "38 HRQ"}, "is no hardness"),
        ({"hardness": "19 HRC"}, "used from 20"),
        ({"hardness": "101 HRB"}, "used up to 100"),
        ({"hardness": "700 HV"}, "beyond its rows"),
        ({"hardness": "79 HV"}, "beyond its rows"),
        ({"hardness": "59 HRC", "table": "ASTM E140"}, "beyond its rows"),
        ({"hardness": "90 HRB", "table": "ASTM E140"}, "no HRB column"),
        ({"hardness": "200 HV", "material": "austenitic"}, "does not convert"),
        ({"hardness": "200 HV", "material": "case-hardened"}, "does not convert"),
        ({"hardness": "200 HV", "material": "cast iron"}, "does not convert"),
        ({"hardness": "200 HV", "material": "cold-worked"}, "does not convert"),
        ({"hardness": "200 HV", "material": "non-ferrous"}, "does not convert"),
        ({"hardness": "300 HV", "class": "8.8"}, "give the size"),
        ({"hardness": "300 HV", "class": "9.8", "size": "20"}, "not defined"),
        ({"hardness": "300 HV", "class": "3.3"}, "not in the table"),
        ({"dent": "1"}, "take another load"),
        ({"dent": "7"}, "take another load"),
        ({"dent": "4", "load": "0"}, "more than nothing"),
        ({}, "or a dent"),
        ({"hardness": "300 HV", "dent": "4"}, "or a dent"),
    ],
)
def test_hardnesses_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        HARD.work(inputs)


@pytest.mark.parametrize(
    ("inputs", "verdict"),
    [
        # ISO 898-1, from memory: 4.6 is 120 to 220 HV and 67 to 95 HRB, 5.8 160 to 220 HV.
        ({"hardness": "67 HRB", "class": "4.6"}, "fits"),
        ({"hardness": "95.5 HRB", "class": "4.6"}, "too hard"),
        ({"hardness": "159 HV", "class": "5.8"}, "too soft"),
        ({"hardness": "99 HRB", "class": "6.8"}, "fits"),
        # 10.9 has no limits in HRB: the table's HV of that hardness is judged.
        ({"hardness": "99 HRB", "class": "10.9"}, "too soft"),
    ],
)
def test_soft_classes_are_judged_in_the_scale_they_are_measured_in(inputs, verdict):
    assert str(HARD.work(inputs)["verdict"].value).startswith(verdict)
