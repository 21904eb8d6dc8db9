from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

FILM, AREA = CALCS["film"], CALCS["area"]


def test_reference_films_come_out(rows):
    for row in rows("films"):
        base = {"dft": row["dft_um"], "solids": row["solids"], "thinner": row["thinner"]}
        result = FILM.work(base)
        assert float(result["wft"].number) == pytest.approx(float(row["wft_um"]), abs=0.06)
        coverage = float(row["coverage"])
        assert float(result["coverage"].number) == pytest.approx(coverage, abs=0.0006)
        lossy = FILM.work(base | {"loss": "30"})
        assert float(lossy["coverage"].number) == pytest.approx(
            float(row["with_30_loss"]), abs=1e-3
        )
        assert float(lossy["coverage_no_loss"].number) == pytest.approx(coverage, abs=0.0006)


def test_published_wet_films_come_out():
    # Two coating pages: 100 µm at 62 %: 161 µm; 6 mil at 30 %: 20 mil.
    assert float(FILM(dft="100", solids="62")["wft"].number) == pytest.approx(161, abs=0.5)
    assert FILM(dft="6 mil", solids="30 %")["wft"].to("thou") == 20


def test_paint_for_an_area_counts_coats_and_loss():
    # By hand: 60 % of 1 l at 75 µm covers 8 m²; 6.4 with 20 % lost; 0.8 m² twice takes 0.25 l.
    result = FILM(dft="75", solids="60", thinner="10", area="0.8", coats="2", loss="20")
    assert (result["paint"].exact, result["thinner"].exact) == ("250", "25")


@given(
    st.decimals(10, 500, places=0), st.decimals(5, 100, places=0), st.decimals(0, 50, places=0),
    st.decimals("0.1", 20, places=1), st.integers(1, 5), st.decimals(0, 90, places=0),
)  # fmt: skip
def test_the_solids_that_are_bought_are_the_film_and_the_loss(
    dft, solids, thinner, area, coats, loss
):
    result = FILM.work(
        {
            "dft": dft,
            "solids": solids,
            "thinner": thinner,
            "area": area,
            "coats": coats,
            "loss": loss,
        }
    )
    film_ml = dft * area * coats  # µm × m² = ml
    bought_ml = result["paint"].number * solids / 100
    assert abs(bought_ml * (100 - loss) / 100 - film_ml) < film_ml * Decimal("1e-20")
    assert result["wft"].number >= dft


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"solids": "120"}, "up to 100"),
        ({"solids": "0"}, "over 0"),
        ({"thinner": "-5"}, "thinner"),
        ({"thinner": "150"}, "thinner"),
        ({"loss": "100"}, "less than 100"),
        ({"loss": "-1"}, "loss"),
        ({"coats": "1.5"}, "whole number"),
        ({"coats": "0"}, "whole number"),
        ({"dft": "0"}, "dry film"),
        ({"area": "-1"}, "more than nothing"),
    ],
)
def test_films_that_cannot_be_are_refused(changes, because):
    with pytest.raises(BenchrunError, match=because):
        FILM.work({"dft": "75", "solids": "60"} | changes)


def test_a_fraction_for_the_solids_is_asked_about():
    with pytest.raises(BenchrunError, match=r"was 60 % meant\? Type 60; .* type 0.6 %"):
        FILM(dft="75", solids="0.6")
    assert any("0.6 %" in note for note in FILM(dft="75", solids="0.6 %").notes)
    assert FILM(dft="75", solids="1")["wft"].exact == "7500"
    assert any("0.5 %" in note for note in FILM(dft="75", solids="60", loss="0.5").notes)


@pytest.mark.parametrize(
    ("shapes", "square_mm"),
    [
        # By hand.
        ("plate 300x200", 120_000),
        ("face 300x200", 60_000),
        ("box 10x20x30", 2200),
        ("disc 100", 15_707.963_267_9),
        ("ring 100x50", 11_780.972_450_9),
        ("tube 50x100", 15_707.963_267_9),
        ("bar 50x100", 19_634.954_084_9),
        ("ball 10", 314.159_265_4),
        ("2 face 10x10; face 10x10 *3", 500),
        ("2 tubes 1 in x 10", 1595.929_068_0),
    ],
)
def test_areas_of_simple_shapes(shapes, square_mm):
    assert float(AREA(shapes=shapes)["area"].to("mm²")) == pytest.approx(square_mm, rel=1e-9)


@pytest.mark.parametrize(
    ("shapes", "because"),
    [
        ("", "type shapes"),
        ("wedge 10x10", "none of plate"),
        ("plate 10", "takes length x width"),
        ("ring 50x100", "not less"),
        ("disc -5", "more than nothing"),
        ("0 disc 50", "no piece"),
        ("10x10", "not a shape"),
    ],
)
def test_shapes_that_are_none_are_refused(shapes, because):
    with pytest.raises(BenchrunError, match=because):
        AREA(shapes=shapes)
