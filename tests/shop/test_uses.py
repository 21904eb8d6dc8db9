"""What a step uses is in the log with its lot, and the stock book follows it, once and for all."""

import re
from decimal import Decimal

import pytest

from benchrun.account.gather import gather
from benchrun.account.record_text import show
from benchrun.procedure.load import load_bytes
from benchrun.quantity import convert
from benchrun.record.folder import run_folders
from benchrun.record.trouble import Unsound
from benchrun.report.command import run_report
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.run.entries import PartSpec, Use
from benchrun.session import Kept, begin, take_up
from benchrun.shop.folder import open_shop, shipped
from benchrun.shop.parts import read_parts
from benchrun.shop.supplies import read_supplies
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: coat
title: Coat
revision: 1
scope: Invented for the tests of supplies.
changes: {1: First.}
sources: {s: "common practice, no source"}
needs: {supplies: [primer, rags, "degreaser, used"]}
batch: {part: lever}
stages:
  - stage: All
    steps:
      - reading: Note the area of one lever.
        id: area
        unit: m2
        low: 0.01 m2
        outside: set aside
      - do: Pour primer for one coat.
        id: pour
        uses: {supply: primer, amount: "film(dft=60 um, solids=60 %, area=area).paint", allow: 5 ml}
      - dwell: Leave it on the rail under rags.
        id: rest
        least: 1 min
        early: go on
        uses: {supply: rags, amount: 3 / parts}
        source: s
      - do: Pour the degreaser back.
        id: back
        together: yes
        uses: {supply: "degreaser, used", amount: 0.5 l * parts, back: yes}
"""
SUPPLIES = """\
# what lies on the shelf
supplies:
  - id: old
    name: primer
    amount: 1 l   # a large one
    opened: 2025-06-01
    keeps: 3 months
  - id: fresh
    name: primer  # the good one
    amount: 0.5 l
    lot: P 17
    book:
      - {on: 2026-03-01, used: 100 ml, why: by hand}   # a lid
  - {id: rag-bag, name: rags, amount: 20}
  - {id: can, name: "degreaser, used", amount: 5 l, most reuses: 3}
