"""Two evenings in an invented shed: an old tin, a wrench past its date, a full tub, parts away."""

import shutil

import pytest

from benchrun.board import look
from benchrun.fitting.readiness import at_hand, ready
from benchrun.fitting.tools import last_used, tool_for_step
from benchrun.fitting.vessels import crowded
from benchrun.procedure.load import load
from benchrun.run.commands import Do, Lift, PutIn
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, take_up
from benchrun.shop.amounts import day_of
from benchrun.shop.deeds import enter_in_book
from benchrun.shop.parts import read_parts
from benchrun.shop.registers import read_registers
from benchrun.shop.supplies import read_supplies
from benchrun.shopkeeping.overview import board
from benchrun.show import show
from benchrun.verify import verify

MINUTE = 60_000
DAY = 24 * 60 * MINUTE


@pytest.fixture
def shed(shop, root):
    """A new shop with the files of the shed."""
    for path in (root / "tests" / "shop" / "pages" / "shed").iterdir():
        shutil.copy(path, shop.path)
    return shop


@pytest.fixture
def procedure(root):
    return load(root / "tests" / "shop" / "pages" / "lever-overhaul.yaml")


def send(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply
    return reply


def specs(shed, *names):
    sheet = read_parts(shed)
    return [PartSpec(name, identity=sheet.named(name).identity) for name in names]


def test_the_shed_is_sound_and_exercises_every_file(shed):
    found = read_registers(shed)
    assert [fault.words for fault in found.faults] == []
    for sheet in (found.instruments, found.supplies, found.vessels, found.parts, found.jobs):
        assert sheet.rows


def test_what_is_spoiled_short_or_past_its_date_is_told_before_the_start(shed, procedure, clock):
    told = ready(read_registers(shed), procedure, day_of(clock.now()))
    assert told == (
        "torque wrench (wrench-200) is past its calibration date, 2026-03-01",
        "moisture-cured paint (paint-1) was good until 2026-02-20, 3 months after opening: "
        "take paint-2",
    )


def test_what_a_batch_needs_beyond_what_is_left_is_told(shed, procedure, clock):
    enter_in_book(shed, "paint-2", "counted", "250 ml", day_of(clock.now()))
    told = ready(read_registers(shed), procedure, day_of(clock.now()), parts=6)
    assert told[-1] == "moisture-cured paint: 360 ml needed, 250 ml left: 110 ml short"
    enough = ready(read_registers(shed), procedure, day_of(clock.now()), parts=4)
    assert not any("short" in text for text in enough)


def test_two_evenings(shed, procedure, person, clock):
    registers = read_registers(shed)
    more = {"at_hand": at_hand(registers, procedure)}
    parts = specs(shed, "lever-l", "lever-r")
    first = begin(shed, procedure, parts, person, clock, more=more)
    second = begin(shed, procedure, [PartSpec("clip")], person, clock, more=more)
    tub = procedure.route.vessels["tub"]

    # The first evening: the other run's clip must wait for the tub.
    send(first, PutIn("etch", ("lever-l", "lever-r"), first.run.n - 1))
    told = crowded(registers.vessels, tub, look(shed, clock.now()).uses, second.folder.run, 1)
    assert told == (
        "The etch tub holds 2, and another run is using it: "
        f"2 parts of {first.folder.run}: lever-l and lever-r"
    )
    assert "etch tub: lever-l and lever-r, in for 0 s, may come out at" in board(shed, clock.now())
    clock.wait(12 * MINUTE)
    assert "must be out by 08:20 UTC, 8 min from now" in board(shed, clock.now())
    send(first, Lift(("lever-l", "lever-r"), first.run.n - 1))
    assert crowded(registers.vessels, tub, look(shed, clock.now()).uses, second.folder.run, 1) == ""
    send(second, PutIn("etch", ("clip",), second.run.n - 1))
    clock.wait(12 * MINUTE)
    send(second, Lift(("clip",), second.run.n - 1))

    before = read_supplies(shed).named("paint-2").left
    send(first, Do("coat", ("lever-l", "lever-r"), first.run.n - 1))
    send(first, PutIn("plating", ("lever-l", "lever-r"), first.run.n - 1))
    first.leave()
    second.leave()
    assert before.to("ml") - read_supplies(shed).named("paint-2").left.to("ml") == 120

    # A week and a day later: one lever is back.
    clock.wait(8 * DAY)
    text = board(shed, clock.now())
    assert f"lever-l and lever-r at the plater for 8 d ({first.folder.run})" in text
    assert "axle bolts (bolts), 8 pieces, is away at the plater since 2026-02-20" in text
    again = take_up(shed, first.folder, person, clock)
    send(again, Lift(("lever-l",), again.run.n - 1))
    given = (procedure, again.run, "nut", "lever-l", "wrench-200", again.now(), "60")
    fitted = tool_for_step(read_registers(shed), *given)
    assert fitted.question == (
        "wrench-200 is past its calibration date, 2026-03-01. Use it all the same, and why?"
    )
    why = "checked against the other wrench this evening"
    send(
        again,
        Do("nut", ("lever-l",), again.run.n - 1, typed="60", tool=fitted.tool, reason=why),
    )
    assert last_used(again.entries, "nut") == "wrench-200"
    again.leave()
    assert read_parts(shed).named("lever-l").runs[-1] == first.folder.run

    # The log alone tells it all, whatever becomes of the shop's files.
    for name in ("instruments", "supplies", "vessels", "parts"):
        (shed.path / f"{name}.yaml").unlink()
    log = first.folder.log.read_text()
    for words in (
        "certificate 1877",
        "is past its calibration date, 2026-03-01",
        "lot P 88",
        '"amount":"120","name":"paint-2"',
        '"identity":"left, cast 4711, stamped L 2"',
        "moisture-cured paint; lot P 71; 800 ml left; opened 2025-11-20; good until 2026-02-20",
    ):
        assert words in log
    assert verify(first.folder.path, shop=shed.path).whole
    plain = show(first.folder)
    assert f"reason: {why}" in plain
    assert "used 120 ml of moisture-cured paint, paint-2: moisture-cured paint; lot P 88" in plain


def test_what_was_used_reconciles_with_what_is_left(shed, clock):
    before = read_supplies(shed).named("paint-2").left
    for number in range(3):
        enter_in_book(shed, "paint-2", "used", "120 ml", day_of(clock.now()), f"run-{number}")
    after = read_supplies(shed).named("paint-2")
    assert before.to("ml") - after.left.to("ml") == 360
    assert sum(line.amount.to("ml") for line in after.book) == 360
    text = (shed.path / "supplies.yaml").read_text()
    assert "# as its invented sheet says" in text
    assert "- {on: 2026-03-10, used: 120 ml, run: run-2}" in text
