"""What is drawn of a reading while it is typed is what would be recorded of it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scripted_face import ScriptedRun

from benchrun import quantity
from benchrun.dialogue.acts import act
from benchrun.dialogue.typed_value import TypedValue
from benchrun.procedure.load import load
from benchrun.procedure.steps import Reading

LENGTH = Reading("length", "mm")


def typed(text, unit="mm", **more):
    return TypedValue(Reading("length", unit), text, **more)


@pytest.mark.parametrize(
    ("text", "unit", "resolution", "words"),
    [
        ("1 3/8 in", "mm", None, "34.925 mm"),
        ("1 3/8 in", "mm", "0.01", "34.925 mm"),
        ("1.0012in", "mm", "0.01", "25.43 mm"),
        ("1.0012in", "mm", "0.1", "25.43 mm"),
        ("2 in", "mm", "0.01", "50.80 mm"),
        ("2 thou", "µm", "1", "50.8 µm"),
        ("2 in", "mm", "0.0254", "50.80 mm"),
        ("68 F", "degC", "0.5", "20.0 °C"),
        ("71 F", "degC", None, "21.66667 °C"),
        ("71 F", "degC", "0.25", "21.667 °C"),
        ("25.40", "mm", "0.001", "25.40 mm"),
        ("25,43", "mm", "0.1", "25.43 mm"),
        ("1e2", "mm", None, "100 mm"),
        ("3", "", None, "3"),
        ("1 3/", "mm", None, ""),
        ("25 kg", "mm", None, ""),
        ("-", "mm", None, ""),
        ("", "mm", None, ""),
    ],
)
def test_the_words_are_in_the_unit_of_the_step(text, unit, resolution, words):
    step = Decimal(resolution) if resolution else None
    assert typed(text, unit, resolution=step).words == words


@given(st.fractions(0, 1000, max_denominator=64), st.sampled_from(["in", "thou", "ft", "mm", "µm"]))
def test_nobody_reads_more_than_ten_digits(size, unit):
    whole, rest = divmod(size, 1)
    text = f"{whole} {rest.numerator}/{rest.denominator} {unit}" if rest else f"{whole} {unit}"
    value = typed(text)
    assert len(value.figures.replace(".", "")) <= 12
    recorded = quantity.read(text, "mm").to("mm")
    assert value.value == recorded
    assert abs(Decimal(value.figures) - recorded) <= abs(recorded) * Decimal("1e-6")


@pytest.mark.parametrize("unit", ["mm", "µm", "", "K", "g", "bar", "%"])
def test_what_cannot_be_below_zero_is_not_read_with_a_minus(unit):
    assert typed("-3", unit).value is None


@pytest.mark.parametrize("unit", ["degC", "degF", "delta degC", "deg"])
def test_what_has_its_zero_in_the_middle_may_be_below_it(unit):
    assert typed("-3", unit).value == -3


def test_a_limit_below_zero_says_that_a_value_may_be():
    assert typed("-0.01", low=Decimal("-0.05"), high=Decimal("0.05")).value == Decimal("-0.01")


JOB = """\
procedure: dial-job
title: A dial
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 12}
stages:
  - stage: All
    steps:
      - reading: Measure the wall.
        id: wall
        unit: mm
        low: 1 mm
        outside: set aside
        source: memory, an invented part
      - reading: Read how far it is off its size.
        id: off
        unit: mm
        below zero: yes
"""


@pytest.fixture
def dial(tmp_path):
    path = tmp_path / "dial.yaml"
    path.write_text(JOB)
    return ScriptedRun(tmp_path, path, ["a"])


def test_a_minus_is_refused_before_anything_is_sent(dial):
    face = dial.drive(act(dial.work), "-2", "-")
    assert face.said == ["This length cannot be below zero: type it without a minus."]
    assert dial.kinds() == ["open"]


def test_a_step_may_say_that_a_value_can_be_below_zero(dial):
    dial.drive(act(dial.work), "2")
    dial.drive(act(dial.work), "-0.02")
    assert dial.last("do").each["a"].value.number == "-0.02"


def test_the_key_is_kept_by_the_compiled_step(tmp_path):
    path = tmp_path / "dial.yaml"
    path.write_text(JOB)
    steps = load(path).route.steps
    assert [steps[one].detail.below_zero for one in ("wall", "off")] == [False, True]