"""


@pytest.fixture
def shed(shop, write):
    write("supplies.yaml", SUPPLIES)
    write("parts.yaml", "parts:\n  - {id: lever-l, name: lever}\n  - {id: lever-r, name: lever}\n")
    return shop


@pytest.fixture
def session(shed, person, clock):
    procedure = load_bytes(PROCEDURE, "coat.yaml")
    found = begin(shed, procedure, [PartSpec("lever L"), PartSpec("lever R")], person, clock)
    for part in ("lever L", "lever R"):
        send(found, c.Do("area", (part,), found.run.n - 1, typed="0.3 m2"))
    yield found
    found.leave()


def send(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply
    session.tick().result()  # behind the books, which follow on the same thread
    return reply.entries[-1]


def pour(session, *uses):
    return send(session, c.Do("pour", ("lever L", "lever R"), session.run.n - 1, uses=uses))


def left(shed, name):
    return read_supplies(shed).named(name).left.to("ml")


def test_the_log_says_how_much_of_which_lot_was_used_and_the_book_is_lessened(shed, session):
    entry = pour(session)
    # 60 um of 60 % solids is 0.1 l a square metre: 30 ml a lever.
    assert [(u.supply, u.amount, u.unit, u.name) for u in entry.data.uses] == [
        ("primer", "60", "ml", "fresh")
    ]
    assert entry.data.uses[0].about == "primer; lot P 17; 400 ml left"
    assert left(shed, "fresh") == 340
    assert left(shed, "old") == 1000
    text = (shed.path / "supplies.yaml").read_text()
    for comment in ("# what lies on the shelf", "# a large one", "# the good one", "# a lid"):
        assert comment in text
    line = f"{{on: 2026-03-10, used: 60 ml, run: {session.folder.run}, entry: {entry.n}}}"
    assert line in text.replace('"', "")
    session.leave()
    assert "used 60 ml of primer from fresh: primer; lot P 17; 400 ml left" in show(session.folder)
    assert verify(session.folder.path, shop=shed.path).whole


def test_the_report_says_how_much_of_which_lot_was_used_corrected_and_taken_back(
    shed, session, tmp_path
):
    wrong = pour(session)
    send(session, c.Retract(wrong.n, session.run.n - 1, "the wrong pot"))
    entry = pour(session)
    send(session, c.Correct(entry.n, "lever L", "weighed", typed="52 ml", place="primer"))
    session.leave()
    taken, kept = gather(session.folder.path).supplies
    assert (taken.amount, taken.taken_back) == ("60", True)
    assert (kept.supply, kept.amount, kept.first, kept.unit) == ("primer", "52", "60", "ml")
    assert (kept.name, kept.about) == ("fresh", "primer; lot P 17; 400 ml left")
    said = {}
    for ending in ("html", "txt", "md", "json"):
        run_report([session.folder.path], tmp_path / f"run.{ending}")
        said[ending] = " ".join((tmp_path / f"run.{ending}").read_text("utf-8").split())
    assert "<del>60 ml</del> now 52 ml" in said["html"]
    assert "60 ml, undone" in said["html"]
    assert "fresh: primer; lot P 17; 400 ml left" in said["html"]
    row = r"primer +\[was 60 ml\] fresh: primer; lot .* 52 ml P 17; 400 ml left"
    assert re.search(row, said["txt"])
    assert "~~60 ml~~ now 52 ml" in said["md"]
    assert '"supplies": [' in said["json"]


def test_going_in_uses_what_the_load_takes(shed, session):
    pour(session)
    entry = send(session, c.PutIn("rest", ("lever L", "lever R"), session.run.n - 1))
    assert [(u.amount, u.unit) for u in entry.data.uses] == [("3", "")]
    assert read_supplies(shed).named("rag-bag").left.words == "17"


def test_what_goes_back_is_more_again_and_counts_as_a_reuse(shed, session, clock):
    pour(session)
    send(session, c.PutIn("rest", ("lever L", "lever R"), session.run.n - 1))
    clock.wait(120_000)
    send(session, c.Lift(("lever L", "lever R"), session.run.n - 1))
    entry = send(session, c.Do("back", ("lever L", "lever R"), session.run.n - 1))
    assert (left(shed, "can"), read_supplies(shed).named("can").reuses) == (6000, 1)
    send(session, c.Retract(entry.n, session.run.n - 1))
    assert (left(shed, "can"), read_supplies(shed).named("can").reuses) == (5000, 0)


def test_an_act_taken_back_gives_the_tin_its_amount_back(shed, session):
    entry = pour(session)
    send(session, c.Retract(entry.n, session.run.n - 1, "the wrong pot"))
    assert left(shed, "fresh") == 400
    assert read_supplies(shed).named("fresh").book[-1].deed == "unused"
    again = pour(session)
    assert again.n != entry.n
    assert left(shed, "fresh") == 340


def test_an_amount_is_corrected_at_its_entry_and_a_reading_changes_none(shed, session):
    entry = pour(session)
    wrong = c.Correct(entry.n, "lever L", "the pot was filled twice", "0.1 l", place="primer")
    assert send(session, wrong).data.given.number == "100"
    assert left(shed, "fresh") == 300
    less = c.Correct(entry.n, "lever L", "half went back", "50 ml", place="primer")
    send(session, less)
    assert left(shed, "fresh") == 350
    area = next(e for e in session.entries if getattr(e.data, "step", "") == "area")
    send(session, c.Correct(area.n, "lever L", "misread", "0.6 m2"))
    assert left(shed, "fresh") == 350
    assert session.send(less).result() == Refusal("That is already the recorded amount.")
    session.leave()
    said = show(session.folder)
    told = r"used 50 ml \(was 100 ml .*: half went back\) \(was 60 ml; corrected by somebody, "
    assert re.search(told + r".*: the pot was filled twice\) of primer", said)
    assert verify(session.folder.path, shop=shed.path).whole


def test_another_tin_and_another_amount_may_be_told(shed, session):
    entry = pour(session, Use("primer", typed="70 ml", name="old", about="the old tin"))
    assert entry.data.uses[0].name == "old"
    assert (left(shed, "old"), left(shed, "fresh")) == (930, 400)
    session.leave()
    assert verify(session.folder.path, shop=shed.path).whole


def test_a_tin_that_is_past_its_date_is_told_in_the_log_where_there_is_no_other(
    shed, session, write
):
    write(
        "supplies.yaml", SUPPLIES.replace("  - id: fresh\n", "  - id: fresh\n    out of use: dry\n")
    )
    entry = pour(session)
    assert entry.data.uses[0].misgivings == ("was good until 2025-09-01, 3 months after opening",)
    session.leave()
    doubts = verify(session.folder.path, shop=shed.path).doubts
    assert any("primer, old was good until 2025-09-01" in one for one in doubts)


@pytest.mark.parametrize("typed", ["a lot", "-3 ml", "4 kg", "1e99999 ml", "../x", "9" * 5000])
def test_an_amount_that_is_none_is_refused_in_one_line(session, typed):
    reply = session.send(
        c.Do("pour", ("lever L",), session.run.n - 1, uses=(Use("primer", typed=typed),))
    ).result()
    assert isinstance(reply, Refusal)
    assert "\n" not in reply.text
    assert len(reply.text) < 300


def test_a_supply_that_the_step_does_not_use_is_refused(session):
    strange = (Use("gold leaf", name="fresh"),)
    reply = session.send(c.Do("pour", ("lever L",), session.run.n - 1, uses=strange)).result()
    assert isinstance(reply, Refusal)
    assert "does not use 'gold leaf'" in reply.text


def test_what_a_crash_kept_from_the_book_is_entered_once_when_the_run_is_taken_up(
    shed, session, person, clock, monkeypatch
):
    with monkeypatch.context() as broken:
        broken.setattr("benchrun.session.books.enter_uses", lambda *_: None)
        pour(session)
        session.leave()
    assert left(shed, "fresh") == 400
    for _ in range(3):
        take_up(shed, session.folder, person, clock).leave()
        assert left(shed, "fresh") == 340


def test_a_book_that_cannot_be_written_holds_nothing_up_and_follows_later(shed, session, write):
    write("supplies.yaml", "supplies: {\n")
    entry = pour(session)
    assert entry.data.uses[0].name == ""
    send(session, c.Retract(entry.n, session.run.n - 1))
    write("supplies.yaml", SUPPLIES)
    pour(session)
    write("supplies.yaml", SUPPLIES + "  - broken\n")
    send(session, c.PutIn("rest", ("lever L", "lever R"), session.run.n - 1))
    assert session.books.trouble == ""
    write("supplies.yaml", "supplies: {\n")
    send(session, c.Correct(session.run.n - 2, "lever L", "more", "90 ml", place="primer"))
    assert "supplies.yaml" in session.books.trouble
    write("supplies.yaml", SUPPLIES)
    session.books.follow(session.run, session.entries)
    assert session.books.trouble == ""
    assert left(shed, "fresh") == 310


def test_the_parts_of_a_run_name_it(shed, session):
    run = session.folder.run
    assert [part.runs for part in read_parts(shed).rows] == [(run,), (run,)]


def test_what_the_runs_of_the_sample_shop_used_reconciles_with_what_is_left():
    shop = open_shop(shipped("samples") / "shop")
    used: dict[str, Decimal] = {}
    entries = 0
    for folder in run_folders(shop.runs):
        for line in folder.read().lines:
            for use in line.data.get("uses", ()):
                if "name" not in use:
                    continue  # nothing in the shop's file serves it
                tin = read_supplies(shop).named(use["name"])
                unit = tin.amount.unit
                size = convert(Decimal(use["amount"]), use["unit"], unit)
                used[tin.id] = used.get(tin.id, Decimal(0)) + size
                entries += 1
    assert entries >= 4
    for name, total in used.items():
        tin = read_supplies(shop).named(name)
        by_hand = sum(
            (line.amount.to(tin.amount.unit) for line in tin.book
             if line.entry is None and line.deed == "used"), Decimal(0)
        )  # fmt: skip
        assert tin.left.value == tin.amount.value - by_hand - total


def test_a_log_set_back_behind_what_the_books_took_is_told_and_the_books_follow(
    shed, session, person, clock
):
    pour(session)
    assert left(shed, "fresh") == 340
    session.leave()
    folder = session.folder
    lines = folder.log.read_bytes().splitlines(keepends=True)
    folder.log.write_bytes(b"".join(lines[:4]))
    with pytest.raises(Unsound) as told:
        take_up(shed, folder, person, clock)
    assert told.value.findings[-1] == (
        "the stock book took entry 4 of this run, and the log ends with entry 3: it "
        "was set back, or cut"
    )
    assert left(shed, "fresh") == 340
    take_up(shed, folder, person, clock, reason="a copy of noon was put back").leave()
    assert left(shed, "fresh") == 400
