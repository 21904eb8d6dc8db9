"""Supplies: what is left reconciles, what is spoiled or short is told, paint suffices or not."""

import csv
import datetime as dt
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shop.amounts import StockAmount
from benchrun.shop.movements import enter_in_book
from benchrun.shop.row_editor import add_row
from benchrun.shop.supplies import (
    SUPPLIES,
    Supply,
    SupplyLine,
    paint_needed,
    read_supplies,
    serving,
    short,
    spoiled,
)

DAY = dt.date(2026, 3, 10)
FILE = """\
supplies:
  - id: paint-1
    name: moisture-cured paint
    also: [grey paint]
    amount: 1 l
    lot: P 71
    opened: 2025-11-01
    keeps: 3 months
    best before: 2027-01-01
    solids: 60 %
    least: 300 ml
    book:
      - {on: 2025-11-02, used: 0.4 l, run: 2025-11-02-coat-abcd}
      - {on: 2025-11-03, counted: 550 ml, why: looked}
      - {on: 2025-11-04, used: 300 ml}
  - {id: paint-2, name: moisture-cured paint, amount: 1 l, solids: 60 %}
  - {id: paint, name: paint, amount: 5 l}
  - id: fluid
    name: degreasing fluid
    amount: 10 l
    most reuses: 2
    book:
      - {on: 2026-01-01, used: 8 l}
      - {on: 2026-01-01, back: 7.5 l, why: filtered}
  - id: etch
    name: steel etch
    amount: 5 l
    weakest: 10 %
    book:
      - {on: 2026-01-01, strength: 14 %}
      - {on: 2026-03-01, strength: 9.5 %}
  - {id: caps, name: masking caps, amount: 20, least: 4}
"""


@pytest.fixture
def tins(shop, write):
    write("supplies.yaml", FILE)
    sheet = read_supplies(shop)
    assert [fault.words for fault in sheet.faults] == []
    return sheet


def test_what_is_left_follows_from_the_book(tins):
    assert tins.named("paint-1").left.words == "250 ml"
    assert tins.named("fluid").left == StockAmount(Decimal("9.5"), "l")
    assert tins.named("caps").left == StockAmount(Decimal(20), "")


def test_the_shelf_life_once_opened_ends_before_the_date_on_the_tin(tins):
    paint = tins.named("paint-1")
    assert paint.good_until == dt.date(2026, 2, 1)
    assert spoiled(paint, dt.date(2026, 2, 1)) == ()
    assert spoiled(paint, DAY) == ("was good until 2026-02-01, 3 months after opening",)


def test_a_bath_is_spent_by_its_last_measured_strength(tins, shop):
    assert spoiled(tins.named("etch"), DAY) == (
        "had a strength of 9.5 % on 2026-03-01; below 10 % it is spent",
    )
    enter_in_book(shop, "etch", "strength", "10 %", DAY, why="topped up")
    assert spoiled(read_supplies(shop).named("etch"), DAY) == ()


def test_a_bath_of_more_than_all_is_refused(tins, shop):
    with pytest.raises(BenchrunError, match="500 % is more than all of it"):
        enter_in_book(shop, "etch", "strength", "500 %", DAY)
    enter_in_book(shop, "etch", "strength", "100 %", DAY)


def test_a_bath_whose_strength_was_never_measured_is_told(shop, write):
    write("supplies.yaml", "supplies:\n  - {id: a, name: a, amount: 1 l, weakest: 5 %}\n")
    assert spoiled(read_supplies(shop).named("a"), DAY) == (
        "has a least strength, which was never measured",
    )


def test_fluid_is_spent_when_it_was_poured_back_too_often(tins, shop):
    for _ in range(2):
        enter_in_book(shop, "fluid", "back", "100 ml", DAY)
    found = read_supplies(shop).named("fluid")
    assert found.reuses == 3
    assert spoiled(found, DAY) == ("was poured back 3 times; 2 are allowed",)


