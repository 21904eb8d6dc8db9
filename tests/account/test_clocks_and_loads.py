"""The account tells each doubt that a clock leaves at its entry, and which load was taken back."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from worked_runs import Worked

from benchrun.account.gather import gather
from benchrun.run import commands as c


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
        (out, "from here on the wall clock is not known to be in step"),
        (back, "from here on the wall clock is in step again"),
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
