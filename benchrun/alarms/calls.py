"""The calls of the clocks of the open runs, the most urgent first, each with its words."""

import datetime as dt
from collections.abc import Iterable

from benchrun.alarms.words import ClockWords, clock_words
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.run.act_clocks import ActClock, Band, ClockKind
from benchrun.run.state import Run
from benchrun.run.urgency import ordered_clocks


@lean_dataclass(frozen=True, slots=True)
class CallingRun:
    """A run whose clocks may call.

    Attributes:
        id: The run's id.
        title: Its name, said of the calls of other runs than the one in hand.
        run: The run.
    """

    id: str
    title: str
    run: Run


@lean_dataclass(frozen=True, slots=True)
class Alarm:
    """A call of a clock.

    Attributes:
        run_id: Whose clock it is.
        title: The run's name; empty for the run in hand.
        clock: The clock.
        words: What is said of it.
    """

    run_id: str
    title: str
    clock: ActClock
    words: ClockWords

    @property
    def key(self) -> tuple[str, ...]:
        """The key that makes it the same call, in every window."""
        return (self.run_id, *self.clock.key)

    @property
    def band(self) -> Band:
        """How loud it is."""
        return self.clock.band

    @property
    def silenced_to(self) -> Band:
        """The loudest band at which its silence holds; a tending is quiet for its interval."""
        return Band.LATE if self.clock.kind is ClockKind.TEND else self.band

    @property
    def seconds(self) -> int:
        """Seconds left before harm, negative when it is past; 0 where no harm comes."""
        if self.clock.harm_in is None:
            return 0
        left = -self.clock.over_ms if self.clock.harm_in < 0 else self.clock.harm_in
        return int(left / 1000)

    @property
    def line(self) -> str:
        """All of it in one line."""
        name = f"{self.title}: " if self.title else ""
        return f"{name}{self.words.line}"


@lean_dataclass(frozen=True, slots=True)
class Calls:
    """The calls at a moment.

    Attributes:
        alarms: The calls, the most urgent first.
        next_in: Milliseconds until a clock comes to its next band; None when none will.
    """

    alarms: tuple[Alarm, ...] = ()
    next_in: int | None = None


def calls_of(
    runs: Iterable[CallingRun], at: Moment, in_hand: str = "", zone: dt.tzinfo | None = None
) -> Calls:
    """The calls of some runs, and when that changes by itself.

    Args:
        runs: The runs.
        at: The moment.
        in_hand: The id of the run that is looked at; its calls carry no name.
        zone: The time zone of the words; None: that of this machine.
    """
    known = {one.id: one for one in runs}
    found, waits = [], []
    for one in ordered_clocks([(run.id, run.run) for run in known.values()], at):
        if one.clock.next_in is not None:
            waits.append(one.clock.next_in)
        if one.clock.band > Band.RUNNING and not one.clock.accepted:
            its = known[one.run_id]
            title = "" if its.id == in_hand else its.title
            words = clock_words(its.run, one.clock, at, zone)
            found.append(Alarm(its.id, title, one.clock, words))
    return Calls(tuple(found), min(waits, default=None))