def test_short_and_used_up_and_overdrawn_are_told_apart(tins, shop):
    assert short(tins.named("paint-1")) == "has 250 ml left of 300 ml to be kept"
    assert short(tins.named("paint-1"), StockAmount(Decimal(250), "ml")) == ""
    assert short(tins.named("paint-1"), StockAmount(Decimal(251), "ml")) == (
        "has 250 ml left of 251 ml needed"
    )
    enter_in_book(shop, "caps", "used", "20", DAY)
    assert short(read_supplies(shop).named("caps")) == "is used up"
    enter_in_book(shop, "caps", "used", "2", DAY)
    assert short(read_supplies(shop).named("caps")) == "is 2 overdrawn"
    enter_in_book(shop, "caps", "counted", "0", DAY)
    assert short(read_supplies(shop).named("caps")) == "is used up"


@pytest.mark.parametrize(
    ("deed", "amount"),
    [("used", "3 kg"), ("used", "-1 l"), ("used", "0 l"), ("used", "some"), ("strength", "3 l"),
     ("counted", "-1 l"), ("back", "1 furlong")],
)  # fmt: skip
def test_an_amount_that_does_not_fit_is_refused_and_nothing_is_written(tins, shop, deed, amount):
    with pytest.raises(BenchrunError):
        enter_in_book(shop, "etch", deed, amount, DAY)
    assert tins.path.read_text() == FILE


def test_the_tin_of_the_fuller_name_serves(tins):
    assert [one.id for one in serving(tins, "moisture-cured paint")] == ["paint-1", "paint-2"]
    assert [one.id for one in serving(tins, "grey paint, 200 ml")] == ["paint-1"]
    assert [one.id for one in serving(tins, "paint")] == ["paint"]
    assert serving(tins, "painter's tape") == ()


def test_paint_needed_agrees_with_published_figures(tins, root):
    """The coverages of tests/shopmath/films.csv, whose rows carry their sources."""
    with Path(root, "tests/shopmath/films.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        one = replace(tins.named("paint-2"), solids=Decimal(row["solids"]))
        for loss, column in ((0, "coverage"), (30, "with_30_loss")):
            needed = paint_needed(one, Decimal(2), Decimal(row["dft_um"]), loss=Decimal(loss))
            assert abs(2000 / needed.to("ml") - Decimal(row[column])) < Decimal("0.001")


def test_paint_without_solids_cannot_be_worked_out(tins):
    with pytest.raises(BenchrunError, match="etch has no solids"):
        paint_needed(tins.named("etch"), Decimal(1), Decimal(75))


@given(st.lists(st.tuples(st.sampled_from(["used", "back"]), st.integers(1, 10**6)), max_size=30))
def test_whatever_is_entered_what_is_left_reconciles(lines):
    book = tuple(SupplyLine(DAY, deed, StockAmount(Decimal(size), "ml")) for deed, size in lines)
    tin = Supply(
        "a", "a", (), StockAmount(Decimal(1), "l"), "", None, None, None, None, None, None, None,
        book,
        "", "",
    )  # fmt: skip
    used = sum(size for deed, size in lines if deed == "used")
    back = sum(size for deed, size in lines if deed == "back")
    assert tin.left.to("ml") == 1000 - used + back


def test_what_is_entered_by_the_program_reads_back_as_what_is_left(shop):
    add_row(shop.path, SUPPLIES, {"id": "fluid", "name": "fluid", "amount": "10 l"})
    total = Decimal(10_000)
    for number in range(1, 8):
        enter_in_book(shop, "fluid", "used", f"{number}00,5 ml", DAY, run="r", why="two: parts")
        total -= Decimal(f"{number}00.5")
        assert read_supplies(shop).named("fluid").left.to("ml") == total


def test_a_row_that_stays_as_it_is_is_asked_once(shop, write):
    write("supplies.yaml", FILE)
    asked = []

    def tell(tin):
        asked.append(tin.id)
        return tin.left.words

    before = read_supplies(shop)
    first = before.each("left", tell)
    assert list(first) == [tin.left.words for tin in before.rows]
    assert asked == [tin.id for tin in before.rows]
    assert before.each("left", tell) is first
    name = "etch"
    enter_in_book(shop, name, "counted", "4 l", dt.date(2026, 3, 9))
    after = read_supplies(shop)
    told = after.each("left", tell)
    assert asked == [*(tin.id for tin in before.rows), name]
    assert list(told) == [tin.left.words for tin in after.rows] != list(first)
    assert after.named(name).left.words == "4 l"
