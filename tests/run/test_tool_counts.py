"""Tools are counted out before the start and back behind the last step; a shortfall is told."""

import pytest
from counted_run import Bench, counted

from benchrun.account.deviations import deviations_in
from benchrun.account.walk import facts_of
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Want
from benchrun.run.replay import command_of


@pytest.fixture
def bench():
    return Bench().to_the_count()


def test_tools_are_counted_back_with_their_numbers_and_all_of_them(bench):
    bare = bench.give(c.Do("tools-counted", ("a",), bench.run.n - 1))
    assert bare.text == "Count back: press plate and drift. Say how many came back."
    one = (e.ToolCount("drift", 2),)
    half = bench.give(c.Do("tools-counted", ("a",), bench.run.n - 1, tools_back=one))
    assert half.text == "Count back: press plate. Say how many came back."
    done = bench.good(bench.back(1, 2))
    assert not done.flags
    assert [one.back for one in facts_of(bench.procedure, bench.entries).tools] == [1, 2]


def test_a_shortfall_needs_a_reason_and_is_a_deviation_that_the_report_keeps(bench):
    refused = bench.give(bench.back(1, 1))
    assert refused.want is Want.REASON
    assert refused.text.startswith("Missing: 1 × drift. Look for it")
    bench.good(bench.back(1, 1, "left in the press, see the note"))
    entry = bench.entries[-1]
    (deviation,) = deviations_in(entry, bench.procedure.route.steps.get, lambda _: None)
    assert deviation.what == "missing: 1 × drift"
    assert deviation.reason == "left in the press, see the note"
    plate, drift = facts_of(bench.procedure, bench.entries).tools
    assert (plate.missing, drift.missing) == (0, 1)
    assert drift.reason == "left in the press, see the note"
    assert (drift.out_by, drift.out_utc[:16]) == ("ann", "2026-11-29T09:00")


def test_a_count_that_is_undone_leaves_the_tools_out(bench):
    bench.good(bench.back(1, 2))
    bench.good(c.Retract(bench.run.n - 1, bench.run.n - 1, "one was not ours"))
    assert [one.back for one in facts_of(bench.procedure, bench.entries).tools] == [None, None]


@pytest.mark.parametrize("number", [-1, 1000])
def test_a_number_that_nobody_counts_is_refused(bench, number):
    assert "0 to 999" in bench.give(bench.back(1, number)).text


def test_a_run_that_counted_none_out_ticks_the_step_as_it_began():
    old = Bench(()).to_the_count()
    assert not old.good(c.Do("tools-counted", ("a",), old.run.n - 1)).tools_back
    assert facts_of(old.procedure, old.entries).tools == []


CLOSE = c.Close({"a": "no time"}, "Ann Bench: I carried out this run as it is recorded here.")
SIGN = c.SignOff("ann@shed", "sig")


def put(bench, to):
    return bench.good(c.Put(("a",), bench.run.n - 1, to, "cracked at the root"))


@pytest.mark.parametrize("to", ["scrap", "aside"])
def test_a_close_that_no_part_counts_the_tools_before_asks_for_them(to):
    bench = Bench()
    put(bench, to)
    refused = bench.give(CLOSE)
    assert refused.text == "Count back: press plate and drift. Say how many came back."
    bench.good(c.CountBack(counted(1, 2)))
    bench.good(CLOSE)
    bench.good(SIGN)
    assert bench.run.ended
    tools = facts_of(bench.procedure, bench.entries).tools
    assert [(one.back, one.missing, one.back_by) for one in tools] == [(1, 0, "ann"), (2, 0, "ann")]


def test_what_is_missing_at_a_close_needs_a_reason_and_is_a_deviation():
    bench = Bench()
    put(bench, "scrap")
    assert bench.give(c.CountBack(counted(1, 1))).want is Want.REASON
    assert "0 to 999" in bench.give(c.CountBack(counted(1, 1000))).text
    bench.good(c.CountBack(counted(1, 1), "rolled under the press"))
    (deviation,) = deviations_in(bench.entries[-1], lambda _: None, lambda _: None)
    assert (deviation.what, deviation.reason) == ("missing: 1 × drift", "rolled under the press")
    _, drift = facts_of(bench.procedure, bench.entries).tools
    assert (drift.back, drift.missing, drift.reason) == (1, 1, "rolled under the press")
    found = bench.good(c.CountBack(counted(1, 2)))  # found meanwhile: the last count holds
    assert not found.flags
    assert "already" in bench.give(c.CountBack(counted(1, 2))).text
    assert facts_of(bench.procedure, bench.entries).tools[1].missing == 0


def test_a_step_left_out_and_a_count_undone_leave_the_tools_to_the_close(bench):
    bench.good(bench.back(1, 2))
    bench.good(c.Retract(bench.run.n - 1, bench.run.n - 1, "one was not ours"))
    assert bench.give(CLOSE).text.startswith("Count back")
    bench.good(c.Skip("tools-counted", ("a",), bench.run.n - 1, "counted later"))
    assert bench.give(CLOSE).text.startswith("Count back")
    bench.good(c.CountBack(counted(1, 2)))
    bench.good(CLOSE)


def test_tools_counted_at_their_step_are_not_asked_again(bench):
    bench.good(bench.back(1, 2))
    bench.good(CLOSE)
    bench.good(SIGN)
    assert "closed" in bench.give(c.CountBack(counted(1, 2))).text


def test_a_run_without_tools_out_counts_none_at_its_close():
    bench = Bench(())
    put(bench, "scrap")
    assert "No tools" in bench.give(c.CountBack(())).text
    bench.good(CLOSE)


def test_a_log_of_an_older_number_closes_as_it_did():
    bench = Bench(about={"format": 4})
    put(bench, "scrap")
    assert "number" in bench.give(c.CountBack(counted(1, 2))).text
    bench.good(CLOSE)


def test_a_count_at_the_close_is_decided_again_from_what_it_keeps():
    bench = Bench()
    put(bench, "scrap")
    kept = bench.good(c.CountBack(counted(0, 2), "lent to the smith"))
    assert command_of(9, kept) == c.CountBack(counted(0, 2), "lent to the smith")
    assert e.read_data("count", e.data_of(kept)) == kept
