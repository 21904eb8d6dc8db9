"""The clocks that an act ends: loads, tendings, windows, parts sent out, and how far each has come.

One type for all of them. What is counted against an earliest time is what is proven, what is
counted against a latest time is what is possible, so that a doubt never makes a clock look better.
"""

from collections.abc import Iterable
from enum import IntEnum, StrEnum
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Elapsed, Mark, Moment
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Dwell, Step, Witness
from benchrun.run.clocks import LoadClock, WindowState, loads, window
from benchrun.run.course import ACT_MS
from benchrun.run.memory import remembered
from benchrun.run.state import Marker, Run
from benchrun.run.verdict import draw, milliseconds, reads_of

SOON_MS: Final = 120_000
"""At least so long before its latest a clock calls; common practice, no source."""

SOON_SHARE: Final = 10
"""A clock of a long time calls when this part of it is left; common practice, no source."""

NEAR_SHARE: Final = 4
"""The last quarter of a limit counts as near it; common practice, no source."""

_MINUTE, _HOUR, _TEND_QUIET = 60_000, 3_600_000, 300_000


_Began = tuple[str, Mark, Mark, int, bool, tuple[int | None, int | None, str], str]


class ClockKind(StrEnum):
    """Which act ends a clock."""

    LOAD = "take out"
    TEND = "tend"
    WINDOW = "begin"
    AWAY = "receive back"
    NOTICE = "witness"


class Band(IntEnum):
    """How far a clock has come, and so how loud it calls."""

    RUNNING = 0
    DUE = 1
    SOON = 2
    LATE = 3


