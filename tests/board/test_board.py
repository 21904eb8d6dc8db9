"""The board: what is open, who has what where, and what closed runs left away."""

import datetime as dt
import json

import pytest

from benchrun.board import is_sent, look, still_away
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.run.commands import Close, Do, Lift, PutIn
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, closing_statement
from benchrun.shop.books import read_books
from benchrun.shop.parts import read_parts
from benchrun.shop.vessels import read_vessels
from benchrun.shop_use.book_words import book_of, things_of
from benchrun.shop_use.vessels import crowded, others
from benchrun.shopkeeping import overview
from benchrun.shopkeeping.overview import shop_words
from benchrun.signing_keys import enrol, new_shop

MINUTE = 60_000
HEAD = """\
procedure: {id}
title: {title}
revision: 1
status: draft
use: step by step
scope: Invented.
changes: {{1: First.}}
sources: {{s: "common practice, no source"}}
batch: {{part: lever}}
vessels: {{{vessel}: {{title: {name}, holds: 3}}}}
stages:
  - stage: All
    steps:
      - dwell: Keep it wet.
        id: soak
        in: {vessel}
        least: 10 min
        most: 20 min
        early: [again]
        late: [go on]
        source: s
      - dwell: Wait for it at the plater.
        id: out
        at: the plater
        most: 7 d
        late: [go on]
        source: s
      - do: Wipe it.
        id: wipe
        source: s
"""


def procedure(name="etch", vessel="tub", title="etch tub"):
    text = HEAD.format(id=name, title=name.title(), vessel=vessel, name=title)
    return load_bytes(text.encode(), f"{name}.yaml")


def board(shop, now):
    """The board in plain text, its times in UTC."""
    return overview.board_text(shop, now, dt.UTC)


@pytest.fixture
def clock():
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path, clock):
    return new_shop(tmp_path / "shop", "Trailer shed", clock.now())


@pytest.fixture
def person(shop, clock):
    return enrol(shop, "Somebody", clock.now(), passphrase="word")


@pytest.fixture
def start(shop, person, clock):
    def opened(parts="ab", **kwargs):
        specs = [PartSpec(part) for part in parts]
        return begin(shop, procedure(**kwargs), specs, person, clock)

    return opened


