"""The clocks of a run at a moment: what soaks, what is away, which windows are closing."""

from collections.abc import Callable, Iterable

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Elapsed, Moment
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Dwell, Step, Witness
from benchrun.run.course import constant_ms
from benchrun.run.memory import remembered
from benchrun.run.state import WITNESS_SINCE, Marker, Run, Soak
from benchrun.run.verdict import (
    EARLY,
    EARLY_OR_LATE,
    IN_TIME,
    LATE,
    PERHAPS_EARLY,
    PERHAPS_LATE,
    draw,
    judge_time,
    judge_window,
    milliseconds,
    reads_of,
)
from benchrun.run.vessels import (
    is_at,
    part_vessel,
    waited_for_room,
    waits_for_room,
    without_waiting,
)
from benchrun.text import span
from benchrun.wording import timing_words


@lean_dataclass(frozen=True, slots=True)
class LoadClock:
    """One load in a vessel, or away as planned.

    Attributes:
        parts: The parts of the load that are still in.
        spent: How long it has been.
        least, most, aim: The limits in milliseconds.
        state: in time, early, late, or perhaps so (see `judge_time`).
        tend_in: Milliseconds until tending may be due (0 or less: it is or may be), or None.
        tend: What tending is.
        every: Its interval in milliseconds, or None.
        tended: Names the tending before, or the going in: the boot clock then.
    """

    step: Step
    vessel: str
    load: int
    parts: tuple[str, ...]
    spent: Elapsed
    least: int | None
    most: int | None
    aim: int | None
    state: str
    tend_in: int | None = None
    tend: str = ""
    every: int | None = None
    tended: int = 0

    @property
    def to_most(self) -> int | None:
        """Milliseconds until it may be late, by what is possible; negative when it may be."""
        if self.most is None:
            return None
        possible = self.spent.possible_ms
        return -1 if possible is None else self.most - possible

    @property
    def to_least(self) -> int:
        """Milliseconds until the least time is proven; 0 or less when it is."""
        return 0 if self.least is None else self.least - self.spent.proven_ms


def soaked(run: Run, soak: Soak, at: Moment, ended_ago: int = 0) -> Elapsed:
    """How long a part has been in, with earlier spells that add up.

    Being told late widens the bounds: a start told `ago` ms late may lengthen what is possible,
    an end told late may shorten what is proven, never the other way.
    """
    spell = _widened(run.timeline.elapsed(soak.mark, at), soak.ago_ms, ended_ago)
    carried, possible = soak.carried_ms
    if spell.possible_ms is None or possible is None:
        return Elapsed(spell.proven_ms + carried, None)
    told_late = spell.told_late and carried == possible
    return Elapsed(spell.proven_ms + carried, spell.possible_ms + possible, told_late)


@remembered
def loads(run: Run, at: Moment) -> tuple[LoadClock, ...]:
    """Every load, the one nearest its upper limit first."""
    grouped: dict[tuple[int, str], list[Marker]] = {}
    for marker in run.each():
        if marker.soak is not None:
            grouped.setdefault((marker.soak.load, marker.soak.step), []).append(marker)
    clocks = [_clock(run, group, at) for group in grouped.values()]
    return tuple(sorted(clocks, key=lambda c: (c.to_most is None, c.to_most or 0, c.to_least)))


def notice_spent(run: Run, soak: Soak, at: Moment) -> Elapsed:
    """How long the notice of a witness point has run; a machine that was off proves little.

    Then the clock on the wall tells, as it does for whoever was told. As long as the machine was
    on, a wall clock that is set ahead ends no notice.
    """
    spent = run.timeline.elapsed(soak.mark, at)
    if spent.exact:
        return spent
    wall = max(spent.proven_ms, at.utc_ms - soak.mark.utc_ms)
    possible = spent.possible_ms
    return Elapsed(wall, None if possible is None else max(wall, possible), spent.told_late)


def _clock(run: Run, group: list[Marker], at: Moment) -> LoadClock:
    soaks = [m.soak for m in group if m.soak is not None]
    first = soaks[0]
    step = run.route.steps[first.step]
    detail = step.detail
    if not isinstance(detail, Dwell):
        raise TypeError(f"{step.id} is no dwell")
    told = isinstance(detail, Witness) and run.format >= WITNESS_SINCE
    spent = _widest((notice_spent if told else soaked)(run, soak, at) for soak in soaks)
    least = _of_known(max, [s.least for s in soaks])
    most = _of_known(min, [s.most for s in soaks])
    aim = _of_known(max, [s.aim for s in soaks])
    aim = constant_ms(detail.aim) if aim is None else aim
    every = _of_known(min, [s.every for s in soaks])
    every = constant_ms(detail.tend_every) if every is None else every
    tend_in = None
    if every is not None:
        since = _widest(run.timeline.elapsed(soak.tended, at) for soak in soaks)
        tend_in = every - (since.possible_ms or since.proven_ms)
        tend_in = min(0, tend_in) if since.possible_ms is None else tend_in
    return LoadClock(
        step,
        part_vessel(run, group[0]) or detail.place,
        first.load,
        tuple(m.part for m in group),
        spent,
        least,
        most,
        aim,
        judge_time(least, most, spent.proven_ms, spent.possible_ms),
        tend_in,
        detail.tend,
        every,
        min(soak.tended.up_ms for soak in soaks),
    )


