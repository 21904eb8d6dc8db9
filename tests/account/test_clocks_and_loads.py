"""The account tells each doubt that a clock leaves at its entry, and which load was taken back."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from worked_runs import Worked

from benchrun.account.gather import gather
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.signing_keys import enrol, new_shop

BY_FILM = """\
procedure: soak-by-film
title: Soak by the film
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: hub, at most: 3}
vessels: {tub: {title: hot tub, holds: 4}}
stages:
  - stage: All
    steps:
      - {reading: Measure the film., id: film, unit: µm}
      - dwell: Soak the part in the tub.
        id: soak
        in: tub
        least: {by: film, table: {10 µm: 10 min, 20 µm: 20 min}}
        early: [again, go on]
"""


@pytest.fixture
def work(tmp_path):
    made = Worked(tmp_path, ["hub L", "hub R"])
    yield made
    made.session.leave()


def clock_doubts(work):
    """What the clocks leave in doubt, as (entry, words)."""
    work.session.leave()
    facts = gather(work.folder)
    return [(fact.n, fact.what) for fact in facts.doubts if fact.number is None]


def test_clocks_in_step_leave_no_doubt(work):
    work.do("wipe")
    work.soak()
    assert clock_doubts(work) == []


def test_a_restart_is_a_doubt_of_the_first_entry_after_it_alone(work):
    before = work.do("wipe")
    work.clock.reboot(90_000)
    work.send(c.KeepNote("Back."))
    work.send(c.KeepNote("Going on."))
    assert clock_doubts(work) == [
        (before + 1, "the machine was restarted; times across it rest on the wall clock")
    ]


@pytest.mark.parametrize(("step", "words"), [(3_600_000, "+3600"), (-5_000, "-5")])
def test_a_wall_clock_that_was_set_is_a_doubt_with_how_far(work, step, words):
    work.do("wipe")
    work.clock.step(step)
    work.clock.set_sync(True)
    n = work.send(c.KeepNote("Clock set."))
    work.send(c.KeepNote("Going on."))
    assert clock_doubts(work) == [(n, f"the wall clock was set by {words} s")]


def test_a_wall_clock_that_drifts_as_clocks_do_leaves_no_doubt(work):
    work.do("wipe")
    work.clock.step(2_000)
    work.clock.set_sync(True)
    work.send(c.KeepNote("Going on."))
    assert clock_doubts(work) == []


def test_a_clock_out_of_step_and_in_step_again_is_told_once_each(work):
    work.clock.set_sync(False)
    out = work.do("wipe")
    work.send(c.KeepNote("Going on."))
    work.clock.set_sync(True)
    back = work.send(c.KeepNote("Set again."))
    assert clock_doubts(work) == [
        (out, "from here on no time service sets the wall clock: times of day may be wrong"),
        (back, "from here on a time service sets the wall clock again"),
    ]


def test_a_load_whose_start_was_taken_back_is_marked_and_no_other(work):
    work.do("wipe")
    first = work.send(c.PutIn("soak", ("hub L",), work.seen))
    second = work.send(c.PutIn("soak", ("hub R",), work.seen))
    work.send(c.Retract(second, work.seen, "put in by mistake"))
    work.session.leave()
    assert {row.n_in: row.taken_back for row in gather(work.folder).dwells} == {
        first: False,
        second: True,
    }


def test_a_load_whose_end_was_taken_back_is_in_again_and_no_other(work):
    work.do("wipe")
    work.send(c.PutIn("soak", work.parts, work.seen))
    work.clock.wait(11 * 60_000)
    work.send(c.Lift(("hub L",), work.seen))
    second = work.send(c.Lift(("hub R",), work.seen))
    work.send(c.Retract(second, work.seen, "lifted the other one"))
    work.session.leave()
    ended = {row.parts: row.n_out is not None for row in gather(work.folder).dwells}
    assert ended == {("hub L",): True, ("hub R",): False}


def two_loads(place):
    """A run in which two parts lie in a tub for times that go by a measured film."""
    clock = VirtualClock("2026-03-02T08:00:00.000Z", name="bench")
    shop = new_shop(place / "shop", "Invented Shop", clock.now())
    ann = enrol(shop, "Ann Ode", clock.now(), passphrase="one")
    parts = [PartSpec("a"), PartSpec("b")]
    run = begin(shop, load_bytes(BY_FILM.encode(), "film.yaml"), parts, ann, clock)

    def send(command):
        reply = run.send(command).result()
        assert isinstance(reply, Kept), reply
        clock.wait(1000)
        return reply.entries[-1].n

    measured = {part: send(c.Do("film", (part,), run.run.n - 1, typed="10 µm")) for part in "ab"}
    for part in "ab":
        send(c.PutIn("soak", (part,), run.run.n - 1))
    return run, send, measured


def least_times(run):
    return {row.parts[0]: row.least for row in gather(run.folder.path).dwells}


def test_limits_that_a_correction_changed_are_as_before_when_it_is_taken_back(tmp_path):
    run, send, measured = two_loads(tmp_path)
    before = least_times(run)
    send(c.Correct(measured["a"], "a", "misread", typed="20 µm"))
    fixed = send(c.Correct(measured["b"], "b", "misread", typed="15 µm"))
    assert least_times(run) == {"a": 1_200_000, "b": 900_000}
    send(c.Retract(fixed, run.run.n - 1, "it was right"))
    run.leave()
    assert least_times(run) == {"a": 1_200_000, "b": before["b"]}
