"""Work that is not done as written: stopped, or gone on with for a reason that is signed over."""

from counted_run import Bench

from benchrun.account.signing_list import signing_list_of
from benchrun.run import commands as c
from benchrun.run.commands import Want


def test_no_step_is_passed_without_a_reason_and_none_is_begun_while_the_run_is_stopped():
    bench = Bench()
    assert bench.give(c.Skip("wipe-plate", ("a",), bench.run.n - 1)).want is Want.REASON
    bench.good(c.Stop("the drawing shows another bush"))
    for command in (
        c.Do("wipe-plate", ("a",), bench.run.n - 1),
        c.Skip("wipe-plate", ("a",), bench.run.n - 1, "to go on anyway"),
    ):
        refused = bench.give(command).text
        assert "The run is stopped: the drawing shows another bush." in refused
    bench.good(c.Resume("the author says that it is the same bush"))
    bench.good(c.Do("wipe-plate", ("a",), bench.run.n - 1))


def test_whoever_signs_signs_over_what_was_not_done_as_written():
    bench = Bench()
    bench.good(c.Skip("wipe-plate", ("a",), bench.run.n - 1, "it was wiped yesterday"))
    said = [one.what for one in signing_list_of(bench.procedure, bench.entries, ("a",), "released")]
    assert said == ["step 1 skipped (it was wiped yesterday)"]