@lean_dataclass(frozen=True, slots=True)
class ActClock:
    """A clock that an act ends.

    Attributes:
        kind: Which act ends it.
        step: Whose times they are: the dwell, or the step that a window stands before.
        parts: For which parts, in batch order.
        began: Tells the clocks of one kind at one step apart, and stays while time goes on.
        band: How far it has come.
        next_in: Milliseconds until its next band; None when none follows.
        spent: What counts against `most`.
        opens_in: Milliseconds until its act may be done, 0 or less when it may; None: at once.
        harm_in: Milliseconds until harm is possible, negative when it may be done; None: no harm.
        lead: How long the work before its act takes.
        least, most: The times that it is held against, in milliseconds, or None.
        quiet_ms: How long a silenced call of it stays silent.
        accepted: Whether a person has judged its being late already: it calls no more.
        load: The load, unless it is a window.
        state: How a window stands.
    """

    kind: ClockKind
    step: Step
    parts: tuple[str, ...]
    began: str
    band: Band
    next_in: int | None
    spent: Elapsed
    opens_in: int | None = None
    harm_in: int | None = None
    lead: int = 0
    least: int | None = None
    most: int | None = None
    quiet_ms: int = _MINUTE
    accepted: bool = False
    load: LoadClock | None = None
    state: WindowState | None = None

    @property
    def key(self) -> tuple[str, ...]:
        """The key that makes it the same clock, within its run."""
        answered = "answered" if self.accepted else ""
        return (self.kind.value, self.step.id, self.began, answered)

    @property
    def slack(self) -> int | None:
        """Milliseconds to spare before harm, with the work before its act taken off."""
        return None if self.harm_in is None else self.harm_in - self.lead

    @property
    def over_ms(self) -> int:
        """Milliseconds past the latest by what is known; 0 when it is not past, or may not be.

        A tending is past from the moment at which it was due.
        """
        if self.harm_in is None or self.most is None or self.harm_in >= 0:
            return 0
        if self.kind is ClockKind.TEND:
            return -(self.opens_in or 0)
        if self.spent.possible_ms is None:
            return max(0, self.spent.proven_ms - self.most)
        return -self.harm_in

    @property
    def near(self) -> bool:
        """Whether harm is so near that other work waits."""
        slack = self.slack
        if slack is None or self.most is None or self.kind is ClockKind.AWAY:
            return False
        return slack <= max(SOON_MS, self.most // NEAR_SHARE)


@remembered
def act_clocks(run: Run, at: Moment) -> tuple[ActClock, ...]:
    """Every clock of a run at a moment, in no order; `urgency` orders them."""
    if run.ended:
        return ()
    found: list[ActClock] = []
    for load in loads(run, at):
        found += _of_load(load)
    return (*found, *_windows(run, at))


def _band(*steps: tuple[Band, int | None]) -> tuple[Band, int | None]:
    """The band that is reached, and how long until the next, by when each is reached."""
    reached, ahead = Band.RUNNING, None
    for band, wait in steps:
        if wait is None:
            continue
        if wait <= 0:
            reached = max(reached, band)
    for band, wait in steps:
        if wait is not None and wait > 0 and band > reached:
            ahead = wait if ahead is None else min(ahead, wait)
    return reached, ahead


def _past(harm_in: int | None) -> int | None:
    """When a limit is passed: a time equal to it meets it."""
    return None if harm_in is None else harm_in + 1


def _before(harm_in: int | None, warn_ms: int) -> int | None:
    return None if harm_in is None else harm_in - warn_ms


def _quiet(limit: int | None) -> int:
    """How long a call stays silent: a sixtieth of its time, a minute at least, an hour at most."""
    return min(_HOUR, max(_MINUTE, (limit or 0) // 60))


def _of_load(load: LoadClock) -> Iterable[ActClock]:
    detail = load.step.detail
    away = isinstance(detail, Dwell) and bool(detail.place)
    most, harm_in = load.most, load.to_most
    warn = max(SOON_MS, (most or 0) // SOON_SHARE)
    ready = _ready_in(load)
    if away:
        # Nobody at the bench can end it: it is told a while before, and shouts only when late.
        told = _before(harm_in, warn) if ready is None else ready
        band, after = _band((Band.DUE, told), (Band.LATE, _past(harm_in)))
    else:
        soon = _before(harm_in, min(warn, (most or 0) // 2))
        band, after = _band((Band.DUE, ready), (Band.SOON, soon), (Band.LATE, _past(harm_in)))
    yield ActClock(
        _ended_by(load),
        load.step,
        load.parts,
        str(load.load),
        band,
        after,
        load.spent,
        load.to_least if load.least is not None else None,
        harm_in,
        least=load.least,
        most=most,
        quiet_ms=_quiet(most or load.aim or load.least),
        load=load,
    )
    if load.tend_in is not None and (away or band is not Band.LATE):
        # What is past its most is taken out, not tended.
        yield _tending(load, load.tend_in)


def _ended_by(load: LoadClock) -> ClockKind:
    """Which act ends the clock of a load, of parts sent away, of a notice."""
    detail = load.step.detail
    if isinstance(detail, Witness):
        return ClockKind.NOTICE
    return ClockKind.AWAY if isinstance(detail, Dwell) and detail.place else ClockKind.LOAD


def _ready_in(load: LoadClock) -> int | None:
    """When a load should come out: at its aim, else at its least; None where it has neither."""
    if load.aim is not None:
        return max(load.aim - load.spent.proven_ms, load.to_least)
    return None if load.least is None else load.to_least


def _tending(load: LoadClock, due_in: int) -> ActClock:
    """A tending: due when its interval is over, late when the time it takes has passed as well."""
    every = load.every or 0
    harm_in = due_in + min(ACT_MS, every // NEAR_SHARE)
    band, after = _band((Band.DUE, due_in), (Band.LATE, _past(harm_in)))
    return ActClock(
        ClockKind.TEND,
        load.step,
        load.parts,
        f"{load.load}-{load.tended}",
        band,
        after,
        Elapsed(every - due_in, every - due_in),
        due_in,
        harm_in,
        least=every,
        most=every,
        quiet_ms=max(1_000, min(every, _TEND_QUIET)),
        load=load,
    )


def _windows(run: Run, at: Moment) -> list[ActClock]:
    """The windows before later steps, one clock for the parts whose window began together.

    Those whose lateness a person has answered are apart from those that still call.
    """
    grouped: dict[_Began, tuple[WindowState, list[Marker]]] = {}
    for marker in run.each():
        for name, its in marker.windows.items() if marker.here else ():
            state = window(run, marker, run.route.steps[name], at)
            if state is not None:
                most = _most_alone(run, marker, name) if state.unknown else state.most
                limits = (state.least, most, state.unknown)
                began = (
                    name,
                    its.least_from,
                    its.most_from,
                    its.ago_ms,
                    state.answered,
                    limits,
                    _waiting(run, marker, name),
                )
                grouped.setdefault(began, (state, []))[1].append(marker)
    return [_window(run, began, group, state) for began, (state, group) in grouped.items()]


def _window(run: Run, began: _Began, group: list[Marker], state: WindowState) -> ActClock:
    step, (least, most, _), accepted = run.route.steps[began[0]], began[5], state.answered
    harm_in = None if most is None else _left(most, state.since_most)
    lead = max(_work_before(run, marker, step) for marker in group)
    warn = max(SOON_MS, (most or 0) // SOON_SHARE, lead + ACT_MS)
    standing = any(_stands_at(run, marker, step) for marker in group)
    opens = state.to_least if standing and least is not None and not accepted else None
    if state.unknown and standing:
        opens = 0  # it cannot begin before a person settles what its times depend on
    if state.paused and harm_in is not None and harm_in >= 0:
        harm_in = None  # it comes no nearer while the parts wait for room
    harm = None if accepted else harm_in
    band, after = _band(
        (Band.DUE, opens), (Band.SOON, _before(harm, warn)), (Band.LATE, _past(harm))
    )
    return ActClock(
        ClockKind.WINDOW,
        step,
        tuple(marker.part for marker in group),
        _of_window(began, state),
        band,
        after,
        state.since_most,
        state.to_least,
        harm_in,
        lead,
        least,
        most,
        _quiet(most or least),
        accepted,
        state=state,
    )


def _most_alone(run: Run, marker: Marker, name: str) -> int | None:
    """The latest of a window whose earliest cannot be told: it may harm all the same."""
    limits = run.route.steps[name].window
    try:
        return milliseconds(limits.most, draw(marker, reads_of(limits.most))) if limits else None
    except Undetermined:
        return None


def _of_window(began: _Began, state: WindowState) -> str:
    """The name of a window's beginning; with its limits where they differ from part to part.

    Limits that cannot be worked out are told apart by why: one part's reading is missing, another's
    lies outside the table.
    """
    name = f"{_of_mark(began[1])}-{_of_mark(began[2])}-{began[3]}"
    least, most, unknown = began[5]
    name = f"{name}-{least}-{most}-{unknown}" if state.depends else name
    return f"{name}-{began[6]}" if began[6] else name


def _waiting(run: Run, marker: Marker, name: str) -> str:
    """Tells parts apart that wait for room since different moments, where that does not count."""
    limits = run.route.steps[name].window
    if limits is None or limits.room_counts or marker.ready_since is None:
        return ""
    return f"{marker.ready_since[0]}/{marker.size}"


def _of_mark(mark: Mark) -> str:
    """The name of a mark: marks of several boots may have the same numbers."""
    return f"{mark.proven_ms}.{mark.up_ms}.{mark.utc_ms}.{mark.boot[-8:]}"


def _left(most: int, since: Elapsed) -> int:
    return -1 if since.possible_ms is None else most - since.possible_ms


def _stands_at(run: Run, marker: Marker, step: Step) -> bool:
    """Whether a part is free to begin a step now, but for its window."""
    return marker.free and marker.index in run.course.ops_of(step.id)


def _work_before(run: Run, marker: Marker, step: Step) -> int:
    """How long the work takes that a part has before it, until it stands at a step."""
    course, target = run.course, run.route.index[step.id]
    if marker.index in course.ops_of(step.id):
        return 0
    work = course.work_between(marker.index, target)
    here = run.route.step_at(marker.index)
    if marker.soak is not None and here is not None:
        work -= course.least_of(here.step)  # that runs already
    return work
