from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.baths import bath_dwell, interpolated
from benchrun.shopmath.catalogue import CALCS

DWELL, BAKE = CALCS["bath_dwell"], CALCS["relief_bake"]
TABLE = "15 C: 20-40 min; 20 C: 15-30 min; 25 C: 10-20 min"  # invented


def test_between_rows_it_is_a_straight_line_and_at_rows_their_figures():
    assert DWELL(table=TABLE, temperature="20")["least"].exact == "15"
    result = DWELL(table=TABLE, temperature="22 C")
    assert (result["least"].exact, result["most"].exact) == ("13", "26")
    assert DWELL(table=TABLE, temperature="59 F")["most"].exact == "40"


@given(st.decimals(15, 25, places=2))
def test_the_order_of_rows_and_the_way_they_are_given_do_not_matter(temperature):
    rows = ((20, 15, 30), (15, 20, 40), (25, 10, 20))
    plain = tuple(tuple(map(Decimal, row)) for row in rows)
    typed = DWELL.work({"table": TABLE, "temperature": temperature})
    assert bath_dwell(plain, temperature).outputs == typed.outputs
    nested = [[Decimal(value) for value in row] for row in rows]
    assert DWELL.work({"table": nested, "temperature": temperature}).outputs == typed.outputs
    assert Decimal(10) <= typed["least"].number <= typed["most"].number <= Decimal(40)


@pytest.mark.parametrize("temperature", ["14.9", "25.1", "-3"])
def test_outside_the_table_nothing_is_guessed(temperature):
    with pytest.raises(BenchrunError, match="outside the table, 15 °C to 25 °C"):
        DWELL(table=TABLE, temperature=temperature)


@pytest.mark.parametrize(
    ("table", "because"),
    [
        ("", "needs rows"),
        ("20 C: 15", "not a row"),
        ("20 C: 30-15", "least 30 min and most 15 min"),
        ("20: 1-2; 20: 2-3", "own temperature"),
        ("20 kg: 1-2", "not a unit of temperature"),
    ],
)
def test_tables_that_are_none_are_refused(table, because):
    with pytest.raises(BenchrunError, match=because):
        DWELL(table=table, temperature="20")


def test_hours_in_a_table_are_hours():
    assert DWELL(table="20 C: 1-2 h", temperature="20")["most"].to("h") == 2
    assert interpolated([(Decimal(20), Decimal(1), Decimal(2))], Decimal(20)) == (1, 2)


@pytest.mark.parametrize(
    ("tensile", "hours"),
    [
        # ASTM B850-98(2009), as a plater's chart copies it.
        ("1001", "8"), ("1100", "8"), ("1101", "10"), ("1250", "12"), ("1400", "14"),
        ("1500", "16"), ("1600", "18"), ("1700", "20"), ("1800", "22"),
    ],
)  # fmt: skip
def test_hours_of_bake_by_strength(tensile, hours):
    result = BAKE(tensile=tensile)
    assert result["hours"].exact == hours
    assert (result["temperature"].exact, result["temperature_max"].exact) == ("190", "220")


def test_late_is_said_to_be_outside_the_specification():
    on_time = BAKE(tensile="1250", hours="4 h")
    assert on_time["late"].value == "no"
    assert not any("late" in note for note in on_time.notes[:1])
    late = BAKE(tensile="1250", hours="241 min")
    assert late["late"].value == "yes"
    assert "outside the specification" in late.notes[0]
    assert "no bake heals" in late.notes[0]
    assert late["start_within"].number < 0


def test_no_bake_is_asked_for_below_the_table_but_the_guarantee_is_never_given():
    assert BAKE(tensile="1000")["hours"].exact == "0"
    assert any("does not guarantee" in note for note in BAKE(tensile="1250").notes)
    skin = BAKE(tensile="900", surface="hardened")
    assert (skin["temperature"].exact, skin["hours"].exact) == ("130", "8")


@given(st.integers(1001, 1799))
def test_stronger_steel_is_never_baked_for_less(tensile):
    here, stronger = (BAKE.work({"tensile": Decimal(tensile + up)}) for up in (0, 1))
    assert stronger["hours"].number >= here["hours"].number


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"tensile": "1801"}, "tensile"),
        ({"tensile": "50"}, "tensile"),
        ({"tensile": "1250", "hours": "-1"}, "hours"),
    ],
)
def test_bakes_outside_the_table_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        BAKE.work(inputs)
