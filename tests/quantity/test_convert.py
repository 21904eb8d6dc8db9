from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint_registry import quantity, value_in

from benchrun.errors import BenchrunError
from benchrun.quantity import (
    UNITS,
    canonical,
    convert,
    dimension,
    in_words,
    known,
    plain,
    read,
)


@pytest.mark.parametrize(
    ("value", "unit", "to", "wanted"),
    [
        # Exact by definition: international yard and pound 1959, standard gravity, BIPM kelvin.
        ("25.4", "mm", "in", "1"),
        ("1", "in", "mm", "25.4"),
        ("1", "thou", "µm", "25.4"),
        ("20", "degC", "degF", "68"),
        ("-40", "degF", "degC", "-40"),
        ("9", "delta degF", "K", "5"),
        ("1", "lbf", "N", "4.4482216152605"),
        ("1", "ft lb", "N m", "1.3558179483314004"),
        ("1", "US gal", "ml", "3785.411784"),
        ("1", "imp gal", "ml", "4546.09"),
        ("0.5", "turn", "deg", "180"),
        ("1.5", "h", "min", "90"),
        ("1", "/degF", "/K", "1.8"),
    ],
)
def test_conversions_are_exact(value, unit, to, wanted):
    assert convert(Decimal(value), unit, to) == Decimal(wanted)


def test_one_psi_agrees_with_the_published_figure():
    # NIST SP 811 table B.8: 1 psi = 6.894 757 E+03 Pa (from memory).
    assert round(convert(Decimal(1), "psi", "Pa"), 3) == Decimal("6894.757")


@given(st.decimals(-9999, 9999, places=4), st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_there_and_back_is_the_same(value, unit, other):
    if unit.dimension != other.dimension:
        with pytest.raises(BenchrunError):
            convert(value, unit.name, other.name)
        return
    back = convert(convert(value, unit.name, other.name), other.name, unit.name)
    assert abs(back - value) <= abs(value) * Decimal("1e-30") + Decimal("1e-27")


@given(st.decimals("0.001", 1000, places=3), st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_pint_agrees_with_the_exact_table(value, unit, other):
    if unit.dimension == other.dimension:
        mine = convert(value, unit.name, other.name)
        pints = value_in(quantity(value, unit.name), other.name)
        assert abs(pints - mine) <= abs(mine) * Decimal("1e-22") + Decimal("1e-20")


def test_names_are_known_and_spellings_are_found():
    assert known("N m")
    assert known("")
    assert not known("furlong")
    assert dimension("degC") == "temperature"
    assert dimension("K") == "temperature difference"
    assert canonical("Nm") == "N m"
    assert canonical("um") == "µm"
    assert canonical("C") == "degC"
    assert canonical("furlong") is None
    with pytest.raises(BenchrunError, match="furlong"):
        dimension("furlong")


def test_numbers_are_written_without_exponent_or_noise():
    assert plain(Decimal("1E+3")) == "1000"
    assert plain(Decimal("1E-7")) == "0.0000001"
    assert plain(Decimal("25.40")) == "25.40"
    assert plain(Decimal("-0")) == "0"
    assert in_words(Decimal("61.968"), "mm") == "61.968 mm"
    assert in_words(Decimal(20), "degC") == "20 °C"
    assert in_words(convert(Decimal(1), "mm", "in"), "in") == "0.03937008 in"
    assert in_words(Decimal(7), "") == "7"
    assert read("1 3/8 in", "mm").words == "1.375 in"
    assert read("1 3/8 in", "mm").to("mm") == Decimal("34.925")
