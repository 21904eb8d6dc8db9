import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from benchrun.errors import BenchrunError
from benchrun.shopmath.bores import circle_through
from benchrun.shopmath.catalogue import CALCS

BORE, ROUND = CALCS["bore"], CALCS["roundness"]
GRID = "61.972 61.968 61.975 61.970; 61.969 61.966 61.972 61.968; 61.962 61.960 61.966 61.961"


def test_the_reference_grid_comes_out():
    # Invented and computed: three planes of four directions, 40 mm from first to last.
    result = BORE(grid=GRID, spacing="20")
    assert float(result["mean"].number) == pytest.approx(61.96742, abs=1e-5)
    assert result["ovality"].exact == "0.007"
    assert result["out_of_round"].exact == "0.0035"
    assert result["taper"].exact == "0.009"
    assert result["taper_rate"].exact == "0.225"
    assert (result["smallest"].exact, result["largest"].exact) == ("61.96", "61.975")


grids = st.lists(
    st.lists(st.decimals("61.9", 62, places=3), min_size=4, max_size=4), min_size=1, max_size=4
)


@given(grids)
def test_grids_agree_with_numpy(grid):
    result = BORE.work({"grid": grid})
    array = np.array([[float(value) for value in row] for row in grid])
    assert float(result["mean"].number) == pytest.approx(array.mean(), abs=1e-10)
    assert float(result["ovality"].number) == pytest.approx(np.ptp(array, axis=1).max(), abs=1e-10)
    taper = array[0].mean() - array[-1].mean()
    assert float(result["taper"].number) == pytest.approx(taper, abs=1e-10)


@given(grids)
def test_turning_the_part_round_turns_the_taper_round_and_nothing_else(grid):
    here = BORE.work({"grid": grid})
    there = BORE.work({"grid": grid[::-1]})
    assert there["taper"].number == -here["taper"].number
    for name in ("mean", "ovality", "largest", "smallest"):
        assert there[name] == here[name]


def test_every_single_diameter_counts_at_the_limits():
    assert BORE(grid=GRID, low="61.96", high="61.975")["verdict"].value == "inside"
    assert BORE(grid=GRID, low="61.961")["verdict"].value == "outside"
    assert BORE(grid=GRID, high="61.974")["verdict"].value == "outside"


def test_decimal_commas_and_a_unit_after_the_last_are_read():
    assert BORE(grid="2,44 2,45; 2,43 2,44 in")["largest"].exact == "62.23"


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"grid": "61.9 61.8; 61.9"}, "same number"),
        ({"grid": ""}, "semicolon"),
        ({"grid": "61.9 0"}, "more than nothing"),
        ({"grid": "61.9 6.19"}, "not of one bore"),
        ({"grid": "61.9 61.8", "low": "62", "high": "61"}, "above high"),
        ({"grid": "61.9; 61.8", "spacing": "0"}, "spacing"),
    ],
)
def test_grids_that_make_no_bore_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        BORE.work(inputs)


def test_the_published_circle_comes_out():
    # SciPy Cookbook (from memory): leastsq centre (10.50009, 9.65995), radius 23.33353.
    points = "9 34; 35 10; -13 6; 10 -14; 23 27; 0 -10"
    result = ROUND(points=points)
    found = [float(result[name].number) for name in ("centre_x", "centre_y", "radius")]
    assert found == pytest.approx([10.50009, 9.65995, 23.33353], abs=1e-5)
    for other in ("9,34; 35,10; -13,6; 10,-14; 23,27; 0,-10", "(9,34) (35,10) (-13,6) "
                  "(10,-14) (23,27) (0,-10)"):  # fmt: skip
        assert ROUND(points=other).outputs == result.outputs


def test_the_reference_profile_comes_out(rows):
    # Invented profile: centre (0.012, -0.008), radius 31.000; least-squares roundness 15.93 µm.
    points = "; ".join(f"{row['x_mm']} {row['y_mm']}" for row in rows("bore_points"))
    result = ROUND(points=points)
    assert float(result["centre_x"].number) == pytest.approx(0.012, abs=1e-6)
    assert float(result["centre_y"].number) == pytest.approx(-0.008, abs=1e-6)
    assert float(result["radius"].number) == pytest.approx(31, abs=1e-6)
    assert float(result["roundness"].to("µm")) == pytest.approx(15.93, abs=0.01)


circles = st.tuples(
    st.floats(-5, 5), st.floats(-5, 5), st.floats(5, 100),
    st.lists(st.floats(-0.05, 0.05), min_size=8, max_size=24),
)  # fmt: skip


def on_circle(circle):
    x, y, radius, bumps = circle
    turns = [2 * math.pi * number / len(bumps) for number in range(len(bumps))]
    return [
        (x + (radius + bump) * math.cos(turn), y + (radius + bump) * math.sin(turn))
        for turn, bump in zip(turns, bumps, strict=True)
    ]


@given(circles)
def test_circles_agree_with_scipy(circle):
    points = on_circle(circle)
    xs, ys = np.array(points).T
    fit = least_squares(
        lambda p: np.hypot(xs - p[0], ys - p[1]) - p[2], circle[:3], xtol=1e-15, ftol=1e-15,
        gtol=1e-15,
    )  # fmt: skip
    assert circle_through(points) == pytest.approx(tuple(fit.x), abs=1e-6)


@given(circles, st.floats(-50, 50), st.floats(-50, 50), st.floats(0, 6.28))
def test_roundness_does_not_care_where_the_part_stands(circle, dx, dy, turn):
    points = on_circle(circle)
    moved = [
        (x * math.cos(turn) - y * math.sin(turn) + dx, x * math.sin(turn) + y * math.cos(turn) + dy)
        for x, y in points
    ]
    here, there = (
        ROUND.work({"points": [[Decimal(repr(x)), Decimal(repr(y))] for x, y in each]})
        for each in (points, moved)
    )
    difference = here["roundness"].number - there["roundness"].number
    assert abs(difference) < Decimal("1e-7")


def test_angles_and_radii_are_points():
    polar = ROUND(angles="0 90 180 270 45", radii="31.01 31 31.01 31 30.99")
    slant = 30.99 * math.sqrt(0.5)
    points = f"31.01 0; 0 31; -31.01 0; 0 -31; {slant:.12f} {slant:.12f}"
    for name, amount in ROUND(points=points).outputs.items():
        assert float(polar[name].number) == pytest.approx(float(amount.number), abs=1e-9)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"points": "0 0; 1 1; 2 2; 3 3"}, "line"),
        ({"points": "0 0; 1 1"}, "three points"),
        ({"points": "1 1; 1 1; 1 1"}, "the same"),
        ({"points": "1; 2; 3"}, "x and y"),
        ({"angles": "0 90 180"}, "angles and radii"),
        ({"angles": "0 90 180", "radii": "31 31"}, "do not pair"),
        ({"angles": "0 90 180", "radii": "31 31 -31"}, "more than nothing"),
    ],
)
def test_points_that_make_no_circle_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        ROUND.work(inputs)
