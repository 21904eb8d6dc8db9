"""A bath's strength read in a run is in the log, and the shop's book of supplies follows it."""

import datetime as dt

import pytest

from benchrun.errors import BenchrunError
from benchrun.procedure.load import load_bytes
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, take_up
from benchrun.shop.books import read_books
from benchrun.shop.folder import open_shop
from benchrun.shop.supplies import read_supplies, spoiled
from benchrun.shop_use.readiness import shortages
from benchrun.verify import verify

PROCEDURE = """\
procedure: pickle
title: Pickle
revision: 1
scope: Invented for the tests of strengths.
changes: {1: First.}
sources: {s: "common practice, no source"}
needs: {supplies: [lye, wash fluid]}
batch: {part: lever}
vessels: {tub: {title: acid tub, holds: 4}}
stages:
  - stage: All
    steps:
      - reading: Read how much lye the sample takes.
        id: lye
        unit: ml
        together: yes
      - work out: Work out the strength of the bath.
        id: bath
        unit: "%"
        together: yes
        formula: most(lye) / 1 ml * 2 %
        strength of: tub
      - reading: Read the wash fluid.
        id: wash
        unit: "%"
        together: yes
        strength of: wash fluid
      - do: Dip the lever.
        id: dip
"""
SUPPLIES = """\
# what stands in the tubs
supplies:
  - id: acid-bath
    name: acid
    amount: 10 l
    weakest: 10 %   # by its sheet
    book:
      - {on: 2026-03-01, strength: 15 %}   # new
  - {id: wash-new, name: wash fluid, amount: 5 l}
  - {id: wash-1, name: wash fluid, amount: 5 l, weakest: 3 %}
"""
VESSELS = "vessels:\n  - {id: tub, name: acid tub, holds: 4, filled with: acid-bath}\n"


@pytest.fixture
def shed(shop, write):
    write("supplies.yaml", SUPPLIES)
    write("vessels.yaml", VESSELS)
    return shop


@pytest.fixture
def session(shed, person, clock):
    procedure = load_bytes(PROCEDURE.encode(), "pickle.yaml")
    found = begin(shed, procedure, [PartSpec("lever L"), PartSpec("lever R")], person, clock)
    yield found
    found.leave()


