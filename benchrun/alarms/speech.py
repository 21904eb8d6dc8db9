"""Speech for faces that draw nothing: each stage that a clock comes to is said once.

The stages are the earliest, the aim, two minutes before the latest, and the latest; of a window the
same without an aim, of a tending that it is due and that it is late.
"""

import datetime as dt
from collections.abc import Iterable
from typing import Final

from benchrun.alarms.calls import CallingRun
from benchrun.alarms.words import ClockWords, clock_words
from benchrun.moment import Moment
from benchrun.run.act_clocks import SOON_MS, ActClock, Band, ClockKind
from benchrun.run.urgency import ordered_clocks
from benchrun.text import heard_s

_Stage = tuple[bool, bool, bool, bool]
_HAS_EARLIEST: Final = (ClockKind.LOAD, ClockKind.AWAY, ClockKind.WINDOW)


class Speech:
    """Which stages of which clocks were said.

    Args:
        zone: The time zone that times of day are told in; None: that of this machine.
    """

    def __init__(self, zone: dt.tzinfo | None = None) -> None:
        self._zone = zone
        self._said: dict[tuple[str, ...], _Stage] = {}

    def news(
        self,
        runs: Iterable[CallingRun],
        at: Moment,
        in_hand: str = "",
        *,
        told: str = "",
        room: float | None = None,
    ) -> tuple[tuple[str, ...], int | None]:
        """The sentences to be said now, and milliseconds until there is more; None: nothing comes.

        Args:
            runs: The runs whose clocks are told.
            at: The moment.
            in_hand: The id of the run in hand; its clocks are told without its name.
            told: What was said a moment ago of that run; it is not said again.
            room: For how many seconds new clocks that call for nothing yet may be said; the others
                wait for the next time. None: as long as it takes.
        """
        known = {one.id: one for one in runs}
        lines, waits = [], []
        said: dict[tuple[str, ...], _Stage] = {}
        for one in ordered_clocks([(run.id, run.run) for run in known.values()], at):
            clock, its = one.clock, known[one.run_id]
            if clock.accepted:
                continue
            ahead = [ms for ms in _ahead(clock) if ms is not None]
            stage = said[one.key] = _stage(clock)
            waits += [ms for ms in ahead if ms > 0]
            before = self._said.get(one.key)
            own = its.id == in_hand
            if before == stage or (before is None and _quiet(clock, own=own)):
                continue
            words = clock_words(its.run, clock, at, self._zone)
            said_of = words.beside(told) if own else f"{its.title}: {words.line}"
            line = f"{_lead(clock, stage, words)} {said_of}"
            if before is None and room is not None and not any(stage) and _waits(clock):
                room -= heard_s([line])
                if room < 0:
                    del said[one.key]
                    continue
            lines.append(line)
        self._said = said
        return tuple(lines), min(waits, default=None)


def _ahead(clock: ActClock) -> tuple[int | None, int | None, int | None, int | None]:
    """Milliseconds to each stage; 0 or less when it has come."""
    load, harm = clock.load, clock.harm_in
    aim = None
    if load is not None and load.aim is not None and clock.kind is not ClockKind.TEND:
        aim = load.aim - load.spent.proven_ms
    near = None
    if harm is not None and clock.kind is not ClockKind.TEND:
        near = harm - min(SOON_MS, (clock.most or 0) // 2)
    return clock.opens_in, aim, near, None if harm is None else harm + 1


def _stage(clock: ActClock) -> _Stage:
    first, second, third, last = (ms is not None and ms <= 0 for ms in _ahead(clock))
    return first, second, third, last


def _quiet(clock: ActClock, *, own: bool) -> bool:
    """Whether a clock that runs needs no sentence yet: a tending, or one of another run."""
    return (clock.kind is ClockKind.TEND or not own) and clock.band is Band.RUNNING


def _waits(clock: ActClock) -> bool:
    """Whether a clock calls for nothing yet, nor in the next minutes."""
    soon = clock.harm_in is not None and clock.harm_in < SOON_MS
    return clock.band is Band.RUNNING and not soon


def _lead(clock: ActClock, stage: _Stage, words: ClockWords) -> str:
    """The first word of a sentence."""
    earliest, aim, near, late = stage
    if late or clock.band is Band.LATE:
        return "LATE."
    if near:
        if clock.harm_in is not None and clock.harm_in > SOON_MS - 1000:
            return f"{SOON_MS // 60_000} MIN LEFT."  # not a second less, as it has just come
        return f"{words.signal}." if clock.band is Band.SOON else "NEAR."
    if aim:
        return "AIM."
    if earliest and clock.opens_in is not None:
        return "EARLIEST." if clock.kind in _HAS_EARLIEST else "DUE."
    return "CLOCK"
