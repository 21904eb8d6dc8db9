"""Sums in words: the numbers put in, and what they come to."""

from decimal import Decimal

import pytest

from benchrun.procedure.formula import parse_formula
from benchrun.procedure.route import WorkOut
from benchrun.run.state import Value
from benchrun.run.sums import sum_words


def value(name, number, unit="mm", place="", n=1):
    return Value(n, "a", name, name, place, Decimal(number), unit, "", number, (n,))


def told(formula, *values, unit="mm"):
    return sum_words(WorkOut("result", unit, parse_formula(formula)), values)


def test_a_difference_reads_like_the_bench():
    words = told("seat_mean - ring", value("seat_mean", "61.967"), value("ring", "62.000"))
    assert words == "seat mean 61.967 mm − ring 62.000 mm = -0.033 mm"


def test_a_grid_is_put_in_place_by_place():
    grid = [value("bore", x, place=str(i), n=i) for i, x in enumerate(("61.966", "61.968"))]
    assert told("mean(bore)", *grid) == "mean(bore 61.966, 61.968 mm) = 61.967 mm"


def test_a_missing_value_leaves_no_sum():
    assert told("seat_mean - ring", value("ring", "62")) is None


@pytest.mark.parametrize("formula", ["ring / (ring - ring)", "ring - 3 mm * ring"])
def test_a_sum_that_cannot_be_done_leaves_none(formula):
    assert told(formula, value("ring", "62")) is None
