from decimal import Decimal

import pytest

from benchrun.errors import BenchrunError
from benchrun.quantity import convert
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.command import calc_text


def test_an_answer_comes_in_the_units_that_are_asked_for():
    bolt = CALCS["bolt"]
    plain = bolt.work(bolt.example)
    asked = bolt.work({**bolt.example, "in": "ft lb, lbf"})
    assert asked["torque"].unit == "ft lb"
    assert asked["preload"].unit == asked["proof_load"].unit == "lbf"
    assert asked["stress"].unit == "MPa"
    for name in ("torque", "preload"):
        unit = asked[name].unit
        assert asked[name].number == convert(plain[name].number, plain[name].unit, unit)


def test_a_unit_that_is_none_of_the_answers_is_refused_with_those_that_are():
    with pytest.raises(BenchrunError, match="'psi' is no unit of these answers: length in µm"):
        calc_text("limits", ["size=50", "class=H7", "in=psi"])


def test_a_rise_asked_for_in_fahrenheit_is_a_difference_and_a_temperature_a_temperature():
    heat = CALCS["heat_to_fit"]
    result = heat.work({**heat.example, "in": "F"})
    assert (result["rise"].number, result["rise"].unit) == (Decimal(135), "delta degF")
    assert (result["heat_to"].number, result["heat_to"].unit) == (Decimal(203), "degF")


def test_people_read_answers_in_the_units_they_typed():
    said = calc_text("limits", ["size=2 in", "class=H7"])
    assert "1.18 thou" in said
    assert "2.00118 in" in said
    inches = calc_text("bolt", ["thread=1/2-13", "grade=2", "torque=40 ft lb"])
    assert "40 ft lb" in inches
    assert "lbf" in inches
    assert "kN  " not in inches
    metric = calc_text("bolt", ["thread=M10", "class=8.8", "torque=50"])
    assert "kN" in metric
    assert "lbf" not in metric


def test_a_metric_size_keeps_its_deviations_in_microns():
    assert "30 µm" in calc_text("limits", ["size=62 mm", "class=H7"])


def test_data_stays_in_the_units_of_the_sum():
    assert '"unit": "mm"' in calc_text("limits", ["size=2 in", "class=H7"], as_json=True)
    assert '"unit": "in"' in calc_text("limits", ["size=2 in", "class=H7", "in=in"], as_json=True)


def test_what_is_there_for_its_unit_stays_in_it():
    brake = CALCS["brake"]
    asked = brake.work({**brake.example, "in": "kPa"})
    units = [asked[name].unit for name in ("pressure", "pressure_bar", "pressure_psi")]
    assert units == ["kPa", "bar", "psi"]
    said = calc_text("rolling_torque", ["force=7 lb", "radius=9 in", "low=4 ft lb"])
    assert "5.25 ft lb" in said
    assert "63 in lb" in said
    assert "kgf·cm" in said


def test_turns_are_typed_and_degrees_are_read():
    assert "60°" in calc_text("nut_turn", ["tpi=12", "turn=1/6 turn", "slots=6"])


def test_inches_thou_and_hundredweights_together_are_one_system():
    plated = calc_text("plating_growth", ["least=2 tenths", "thread=5/16 BSF", "size=0.3115 in"])
    assert "0.3119 in" in plated
    assert "thou  " in plated
    leaf = calc_text(
        "leaf_spring",
        ["front=24 in", "leaves=7", "width=2 in", "thickness=¼ in", "load=8 imp cwt"],
    )
    assert "lbf/in" in leaf
    assert "psi" in leaf
    both = calc_text("limits", ["size=2 in", "class=H7"])
    assert "µm" not in both.split("sum")[0]


def test_a_room_in_fahrenheit_is_answered_in_fahrenheit():
    said = calc_text(
        "cool_to_fit", ["diameter=30", "interference=20 µm", "alpha=11.7", "room=68 F"]
    )
    assert "°F" in said
    assert " K " not in said.split("sum")[0]