def send(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply
    session.tick().result()  # behind the books, which follow on the same thread
    return reply.entries[-1]


def do(session, step, typed=""):
    return send(session, c.Do(step, ("lever L", "lever R"), session.run.n - 1, typed=typed))


def strength(shed, name):
    line = read_supplies(shed).named(name).strength
    return line and (line.amount.words, line.run)


def test_a_strength_that_is_worked_out_is_in_the_book_with_its_day_and_run(shed, session):
    do(session, "lye", "4.5 ml")
    entry = do(session, "bath")
    run = session.folder.run
    assert strength(shed, "acid-bath") == ("9.0 %", run)
    text = (shed.path / "supplies.yaml").read_text()
    assert f"{{on: 2026-03-10, strength: 9.0 %, run: {run}, entry: {entry.n}}}" in text.replace(
        '"', ""
    )
    for comment in ("# what stands in the tubs", "# by its sheet", "# new"):
        assert comment in text
    assert spoiled(read_supplies(shed).named("acid-bath"), dt.date(2026, 3, 10)) == (
        "had a strength of 9.0 % on 2026-03-10; below 10 % it is spent",
    )
    session.leave()
    assert verify(session.folder.path, shop=shed.path).whole


def test_of_several_tins_the_bath_with_a_least_strength_is_meant(shed, session):
    do(session, "lye", "6 ml")
    do(session, "bath")
    do(session, "wash", "4")
    assert strength(shed, "wash-1") == ("4 %", session.folder.run)
    assert strength(shed, "wash-new") is None


def test_a_corrected_reading_corrects_the_book_and_one_taken_back_is_struck(shed, session):
    reading = do(session, "lye", "4.5 ml")
    entry = do(session, "bath")
    send(session, c.Correct(reading.n, "lever L", "misread", "6.5 ml"))
    assert strength(shed, "acid-bath") == ("13.0 %", session.folder.run)
    send(session, c.Retract(session.run.n - 1, session.run.n - 1, "it was right"))
    assert strength(shed, "acid-bath") == ("9.0 %", session.folder.run)
    send(session, c.Retract(entry.n, session.run.n - 1, "the wrong bath"))
    assert strength(shed, "acid-bath") == ("15 %", "")
    deeds = [line.deed for line in read_supplies(shed).named("acid-bath").book]
    assert deeds == ["strength", "strength", "strength", "strength", "struck"]


def test_the_strength_that_counts_is_that_of_the_latest_day(shed, session, write):
    do(session, "lye", "6 ml")
    do(session, "bath")
    text = (shed.path / "supplies.yaml").read_text().replace("15 %}", "15 %}", 1)
    write("supplies.yaml", text.replace("on: 2026-03-01", "on: 2026-03-12"))
    assert strength(shed, "acid-bath") == ("15 %", "")


def test_a_book_that_cannot_be_written_is_told_and_follows_when_the_run_is_taken_up(
    shed, session, person, clock, write
):
    write("supplies.yaml", "supplies: {\n")
    do(session, "lye", "6 ml")
    entry = do(session, "bath")
    assert "Recorded in the log, not yet in the books: " in session.books.trouble
    assert "supplies.yaml:2:1: a bracket is never closed" in session.books.trouble
    do(session, "wash", "4")
    assert "supplies.yaml:2:1" in session.books.trouble
    assert entry.data.each["lever L"].value.number == "12"
    session.leave()
    write("supplies.yaml", SUPPLIES)
    for _ in range(3):
        take_up(shed, session.folder, person, clock).leave()
    assert strength(shed, "acid-bath") == ("12 %", session.folder.run)
    assert strength(shed, "wash-1") == ("4 %", session.folder.run)
    assert len(read_supplies(shed).named("acid-bath").book) == 2


def test_a_strength_of_another_kind_than_the_book_keeps_is_told(shed, session, write):
    write(
        "supplies.yaml",
        SUPPLIES.replace("weakest: 10 %   #", "weakest: 2 pH #").replace(
            "strength: 15 %", "strength: 2.5 pH"
        ),
    )
    do(session, "lye", "6 ml")
    do(session, "bath")
    assert "strength: 12 % is not like 2 pH" in session.books.trouble
    assert strength(shed, "acid-bath") == ("2.5 pH", "")


def test_a_shop_that_keeps_no_such_bath_enters_nothing_and_says_nothing(shed, session, write):
    write("vessels.yaml", "vessels: []\n")
    do(session, "lye", "6 ml")
    do(session, "bath")
    assert session.books.trouble == ""
    assert (shed.path / "supplies.yaml").read_text() == SUPPLIES


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("filled with: acid-bath", "also: [x]", "does not say what it is filled with"),
        ("filled with: acid-bath", "filled with: lost", "no supply 'lost'"),
        ("weakest: 10 %", "weakest: 2 pH", "in %; the weakest of acid-bath is 2 pH"),
    ],
)
def test_a_strength_that_no_book_would_take_is_told_before_the_start(shed, write, old, new, said):
    write("vessels.yaml", VESSELS.replace(old, new))
    write(
        "supplies.yaml",
        SUPPLIES.replace(old, new).replace("15 %", "2.5 pH" if "pH" in new else "15 %"),
    )
    procedure = load_bytes(PROCEDURE.encode(), "pickle.yaml")
    found = shortages(read_books(open_shop(shed.path)), procedure, dt.date(2026, 3, 10))
    assert any("the strength of the acid tub" in one and said in one for one in found), found


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("strength of: tub", "strength of: pond", "'pond' is neither a vessel"),
        ("        together: yes\n        formula", "        formula", "one strength for all parts"),
        ("unit: \"%\"\n        together: yes\n        strength of: wash fluid",
         "unit: \"%\"\n        places: [a, b]\n        strength of: wash fluid", "one value"),
    ],
)  # fmt: skip
def test_a_strength_of_nothing_known_or_of_several_values_is_refused(old, new, said):
    text = PROCEDURE.replace(old, new)
    assert text != PROCEDURE
    with pytest.raises(BenchrunError) as refused:
        load_bytes(text.encode(), "pickle.yaml")
    assert said in str(refused.value)