def send(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply


def close(session, reasons):
    command = Close(reasons, closing_statement(session.hand))
    reply = session.sign(command, "word").result()
    assert isinstance(reply, Kept), reply


def test_an_empty_shop_has_an_empty_board(shop, clock):
    assert board(shop, clock.now()) == (
        "Trailer shed, 2026-03-10 08:00\n\nNothing is open, and nothing is due."
    )


def test_every_clock_says_by_when_it_must_be_out(shop, start, clock):
    session = start()
    send(session, PutIn("soak", ("a",), session.run.n - 1))
    said = board(shop, clock.now())
    assert "  a: take out of the etch tub, from 08:10 until 08:20, in for 0 s (" in said
    clock.wait(15 * MINUTE)
    said = board(shop, clock.now())
    assert "  DUE  a: take out of the etch tub, by 08:20, in for 15 min (" in said
    clock.wait(4 * MINUTE)
    said = board(shop, clock.now())
    assert "  1:00 LEFT  a: take out of the etch tub, by 08:20, in for 19 min (" in said
    clock.wait(2 * MINUTE)
    said = board(shop, clock.now())
    assert "  LATE  a: take out of the etch tub, 1 min past 20 min, in for 21 min (" in said


def test_parts_at_a_place_are_away_and_no_clock_of_a_vessel(shop, start, clock):
    session = start("a")
    send(session, PutIn("soak", ("a",), session.run.n - 1))
    clock.wait(11 * MINUTE)
    send(session, Lift(("a",), session.run.n - 1))
    send(session, PutIn("out", ("a",), session.run.n - 1))
    (one,) = look(shop, clock.now()).open_runs
    assert [is_sent(clock) for clock in one.clocks] == [True]
    assert one.uses == ()
    clock.wait(8 * 24 * 60 * MINUTE)
    text = board(shop, clock.now())
    assert f"a at the plater for 8 d, late by 24 h ({session.folder.run})" in text
    assert "\nClocks\n" not in text


def test_a_tub_in_use_by_another_run_is_known_by_row_or_by_title(shop, start, clock):
    first, second = start(), start("cd", name="wash", vessel="bath", title="Wash bath")
    send(first, PutIn("soak", ("a", "b"), first.run.n - 1))
    uses = look(shop, clock.now()).uses
    bath = second.procedure.route.vessels["bath"]
    assert others(read_vessels(shop), bath, uses, second.folder.run) == ()

    (shop.path / "vessels.yaml").write_text(
        "vessels:\n  - {id: tub, name: grey tub, also: [wash bath], holds: 3}\n"
    )
    vessels = read_vessels(shop)
    (use,) = others(vessels, bath, uses, second.folder.run)
    assert (use.run, use.parts, use.room) == (first.folder.run, ("a", "b"), 2)
    assert crowded(vessels, bath, uses, second.folder.run, 1) == ""
    assert crowded(vessels, bath, uses, second.folder.run, 2).startswith(
        "The grey tub holds 3, and another run is using it: 2 parts of"
    )
    tub = first.procedure.route.vessels["tub"]
    assert crowded(vessels, tub, uses, first.folder.run, 1) == ""
    told = "The grey tub holds 3 by the vessels book, 2 are in it: this load takes 2"
    assert crowded(vessels, tub, uses, first.folder.run, 2) == told


def test_the_same_title_is_the_same_tub_where_the_shop_keeps_no_vessels(shop, start, clock):
    first, second = start(), start("cd", name="wash", vessel="bath", title="Etch Tub")
    send(first, PutIn("soak", ("a",), first.run.n - 1))
    uses = look(shop, clock.now()).uses
    bath = second.procedure.route.vessels["bath"]
    assert [use.parts for use in others(read_vessels(shop), bath, uses, second.folder.run)] == [
        ("a",)
    ]


def test_a_vessel_out_of_use_is_told_to_who_needs_it_and_wants_attention_while_parts_are_in(
    shop, start, clock
):
    session = start()
    (shop.path / "vessels.yaml").write_text(
        "vessels:\n  - {id: tub, name: etch tub, out of use: leaks}\n"
    )
    tub = session.procedure.route.vessels["tub"]
    told = crowded(read_vessels(shop), tub, (), session.folder.run, 1)
    assert told == "The etch tub is out of use: leaks"
    assert "etch tub is out of use" not in board(shop, clock.now())

    def vessels() -> list[tuple[str, bool]]:
        books, uses = read_books(shop), look(shop, clock.now()).uses
        rows = things_of(book_of("vessels"), books, dt.date(2026, 3, 1), uses)
        return [(row.state, row.amiss) for row in rows]

    assert vessels() == [("out of use: leaks", False)]
    send(session, PutIn("soak", ("a",), session.run.n - 1, "it must"))
    ((state, amiss),) = vessels()
    assert state.startswith("out of use: leaks; ")
    assert amiss


@pytest.fixture
def left(start, clock):
    """A run that was closed while one of its parts was at the plater."""
    session = start("ab")
    for part in "ab":
        send(session, PutIn("soak", (part,), session.run.n - 1))
    clock.wait(11 * MINUTE)
    send(session, Lift(("a", "b"), session.run.n - 1))
    send(session, PutIn("out", ("a", "b"), session.run.n - 1))
    send(session, Lift(("b",), session.run.n - 1))
    send(session, Do("wipe", ("b",), session.run.n - 1))
    return session


def test_what_a_closed_run_left_away_stays_on_the_board_until_it_is_back(shop, left, clock):
    run = left.folder.run
    close(left, {"a": "the plater keeps it over the summer"})
    found = look(shop, clock.now())
    assert found.open_runs == ()
    assert [(one.run, one.place, one.parts) for one in found.left_away] == [
        (run, "the plater", ("a",))
    ]
    assert f"a at the plater, left so by the closed run {run}" in board(shop, clock.now())
    (shop.path / "parts.yaml").write_text(f"parts:\n  - {{id: a, name: lever, runs: [{run}]}}\n")
    assert still_away(found.left_away, read_parts(shop).rows) == ()
    assert "plater" not in board(shop, clock.now())
    (shop.path / "parts.yaml").write_text(
        f"parts:\n  - {{id: a, name: lever, runs: [{run}], "
        "away: [{sent: 2026-03-10, to: plater}]}\n"
    )
    assert still_away(found.left_away, read_parts(shop).rows) == found.left_away


def test_a_run_that_cannot_be_read_is_told_and_hides_no_other(shop, start, clock):
    broken, sound = start("a"), start("b", name="wash")
    broken.leave()
    lines = broken.folder.log.read_bytes().splitlines(keepends=True)
    lines[0] = json.dumps({"n": 0}).encode() + b"\n"
    broken.folder.log.write_bytes(b"".join(lines))
    found = {one.folder.run: one for one in look(shop, clock.now()).open_runs}
    assert found[broken.folder.run].fault
    assert found[sound.folder.run].run is not None
    text = board(shop, clock.now())
    assert "Wash" in text
    assert broken.folder.run in text


def test_what_is_wrong_in_the_files_of_the_shop_is_on_the_board(shop, clock):
    (shop.path / "supplies.yaml").write_text("supplies:\n  - {id: a, name: a, amount: lots}\n")
    (shop.path / "instruments.yaml").write_text(
        "instruments:\n"
        "  - {id: old, name: gauge, range: 0 to 1 mm, until: 2026-03-09}\n"
        "  - {id: soon, name: gauge, range: 0 to 1 mm, until: 2026-03-20}\n"
        "  - {id: fine, name: gauge, range: 0 to 1 mm, until: 2026-06-20}\n"
    )
    text = board(shop, clock.now())
    assert "To put right\n  supplies.yaml:2:30: amount: 'lots' is no amount" in text
    assert "Calibration\n  gauge (old) is past its calibration date, 2026-03-09\n" in text
    assert "  gauge (soon) must be calibrated by 2026-03-20" in text
    assert "fine" not in text
    words, sound = shop_words(shop)
    assert not sound
    assert "supplies.yaml:2:30" in words


def test_hostile_words_do_no_harm_on_the_board(tmp_path, clock):
    made = new_shop(tmp_path / "s", "Shed [b]x[/b] $(x)", clock.now())
    (made.path / "parts.yaml").write_text(
        "parts:\n  - id: a\n    name: '[@click=app.quit]x[/]'\n"
        "    away: [{sent: 2026-01-01, to: '$(rm)'}]\n"
    )
    text = board(made, clock.now())
    assert "[@click=app.quit]x[/] (a) is away at $(rm) since 2026-01-01" in text
    assert all(line.isprintable() for line in text.splitlines())


WINDOWED = (
    HEAD[: HEAD.index("      - dwell: Wait for it")]
    + """\
      - do: Brush on one coat.
        id: coat
        source: s
      - do: Wipe it.
        id: wipe
        window: {{after: coat, most: 24 h, late: [go on]}}
        source: s
      - dwell: Wait for the plater.
        id: plating
        at: the plater
        most: 3 d
        late: [go on]
        source: s
"""
)


def test_windows_that_close_and_parcels_that_are_due_back_are_told_with_their_hour(
    shop, person, clock
):
    text = WINDOWED.format(id="coat", title="Coat", vessel="tub", name="etch tub")
    procedure = load_bytes(text.encode(), "coat.yaml")
    session = begin(shop, procedure, [PartSpec("a")], person, clock)
    session.send(PutIn("soak", ("a",), session.run.n - 1)).result()
    clock.wait(12 * MINUTE)
    session.send(Lift(("a",), session.run.n - 1)).result()
    session.send(Do("coat", ("a",), session.run.n - 1)).result()
    clock.wait(60 * MINUTE)
    run = session.folder.run
    said = board(shop, clock.now())
    assert f"a: step 3, Wipe it, by 08:12 tomorrow ({run})" in said
    clock.wait(24 * 60 * MINUTE)
    said = board(shop, clock.now())
    assert f"LATE  a: step 3, Wipe it, closed 08:12, 1 h past 24 h ({run})" in said
    session.leave()


def test_a_planned_parcel_tells_when_it_is_due_back(shop, person, clock):
    text = WINDOWED.format(id="coat", title="Coat", vessel="tub", name="etch tub")
    procedure = load_bytes(text.encode(), "coat.yaml")
    session = begin(shop, procedure, [PartSpec("a")], person, clock)
    session.send(PutIn("soak", ("a",), session.run.n - 1)).result()
    clock.wait(12 * MINUTE)
    session.send(Lift(("a",), session.run.n - 1)).result()
    for step in ("coat", "wipe"):
        session.send(Do(step, ("a",), session.run.n - 1)).result()
    session.send(PutIn("plating", ("a",), session.run.n - 1)).result()
    clock.wait(24 * 60 * MINUTE)
    said = board(shop, clock.now())
    assert "a at the plater for 24 h, due back by Fri 08:12" in said
    clock.wait(3 * 24 * 60 * MINUTE)
    assert "a at the plater for 4 d, late by 24 h" in board(shop, clock.now())
    session.leave()


def test_a_run_is_looked_at_anew_whenever_one_of_its_files_changes(shop, start, clock):
    session = start()
    (one,) = look(shop, clock.now()).open_runs
    assert (one.run.n, one.clocks) == (session.run.n, ())
    send(session, PutIn("soak", ("a",), session.run.n - 1))
    (one,) = look(shop, clock.now()).open_runs
    assert (one.run.n, one.fault) == (session.run.n, "")
    assert [load.parts for load in one.clocks] == [("a",)]
    copy = session.folder.procedure
    content = copy.read_bytes()
    copy.write_bytes(content + b"# changed\n")
    (one,) = look(shop, clock.now()).open_runs
    assert "procedure.yaml is not the one" in one.fault
    copy.unlink()
    (one,) = look(shop, clock.now()).open_runs
    assert one.fault
    copy.write_bytes(content)
    (one,) = look(shop, clock.now()).open_runs
    assert one.fault == ""
    session.leave()


def test_an_unchanged_run_is_not_read_again(shop, start, clock, monkeypatch):
    session = start()
    (one,) = look(shop, clock.now()).open_runs
    monkeypatch.setattr("benchrun.load_run.read_kept", lambda folder: pytest.fail("it was read"))
    (again,) = look(shop, clock.now()).open_runs
    assert again.run is one.run
    session.leave()


def test_the_run_whose_load_comes_out_first_is_read_first_and_told_before_the_others(
    shop, start, clock
):
    waiting = start("ab")
    waiting.leave()
    soaking = start("ab", name="soaking", vessel="other")
    send(soaking, PutIn("soak", ("a",), soaking.run.n - 1))
    soaking.leave()
    clock.wait(MINUTE)
    start("ab", name="third", vessel="third").leave()
    told = []
    whole = look(shop, clock.now(), told.append)
    assert not told[0].looked
    assert [run.id for run in told[0].open_runs if run.run is not None] == [soaking.folder.run]
    assert len(told[0].open_runs) == len(whole.open_runs) == 3
    assert whole.looked


def test_a_run_is_read_again_only_when_its_files_change(shop, start, clock):
    session, other = start("ab"), start("ab", name="other", vessel="other")
    first = {run.id: run.run for run in look(shop, clock.now()).open_runs}
    send(session, PutIn("soak", ("a",), session.run.n - 1))
    second = {run.id: run.run for run in look(shop, clock.now()).open_runs}
    assert second[other.folder.run] is first[other.folder.run]
    assert second[session.folder.run].n == first[session.folder.run].n + 1
    log = session.folder.log
    content = log.read_bytes()
    log.write_bytes(content[:-40] + content[-20:])
    [bad] = [run for run in look(shop, clock.now()).open_runs if run.fault]
    assert bad.id == session.folder.run
    log.write_bytes(content)
    assert not any(run.fault for run in look(shop, clock.now()).open_runs)
    session.leave()
    other.leave()


def test_a_run_that_is_closed_meanwhile_leaves_the_board(shop, start, clock):
    session = start("ab")
    assert len(look(shop, clock.now()).open_runs) == 1
    close(session, {"a": "no time", "b": "no time"})
    assert look(shop, clock.now()).open_runs == ()
