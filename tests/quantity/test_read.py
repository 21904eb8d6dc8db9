from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.quantity import UNITS, Measure, read

TYPED = [
    ("25.43", "mm", "25.43", "mm"),
    ("25,43", "mm", "25.43", "mm"),
    ("1.0012in", "mm", "1.0012", "in"),
    ("2 thou", "mm", "2", "thou"),
    ("1 3/8 in", "mm", "1.375", "in"),
    ("1-3/8 in", "mm", "1.375", "in"),
    ("3/8in", "mm", "0.375", "in"),
    ('3/8"', "mm", "0.375", "in"),
    ("45 ft lb", "N m", "45", "ft lb"),
    ("45 ft-lb", "N m", "45", "ft lb"),
    ("45 lbf ft", "N m", "45", "ft lb"),
    ("3 Nm", "N m", "3", "N m"),
    ("20 C", "degC", "20", "degC"),
    ("20 °C", "degC", "20", "degC"),
    ("68 F", "degC", "68", "degF"),
    ("3 C", "K", "3", "delta degC"),
    ("+0.02", "mm", "0.02", "mm"),
    ("-3", "degC", "-3", "degC"),
    ("\N{MINUS SIGN}3", "degC", "-3", "degC"),
    ("-0", "mm", "0", "mm"),
    ("0,125", "mm", "0.125", "mm"),
    ("1234,567", "mm", "1234.567", "mm"),
    ("1.234", "mm", "1.234", "mm"),
    (" 5 mm ", "mm", "5", "mm"),
    (",5", "mm", "0.5", "mm"),
    ("12 \N{MICRO SIGN}m", "mm", "12", "µm"),
    ("12 \N{GREEK SMALL LETTER MU}m", "mm", "12", "µm"),
    ("12 um", "mm", "12", "µm"),
    ("12e-6/K", "µm/m/K", "0.000012", "/K"),
    ("12 1/K", "µm/m/K", "12", "/K"),
    ("30°", "deg", "30", "deg"),
    ("65", "%", "65", "%"),
    ("7", "", "7", ""),
]


@pytest.mark.parametrize(("text", "prompt", "value", "unit"), TYPED)
def test_what_people_type_is_read(text, prompt, value, unit):
    assert read(text, prompt) == Measure(text.strip(), Decimal(value), unit)


REFUSED = [
    ("1,234", "mm", "1234 or 1.234"),
    ("+12,345 mm", "mm", "12345 or 12.345"),
    ("1,234.5", "mm", "not a reading"),
    ("", "mm", "25.43"),
    ("mm", "mm", "not a reading"),
    ("25 C", "mm", "not a unit of length"),
    ("20 K", "degC", "degC, degF"),
    ("2 gal", "l", "US gal or imp gal"),
    ("5 -mm", "mm", "not a reading"),
    ("1 5/4", "mm", "not a fraction"),
    ("3/0", "mm", "not a fraction"),
    ("\N{ARABIC-INDIC DIGIT THREE}", "mm", "not a reading"),
    ("\N{FULLWIDTH DIGIT THREE}", "mm", "not a reading"),
    ("10**10**10", "mm", "not a unit"),
    ("5 ± 1 mm", "mm", "not a unit"),
    ("5 mm + 1 mm", "mm", "not a unit"),
    ("inf", "mm", "not a reading"),
    ("nan", "mm", "not a reading"),
    ("1e99", "mm", "beyond"),
    ("1e999999", "mm", "not a unit"),
    ("5 mPa", "MPa", "not a unit"),
    ("9" * 33, "mm", "33 characters"),
    ("3 mm", "", "number alone"),
]


@pytest.mark.parametrize(("text", "prompt", "because"), REFUSED)
def test_what_is_no_reading_is_refused_with_what_would_do(text, prompt, because):
    with pytest.raises(BenchrunError) as refused:
        read(text, prompt)
    assert because in refused.value.message
    assert "\n" not in refused.value.message


def test_the_ambiguous_comma_is_not_refused_where_only_one_meaning_is_left():
    assert read("1,23", "mm").value == Decimal("1.23")
    assert read("1,2345", "mm").value == Decimal("1.2345")
    assert read("0,234", "mm").value == Decimal("0.234")


@given(st.text(max_size=40), st.sampled_from([unit.name for unit in UNITS]))
def test_any_text_is_a_finite_decimal_or_a_refusal_in_one_line(text, unit):
    message, value = "", None
    try:
        value = read(text, unit).value
    except BenchrunError as refused:
        message = refused.message
    assert message.isprintable()
    assert bool(message) != (value is not None and value.is_finite())


@given(st.decimals(-10000, 10000, places=4), st.sampled_from(UNITS))
def test_a_number_in_any_spelling_of_any_unit_comes_back(value, unit):
    for spelling in (unit.name, *unit.spellings):
        measure = read(f"{value:f} {spelling}", unit.name)
        assert (measure.value, measure.unit) == (value, unit.name)


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("1 h 30", "90"),
        ("1h30", "90"),
        ("1 h 30 min", "90"),
        ("2 d 4 h", "3120"),
        ("5 min 30 s", "5.5"),
    ],
)
def test_a_time_is_typed_as_people_do(typed, minutes):
    assert read(typed, "h").to("min") == Decimal(minutes)


@pytest.mark.parametrize("typed", ["1 h 75", "1 h 30 s", "1 min 90 s"])
def test_a_time_whose_parts_do_not_fit_is_refused_with_the_way(typed):
    with pytest.raises(BenchrunError, match="1 h 30 min or 90 min"):
        read(typed, "min")
