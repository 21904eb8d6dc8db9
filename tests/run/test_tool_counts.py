"""Tools are counted out before the start and back behind the last step; a shortfall is told."""

import pytest
from counted_run import Bench

from benchrun.account.deviations import deviations_in
from benchrun.account.walk import facts_of
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Want


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
