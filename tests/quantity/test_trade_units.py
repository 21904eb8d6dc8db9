import csv
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.quantity import Measure, canonical, convert, read
from benchrun.quantity.units import unit_named

FACTORS = Path(__file__).with_name("unit_factors.csv")
# The table's own words for a unit, and how it is typed at the bench.
TYPED = {
    "imperial gallon": "imp gal", "imperial quart": "imp qt", "imperial pint": "imp pt",
    "imperial gill": "imp gill", "US gallon": "US gal", "US quart": "US qt", "US pint": "US pt",
    "US fluid ounce": "US fl oz", "pound-force": "lbf", "ton-force (long, 2240 lbf)": "imp tonf",
    "ton-force (short, 2000 lbf)": "US tonf", "tsi (long tonf/in2)": "tsi", "kgf/cm2": "kgf/cm2",
    "kgf/mm2": "kgf/mm2", "standard atmosphere": "atm", "ft lbf": "ft lb", "in ozf": "in oz",
    "kgf cm": "kgf cm", "kgf m": "kgf m", "kgf/mm (spring rate)": "kgf/mm", "microinch": "µin",
    "mile per hour": "mph", "hundredweight (long)": "imp cwt", "ton (long)": "imp ton",
    "stone": "stone", "horsepower (550 ft lbf/s)": "hp",
    "metric horsepower (75 kgf m/s)": "PS", "Btu (IT)": "Btu", "L": "l", "mL": "ml", "um": "µm",
    "in lbf": "in lb",
}  # fmt: skip


def test_every_trade_unit_has_its_exact_factor():
    rows = list(csv.DictReader(FACTORS.open(encoding="utf-8")))
    assert len(rows) == 30
    for row in rows:
        source, target = (canonical(TYPED.get(row[side], row[side])) for side in ("from", "to"))
        source, target = unit_named(source), unit_named(target)
        assert source.dimension == target.dimension, row
        assert source.factor / target.factor == Fraction(row["fraction"]), row
        shown = convert(Decimal(1), source.name, target.name)
        assert abs(shown - Decimal(row["decimal"])) <= Decimal(row["decimal"]) * Decimal("1e-27")


def test_a_distance_on_the_road_converts_exactly():
    assert convert(Decimal(50), "mile", "km") == Decimal("80.4672")  # the mile of 1959, 1609.344 m


@pytest.mark.parametrize(
    ("text", "prompt", "value", "unit"),
    [
        ("½ in", "mm", "0.5", "in"),
        ('1½"', "mm", "1.5", "in"),
        ('1 1/2"', "mm", "1.5", "in"),
        ("1 ⅜ in", "mm", "1.375", "in"),
        ("⅞", "in", "0.875", "in"),
        ("2 tenths", "mm", "2", "tenth"),
        ("1°30'", "deg", "1.5", "deg"),
        ("−0° 45′", "deg", "-0.75", "deg"),
        ("2 deg 15 min 36 s", "deg", "2.26", "deg"),
        ("15'", "deg", "15", "arcmin"),
        ("35 tsi", "MPa", "35", "tsi"),
        ("10 tons/in2", "MPa", "10", "tsi"),
        ("7 kgf/cm2", "bar", "7", "kgf/cm²"),
        ("2 imperial pints", "ml", "2", "imp pt"),
        ("1 US quart", "ml", "1", "US qt"),
        ("3 long tons", "kg", "3", "imp ton"),
        ("2 imp cwt", "N", "2", "imp cwtf"),
        ("1 US ton", "kN", "1", "US tonf"),
        ("50 miles", "km", "50", "mile"),
        ("120 kilometres", "mile", "120", "km"),
        ("12 kg cm", "N m", "12", "kgf cm"),
        ("20 oz in", "N m", "20", "in oz"),
        ("38 HRC", "HRC", "38", "HRC"),
        ("30 mph", "km/h", "30", "mph"),
        ("0.13 Btu/lb/F", "J/kg/K", "0.13", "Btu/lb/degF"),
    ],
)
def test_what_a_mechanic_types_is_read(text, prompt, value, unit):
    assert read(text, prompt) == Measure(text, Decimal(value), unit)


def test_two_tenths_are_ten_thousandths_of_an_inch():
    assert read("2 tenths", "mm").to("in") == Decimal("0.0002")
    assert read("2 tenths", "mm").words == "2 tenths of a thou"


@pytest.mark.parametrize(
    ("text", "prompt", "because"),
    [
        ("1 pint", "ml", "US pt or imp pt"),
        ("2 quarts", "l", "US qt or imp qt"),
        ("2 cwt", "kg", "US cwt or imp cwt"),
        ("1 ton", "kg", "US ton or imp ton"),
        ("1 ton", "N", "US ton or imp ton"),
        ("3 cwt", "N", "US cwt or imp cwt"),
        ("3 gallons", "l", "US gal or imp gal"),
        ("1°75'", "deg", "sixty minutes"),
        ("38 HRC", "HV", "not a unit of HV hardness"),
        ("½½ in", "mm", "not a unit of length"),
        ("1/2/3 in", "mm", "not a unit of length"),
    ],
)
def test_what_is_two_sizes_or_another_scale_is_asked_about(text, prompt, because):
    with pytest.raises(BenchrunError, match=because):
        read(text, prompt)


@pytest.mark.parametrize(
    ("text", "prompt", "value"),
    [
        ("2500 mA", "A", "2.5"),
        ("90 A min", "Ah", "1.5"),
        ("3 A/dm2", "A/m²", "300"),
        ("1 mA/cm²", "A/dm²", "0.1"),
        ("50 dm2", "m²", "0.5"),
        ("500 mm3", "ml", "0.5"),
        ("0.6 m3/h", "l/min", "10"),
        ("300 K/h", "K/min", "5"),
        ("9 F/min", "K/min", "5"),
        ("1000 mm/s", "m/s", "1"),
        ("25.4 mm/min", "in/min", "1"),
        ("1 kN/mm", "N/mm", "1000"),
        ("1500 µS/cm", "mS/cm", "1.5"),
        ("120 g/l", "kg/m³", "120"),
        ("100 mbar/min", "bar/min", "0.1"),
    ],
)
def test_units_of_bath_furnace_and_gauge_convert_exactly(text, prompt, value):
    assert read(text, prompt).to(prompt) == Decimal(value)


@pytest.mark.parametrize("scale", ["HRA", "HRB", "HRC", "HB", "HV"])
def test_a_hardness_scale_converts_to_no_other(scale):
    for other in {"HRA", "HRB", "HRC", "HB", "HV", "MPa"} - {scale}:
        with pytest.raises(BenchrunError):
            convert(Decimal(40), scale, other)
    with pytest.raises(BenchrunError):
        read("40 HV" if scale != "HV" else "40 HRC", scale)
