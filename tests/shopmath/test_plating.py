from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

PLATE = CALCS["plating_growth"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_growths_agree_with_the_computed_grid(rows):
    for row in rows("second/plating_growth_grid"):
        thick = row["thickness_um"]
        found = PLATE.work({"least": thick, "most": thick, "angle": row["angle_deg"]})
        assert float(found["growth_least"].number) == six(row["major_growth_um"])
        assert float(found["factor"].number) == six(row["factor"])
        assert float(found["pitch_growth_most"].number) == six(row["pitch_diameter_growth_um"])


@pytest.mark.parametrize(
    ("thread", "factor"), [("M10", 4), ("3/8 UNC", 4), ("3/8 BSF", 4.331361), ("2 BA", 4.965901)]
)
def test_the_thread_says_its_angle(thread, factor):
    found = PLATE.work({"least": "5", "most": "5", "thread": thread})
    assert float(found["factor"].number) == pytest.approx(factor, rel=1e-6)


def test_gauge_makers_pages():
    # 0.0002 to 0.0003 in on a 60° thread: 0.0008 to 0.0012 in of pitch diameter.
    found = PLATE.work({"least": "0.0002 in", "most": "0.0003 in", "thread": "1/2 UNC", "in": "in"})
    assert float(found["pitch_growth_least"].number) == pytest.approx(0.0008)
    assert float(found["pitch_growth_most"].number) == pytest.approx(0.0012)
    # A plain diameter grows by twice the thickness.
    assert PLATE.work({"least": "10", "most": "10"})["growth_most"].exact == "20"
    # No greatest thickness given: nominal and 50 % (ASME B1.1-2003, 7.4.2, as the page copies it).
    open_ended = PLATE.work({"least": "8"})
    assert open_ended["growth_most"].exact == "24"
    assert any("half as much again" in note for note in open_ended.notes)


@given(st.floats(0.5, 40), st.floats(25, 70))
def test_random_growths_agree_with_the_offset_of_a_flank(thick, angle):
    # Independent: two flank lines moved outward by t along their normals cross the axis line
    # further out; the pitch diameter grows by twice that.
    half = np.radians(angle / 2)
    normal = np.array([np.cos(half), np.sin(half)])  # of the flank, axial and radial
    moved = thick / normal[1]
    found = PLATE.work(
        {"least": f"{thick:.9f}", "most": f"{thick:.9f}", "angle": f"{angle:.9f}"}
    )  # fmt: skip
    assert float(found["pitch_growth_least"].number) == pytest.approx(2 * moved, rel=1e-6)


def test_sizes_before_and_after_and_the_sign_of_a_bore():
    base = {"least": "5", "most": "10"}
    out = PLATE.work({**base, "size": "20"})
    assert (out["size_least"].exact, out["size_most"].exact) == ("20.01", "20.02")
    bore = PLATE.work({**base, "size": "20", "side": "internal"})
    assert (bore["size_least"].exact, bore["size_most"].exact) == ("19.98", "19.99")
    assert bore["growth_most"].exact == "-20"
    back = PLATE.work({**base, "size": "20", "state": "after"})
    assert (back["size_least"].exact, back["size_most"].exact) == ("19.98", "19.99")


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"least": "8", "coating": "hot-dip"}, "no even plate"),
        ({"least": "8", "coating": "paint"}, "no even plate"),
        ({"least": "8", "coating": "powder"}, "no even plate"),
        ({"least": "80", "thread": "M10x1.5"}, "a twentieth"),
        ({"least": "8", "most": "5"}, "is above most"),
        ({"least": "0"}, "plates lie"),
        ({"least": "8", "thread": "M10", "angle": "60"}, "not both"),
        ({"least": "8", "pitch_size": "9"}, "needs a thread"),
        ({"least": "8", "size": "0"}, "more than nothing"),
        ({"least": "8", "thread": "1/2-12"}, "could be more than one thread"),
        ({"least": "8 kg"}, "not a unit of length"),
        ({"least": "8", "angle": "5"}, "flanks at"),
    ],
)
def test_plates_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        PLATE.work(inputs)


def test_the_plate_over_a_twentieth_of_the_pitch_is_the_first_refused():
    # P/20 of M10x1.5 is 75 µm.
    assert PLATE.work({"least": "75", "most": "75", "thread": "M10x1.5"})["factor"].number > 3
    with pytest.raises(BenchrunError, match="a twentieth"):
        PLATE.work({"least": "75", "most": Decimal("75.1"), "thread": "M10x1.5"})
