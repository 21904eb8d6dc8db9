"""Elapsed time under restarts, wrong clocks and other machines: never more proven than is true."""

from dataclasses import dataclass, field

from hypothesis import given
from hypothesis import strategies as st

from benchrun.moment import Elapsed, Mark, Moment, Timeline

HOUR = 3_600_000
EPOCH_MS = 1_770_000_000_000


@dataclass
class World:
    """True time, and machines that tell it rightly where they are in step."""

    true_ms: int = 0
    began: int = -HOUR
    boot: int = 0
    sync: bool = True
    error_ms: int = 0
    line: Timeline = field(default_factory=Timeline)
    marks: list[tuple[Mark, int]] = field(default_factory=list)

    def now(self) -> Moment:
        wall = EPOCH_MS + self.true_ms + (0 if self.sync else self.error_ms)
        return Moment(wall, self.true_ms - self.began, f"boot-{self.boot}", self.sync)

    def keep(self) -> None:
        at = self.now()
        self.line = self.line.then(at)
        self.marks.append((self.line.mark(at), self.true_ms))

    def told(self) -> list[tuple[Elapsed, int]]:
        at = self.now()
        return [(self.line.elapsed(mark, at), self.true_ms - true) for mark, true in self.marks]


happenings = st.lists(
    st.tuples(
        st.sampled_from(("wait", "keep", "restart", "wrong", "in step")),
        st.integers(0, 2 * HOUR),
    ),
    max_size=25,
)


def happen(world: World, what: str, ms: int) -> None:
    if what == "restart":
        world.true_ms += ms
        world.boot, world.began = world.boot + 1, world.true_ms
        world.sync = bool(ms % 2)
    elif what == "wrong":
        world.sync, world.error_ms = False, ms * 7 - 5 * HOUR
    elif what == "in step":
        world.sync = True
    else:
        world.true_ms += ms
        if what == "keep":
            world.keep()


@given(happenings)
def test_true_time_lies_between_proven_and_possible(happenings):
    world = World()
    world.keep()
    for what, ms in happenings:
        happen(world, what, ms)
        for told, true in world.told():
            assert told.proven_ms <= true
            assert told.possible_ms is None or true <= told.possible_ms


@given(happenings)
def test_what_was_proven_when_something_was_kept_stays_proven(happenings):
    world = World()
    world.keep()
    before = 0
    for what, ms in happenings:
        happen(world, what, ms)
        told, _ = world.told()[0]
        assert told.proven_ms >= before
        if what == "keep":
            before = told.proven_ms


@given(happenings, st.integers(0, HOUR))
def test_within_one_boot_time_is_exact_whatever_the_wall_clock_does(happenings, spent):
    world = World()
    for what, ms in happenings:
        happen(world, what, ms)
    world.keep()
    world.sync, world.error_ms = False, -9 * HOUR
    world.true_ms += spent
    assert world.told()[-1][0] == Elapsed(spent, spent)


def _moment(utc_s: int, up_s: int, boot: str, *, sync: bool = True) -> Moment:
    return Moment(EPOCH_MS + utc_s * 1000, up_s * 1000, boot, sync)


def test_across_a_restart_the_uptime_is_proven_and_the_gap_between_is_possible():
    line = Timeline().then(_moment(0, 100, "one"))
    since = line.mark(_moment(0, 100, "one"))
    line = line.then(_moment(50, 150, "one"))
    assert line.elapsed(since, _moment(500, 30, "two")) == Elapsed(80_000, 500_000)


def test_a_boot_that_was_never_in_step_leaves_the_possible_unbounded():
    line = Timeline().then(_moment(0, 100, "one"))
    since = line.mark(_moment(0, 100, "one"))
    told = line.elapsed(since, _moment(9999, 30, "two", sync=False))
    assert told == Elapsed(30_000, None)


def test_a_boot_that_comes_in_step_later_is_believed_from_then_on():
    start = _moment(777, 100, "one", sync=False)
    line = Timeline().then(start)
    since = line.mark(start)
    line = line.then(_moment(60, 160, "one"))
    assert line.elapsed(since, _moment(400, 10, "two")) == Elapsed(70_000, 400_000)


def test_another_machine_that_was_up_already_proves_no_more_than_the_clocks_show():
    line = Timeline().then(_moment(0, 100, "here"))
    since = line.mark(_moment(0, 100, "here"))
    told = line.elapsed(since, _moment(60, 864_000, "there"))
    assert told == Elapsed(60_000, 60_000)


def test_back_at_the_first_machine_time_in_between_counts_once():
    line = Timeline().then(_moment(0, 100, "here"))
    line = line.then(_moment(60, 500, "there"))
    since = line.mark(_moment(60, 500, "there"))
    told = line.elapsed(since, _moment(90, 190, "here"))
    assert told == Elapsed(0, 30_000)


def test_sleep_counts_as_the_boot_clock_counts_it():
    line = Timeline().then(_moment(0, 100, "one"))
    since = line.mark(_moment(0, 100, "one"))
    assert line.elapsed(since, _moment(36_000, 36_100, "one")).exact
