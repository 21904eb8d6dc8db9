"""A board that looks again and again at a run: it costs what came, and tells what is amiss."""

import os
import random
import tracemalloc

import pytest

from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.kept_runs import KeptRuns
from benchrun.load_run import folded, read_kept
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import RunFolder
from benchrun.run.commands import Do, KeepNote, PutIn
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = b"""\
procedure: wash
title: Wash
revision: 1
status: draft
use: step by step
scope: Invented.
changes: {1: First.}
sources: {s: "common practice, no source"}
batch: {part: lever}
vessels: {tub: {title: tub, holds: 9}}
stages:
  - stage: All
    steps:
      - {do: Wipe it., id: wipe, source: s}
      - {dwell: Keep it wet., id: soak, in: tub, least: 10 min, early: [again], source: s}
"""
LINES = 150


@pytest.fixture
def clock():
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path, clock):
    return new_shop(tmp_path / "shop", "Trailer shed", clock.now())


@pytest.fixture
def session(shop, clock):
    person = enrol(shop, "Somebody", clock.now(), passphrase="word")
    parts = [PartSpec(part) for part in "abcdefgh"]
    session = begin(shop, load_bytes(PROCEDURE, "wash.yaml"), parts, person, clock)
    yield session
    session.leave()


def send(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply


def told(make):
    """The run, or the words of what is amiss."""
    try:
        return make()
    except (BenchrunError, ValueError) as error:
        return str(error)


def write(path, content):
    """Write a file in place, so that its stamp differs."""
    before = path.stat().st_mtime_ns if path.exists() else 0
    path.write_bytes(content)
    os.utime(path, ns=(before + 1_000_000, before + 1_000_000))


def test_a_look_at_a_run_that_grew_is_what_reading_all_of_it_gives(session):
    kept, folder = KeptRuns(), session.folder
    for part in session.run.parts:
        send(session, Do("wipe", (part,), session.run.n - 1))
        assert kept.run(folder) == folded(*read_kept(folder))
        send(session, PutIn("soak", (part,), session.run.n - 1))
        send(session, KeepNote("wet"))
        assert kept.run(folder) == folded(*read_kept(folder)) == session.run


@pytest.mark.parametrize("seed", range(6))
def test_whatever_becomes_of_a_log_a_look_says_what_reading_all_of_it_says(session, tmp_path, seed):
    """A copy of a run is cut, torn, changed, put back and grown, as chance has it."""
    chance = random.Random(seed)
    for part in session.run.parts:
        send(session, Do("wipe", (part,), session.run.n - 1))
    whole = session.folder.log.read_bytes()
    ends = [place + 1 for place, byte in enumerate(whole) if byte == 10]
    procedure = session.folder.procedure.read_bytes()
    copy = RunFolder(tmp_path / session.folder.run)
    copy.path.mkdir()
    write(copy.procedure, procedure)
    kept, faults = KeptRuns(), 0
    for _ in range(60):
        content = whole[: chance.choice([*ends, chance.randrange(len(whole))])]
        if chance.random() < 0.3:
            place = chance.randrange(max(1, len(content)))
            content = content[:place] + bytes([chance.randrange(256)]) + content[place + 1 :]
        if chance.random() < 0.2:
            copy.log.unlink(missing_ok=True)  # another file in its place
        write(copy.log, content)
        changed = chance.random() < 0.1
        write(copy.procedure, procedure + (b"# changed\n" if changed else b""))
        found = told(lambda: kept.run(copy))
        assert found == told(lambda: folded(*read_kept(copy)))
        faults += isinstance(found, str)
    assert 5 < faults < 55


def test_an_entry_changed_in_a_run_that_grew_meanwhile_is_told_by_its_place(session):
    kept, log = KeptRuns(), session.folder.log
    send(session, KeepNote("first"))
    send(session, KeepNote("last"))
    kept.run(session.folder)
    at = session.run.n - 2
    send(session, KeepNote("later"))
    write(log, log.read_bytes().replace(b'"first"', b'"fists"'))
    with pytest.raises(BenchrunError, match=f"entry {at + 1}: it does not follow"):
        kept.run(session.folder)


def test_a_look_takes_no_more_into_memory_of_a_long_log_than_of_a_short_one(session, shop, clock):
    """Of a run of a day the board would else hold every line for a moment, at each look."""
    held = []
    tracemalloc.start()
    try:
        for _ in range(2):
            for number in range(LINES * 4 ** len(held)):
                session.send(KeepNote(f"note {number}"))
            look(shop, clock.now())
            send(session, KeepNote("one more"))
            again = _most_held(lambda: look(shop, clock.now()))
            held.append((again, _most_held(lambda: KeptRuns().run(session.folder))))
    finally:
        tracemalloc.stop()
    short, long = held
    assert session.run.n > 4 * LINES
    assert long[0] < 1.2 * short[0], "a look held what it had read before"
    assert long[1] < 1.2 * short[1], "a first look held the lines that it read"


def _most_held(act):
    """The most bytes that an act held at once beyond what was held before."""
    before, _ = tracemalloc.get_traced_memory()
    tracemalloc.reset_peak()
    act()
    return tracemalloc.get_traced_memory()[1] - before
