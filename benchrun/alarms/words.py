"""Words for the clocks that an act ends: which act, for whom, by when; alike in every face."""

import datetime as dt

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.run.act_clocks import ActClock, Band, ClockKind
from benchrun.run.state import Run
from benchrun.text import dial, span
from benchrun.wording import clock_time, past_words

_HOUR, _DAY = 3_600_000, 86_400_000


@lean_dataclass(frozen=True, slots=True)
class ClockWords:
    """The words that a person reads of a clock.

    Attributes:
        act: The act that ends it: `take out of the etch tub`, `step 4, Rinse in running water`.
        parts: For which parts.
        when: By when, or how far past: `by 14:43`, `1 min 18 s past 20 min`.
        signal: The word in front of a call: `DUE`, `2 MIN LEFT`, `LATE`; empty while it runs.
    """

    act: str
    parts: str
    when: str
    signal: str

    @property
    def line(self) -> str:
        """All but the signal in one line."""
        return f"{self.parts}: {self.act}, {self.when}"

    def beside(self, told: str) -> str:
        """The same line for whoever has just heard something, without what that said already."""
        step, _, does = self.act.partition(", ")
        known = bool(does) and does in told
        if f"{self.parts}: " in told:
            return self.when if known else f"{self.act}, {self.when}"
        return f"{self.parts}: {step if known else self.act}, {self.when}"


def clock_words(
    run: Run, clock: ActClock, now: Moment, zone: dt.tzinfo | None = None
) -> ClockWords:
    """The words for a clock of a run.

    Args:
        run: The run.
        clock: A clock of it at that moment.
        now: The moment.
        zone: The time zone that times of day are told in; None: that of this machine.
    """
    return ClockWords(
        act_words(run, clock),
        part_names(clock.parts, run.parts),
        when_words(clock, now, zone),
        signal_words(clock),
    )


def act_words(run: Run, clock: ActClock) -> str:
    """Which act ends a clock."""
    step = clock.step
    match clock.kind:
        case ClockKind.TEND:
            return f"tend: {clock.load.tend.removesuffix('.')}" if clock.load else "tend"
        case ClockKind.WINDOW:
            return f"step {step.number}, {step.text.removesuffix('.')}"
        case ClockKind.AWAY:
            return f"due back from {clock.load.vessel if clock.load else ''}"
        case ClockKind.NOTICE:
            return f"witness, step {step.number}: enter who came"
    vessel = run.route.vessels.get(clock.load.vessel if clock.load else "")
    if vessel is None:
        return f"end step {step.number}"
    return f"take out of the {vessel.title}"


def signal_words(clock: ActClock) -> str:
    """The word in front of a call, with the number that is its message."""
    if clock.accepted:
        return ""
    match clock.band:
        case Band.LATE:
            return "LATE"
        case Band.SOON:
            left = max(0, clock.harm_in or 0)
            minutes = left // 60_000
            if left >= 3_600_000:
                return f"{minutes // 60} H LEFT"
            return f"{minutes} MIN LEFT" if left >= 120_000 else f"{dial(left)} LEFT"
        case Band.DUE:
            return "DUE"
    return ""


def when_words(clock: ActClock, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """By when the act of a clock is to be done, or how far past that it is."""
    if clock.kind is ClockKind.TEND:
        return _tend_words(clock, now, zone)
    if clock.state is not None and clock.state.unknown and clock.harm_in is None:
        return f"times not known: {clock.state.unknown}"
    if clock.kind is ClockKind.NOTICE and (clock.opens_in or 0) <= 0:
        return "the notice has run out"
    late = clock.harm_in is not None and clock.harm_in < 0
    if late:
        past = past_words(clock.spent, clock.most or 0)
        if clock.kind is ClockKind.WINDOW and clock.over_ms:
            past = f"closed {_at(now, clock.harm_in or 0, zone)}, {past}"
        return f"{past} (answered)" if clock.accepted else past
    opens = clock.opens_in if clock.opens_in is not None and clock.opens_in > 0 else None
    by = "" if clock.harm_in is None else _at(now, clock.harm_in, zone)
    if opens is not None:
        soon = opens < 60_000  # a clock time of whole minutes would say nothing
        since = f"in {dial(opens + 999)}" if soon else f"from {_at(now, opens + 59_999, zone)}"
        return f"{since}, until {by}" if by and soon else f"{since} until {by}" if by else since
    if by:
        return f"by {by}"
    return "no limit" if clock.opens_in is None else "no latest time"


def large_figures(clock: ActClock) -> tuple[str, str]:
    """The figures of a clock to be drawn large, and what they count: left, to go, over, in."""
    due = clock.opens_in
    if due is not None and due > 0:
        return _figures(due, "to go")
    if clock.kind is ClockKind.TEND:
        return _figures(-(due or 0), "over")
    if clock.harm_in is not None and clock.harm_in < 0:
        return _figures(clock.over_ms, "over") if clock.over_ms else ("-:--", "not known")
    if clock.harm_in is not None:
        return _figures(clock.harm_in, "left")
    return _figures(clock.spent.proven_ms, "open" if clock.kind is ClockKind.WINDOW else "in")


def _figures(ms: int, unit: str) -> tuple[str, str]:
    if ms < _HOUR:
        return dial(ms), unit
    if ms < 2 * _DAY:
        return f"{ms // _HOUR}:{ms % _HOUR // 60_000:02d}", f"h {unit}"
    return str(ms // _DAY), f"d {unit}"


def _tend_words(clock: ActClock, now: Moment, zone: dt.tzinfo | None) -> str:
    due = clock.opens_in or 0
    if due > 0:
        return f"in {dial(due)}" if due < 3_600_000 else f"at {_at(now, due, zone)}"
    past = due <= -60_000 or clock.band is Band.LATE
    return f"overdue by {span(-due)}" if past else "due now"


def _at(now: Moment, ms: int, zone: dt.tzinfo | None) -> str:
    return clock_time(now.utc_ms + ms, now.utc_ms, zone)