def _of_known(choose: Callable[[list[int]], int], times: list[int | None]) -> int | None:
    """The greatest or the least of the times that are known; None where none is."""
    known = [one for one in times if one is not None]
    return choose(known) if known else None


def _widest(spans: Iterable[Elapsed]) -> Elapsed:
    """Bounds that hold for each of some parts: earlier spells and tendings may differ."""
    found = list(spans)
    if len(found) == 1:
        return found[0]
    known = [one.possible_ms for one in found if one.possible_ms is not None]
    return Elapsed(
        min(one.proven_ms for one in found),
        max(known) if len(known) == len(found) else None,
        all(one.told_late for one in found),
    )


@lean_dataclass(frozen=True, slots=True)
class WindowState:
    """The window before a step, for one part.

    Attributes:
        ruling: in time, early, perhaps early, late, perhaps late.
        since: Time since the earlier step's end.
        since_most: Time that counts against the upper limit.
        to_least, to_most: Milliseconds to each limit (by proven, by possible), or None.
        answered: Whether a person has answered that it is late, so that it counts no more.
        least, most: The limits in milliseconds, or None; one that is answered as well.
        depends: Whether the limits come from readings or findings.
        settled: The ruling that a person has answered.
        unknown: Why the limits cannot be worked out; then nothing else is told of them.
        paused: Whether its upper limit does not come nearer, as the part waits for room.
        for_room: Whether it is late for nothing but that the part has waited for room.
    """

    ruling: str
    since: Elapsed
    since_most: Elapsed
    to_least: int | None = None
    to_most: int | None = None
    answered: bool = False
    least: int | None = None
    most: int | None = None
    depends: bool = False
    settled: str = ""
    unknown: str = ""
    paused: bool = False
    for_room: bool = False

    @property
    def too_soon(self) -> bool:
        """Whether the step may not start yet, or may not for all that is proven."""
        return self.ruling in (EARLY, PERHAPS_EARLY, EARLY_OR_LATE)

    @property
    def late(self) -> bool:
        """Whether the window has closed, or may have."""
        return self.ruling in (LATE, PERHAPS_LATE, EARLY_OR_LATE)


def window(
    run: Run, marker: Marker, step: Step, at: Moment, begun_ago: int = 0
) -> WindowState | None:
    """How the window before a step stands for a part; None when none is running.

    Args:
        run: The run.
        marker: The part.
        step: The later step, that the window belongs to.
        at: When it starts.
        begun_ago: By how many milliseconds at most it started earlier: less is proven then.
    """
    clock = marker.windows.get(step.id)
    if clock is None or step.window is None:
        return None
    since = since_most = _widened(
        run.timeline.elapsed(clock.least_from, at), clock.ago_ms, begun_ago
    )
    if clock.most_from is not clock.least_from:
        since_most = _widened(run.timeline.elapsed(clock.most_from, at), clock.ago_ms, begun_ago)
    net = since_most
    if run.rooms and is_at(run, marker, step):
        net = without_waiting(since_most, waited_for_room(run, marker, step, at))
    if not step.window.room_counts:
        since_most = net
    reads = reads_of(step.window.least, step.window.most)
    values = draw(marker, reads)
    try:
        least = milliseconds(step.window.least, values)
        most = milliseconds(step.window.most, values)
    except Undetermined as error:
        return WindowState("", since, since_most, depends=True, unknown=str(error))
    open_most: int | None = most
    last = judge_time(None, most, since_most.proven_ms, since_most.possible_ms)
    answered = last != IN_TIME and clock.settled in (LATE, last)
    if answered:
        # A person has answered this, so that it counts no more; certainly late is asked anew.
        open_most = None
    return WindowState(
        judge_window(least, open_most, since, since_most),
        since,
        since_most,
        None if least is None else least - since.proven_ms,
        _left(open_most, since_most),
        answered,
        least,
        most,
        bool(reads),
        clock.settled,
        paused=not step.window.room_counts and waits_for_room(run, marker, step),
        for_room=last != IN_TIME
        and judge_time(None, most, net.proven_ms, net.possible_ms) == IN_TIME,
    )


def load_clock_words(clock: LoadClock) -> str:
    """How a load stands to its limits; a notice is never early: it runs, or it has run out."""
    if isinstance(clock.step.detail, Witness):
        left = clock.to_least
        return f"the notice runs {span(left)} more" if left > 0 else "the notice has run out"
    return timing_words(clock.spent, clock.least, clock.most)


def window_words(state: WindowState) -> str:
    """How the window before a step stands; a lateness that was answered is told as such."""
    if state.unknown:
        return f"not known: {state.unknown}"
    words = timing_words(state.since, state.least, state.most, state.since_most)
    return f"{words} (answered)" if state.answered else words


def _widened(spent: Elapsed, start_ago: int, end_ago: int) -> Elapsed:
    """A time told late may widen what is possible and lessen what is proven, nothing else."""
    possible = None if spent.possible_ms is None else spent.possible_ms + start_ago
    told_late = spent.exact and bool(start_ago or end_ago)
    return Elapsed(max(0, spent.proven_ms - end_ago), possible, told_late)


def _left(most: int | None, since: Elapsed) -> int | None:
    if most is None:
        return None
    return -1 if since.possible_ms is None else most - since.possible_ms
