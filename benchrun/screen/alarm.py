"""Alarms: what the running clocks call for, kept until somebody answers, the most urgent first."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.text import span
from benchrun.wording import past_words

if TYPE_CHECKING:
    from benchrun.run.clocks import LoadClock
    from benchrun.run.state import Run

FIRST_BELL_S: Final = 10.0
LONGEST_BELL_S: Final = 160.0
LATE, CLOSE, TEND, DUE = 0, 1, 2, 3
_SIGNALS: Final = ("LATE", "NEARLY LATE", "TEND", "DUE")


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that a clock calls for.

    Attributes:
        key: What makes it this one call; answered once, it stays answered (but see `missed`).
        rank: How urgent it is, 0 the most; `words` says it.
        left_ms: By what those of one rank are sorted.
        missed: How often it would have been due again meanwhile; answered, it stands anew with the
            next.
    """

    key: tuple[object, ...]
    rank: int
    words: str
    left_ms: int = 0
    missed: int = 0

    @property
    def load(self) -> tuple[object, ...]:
        """Which run's load at which step it is about, in the order run, load, step."""
        return self.key[:3]

    @property
    def signal(self) -> str:
        """The one word in front."""
        return _SIGNALS[self.rank]


def alarms_of(run: "Run", at: Moment, run_id: str, name: str = "") -> list[Alarm]:
    """The alarms of a run's clocks now.

    Args:
        run: The run.
        at: Now.
        run_id: The run's id, so that what was answered on one screen is answered on all.
        name: The run's name, said in front when it is not the one in hand.
    """
    # A board with nothing open comes up without the rules.
    from benchrun.run.clocks import loads

    found: list[Alarm] = []
    for clock in loads(run, at):
        found += _of_clock(run, clock, run_id, name)
    return found


def _of_clock(run: "Run", clock: "LoadClock", run_id: str, name: str) -> list[Alarm]:
    from benchrun.procedure.route import Dwell

    detail = clock.step.detail
    if not isinstance(detail, Dwell):
        return []
    who = part_names(clock.parts, run.parts)
    who = f"{name}, {who}" if name else who
    base = (run_id, clock.load, clock.step.id)
    left = clock.to_most
    if left is not None and left < 0:
        words = f"{who}: {past_words(clock.spent, clock.most or 0)}. Take out now."
        return [Alarm((*base, LATE), LATE, words, left)]
    if left is not None and clock.most and left <= clock.most // 10 and not detail.place:
        words = f"{who}: {span(left)} left of {span(clock.most)}. Lift."
        return [Alarm((*base, CLOSE), CLOSE, words, left)]
    calls: list[Alarm] = []
    if clock.tend_in is not None and clock.tend_in <= 0:
        tended = run.markers[clock.parts[0]].soak
        turn = tended.tended.up_ms if tended else 0
        missed = -clock.tend_in // clock.every if clock.every else 0
        key = (*base, TEND, turn)
        calls.append(Alarm(key, TEND, f"{who}: {clock.tend}", clock.tend_in, missed))
    if not detail.place and _is_due(clock):
        # Beside the tending, which once heard would hide for good that the aim is reached.
        words = f"{who}: {span(clock.spent.proven_ms)} in, may be lifted."
        calls.append(Alarm((*base, DUE), DUE, words, left or 0))
    return calls


def _is_due(clock: "LoadClock") -> bool:
    from benchrun.run.verdict import EARLY, EARLY_OR_LATE, PERHAPS_EARLY

    if clock.state in (EARLY, PERHAPS_EARLY, EARLY_OR_LATE):
        return False
    if clock.aim is not None:
        return clock.spent.proven_ms >= clock.aim
    return clock.least is not None


class Bells:
    """Which alarms stand, which were answered, and when to ring again.

    Args:
        pulse: A clock in seconds that never runs back.
    """

    def __init__(self, pulse: Callable[[], float]) -> None:
        self._pulse = pulse
        self._answered: dict[tuple[object, ...], int] = {}
        self._standing: list[Alarm] = []
        self._next = 0.0
        self._gap = FIRST_BELL_S

    @property
    def first(self) -> Alarm | None:
        """The most urgent alarm that nobody has answered."""
        return self._standing[0] if self._standing else None

    @property
    def waiting(self) -> Sequence[Alarm]:
        """All alarms that nobody has answered, the most urgent first."""
        return self._standing

    def hear(self, alarms: Iterable[Alarm]) -> bool:
        """Take what the clocks call for now.

        Returns:
            Whether to ring: at once for a new alarm, then at growing intervals.
        """
        before = {one.key for one in self._standing}
        found = sorted(alarms, key=lambda one: (one.rank, one.left_ms))
        called = {one.key for one in found}
        self._answered = {key: n for key, n in self._answered.items() if key in called}
        self._standing = [one for one in found if one.missed > self._answered.get(one.key, -1)]
        now = self._pulse()
        if any(one.key not in before for one in self._standing):
            self._gap = FIRST_BELL_S
            self._next = now + self._gap
            return True
        if self._standing and now >= self._next:
            self._gap = min(self._gap * 2, LONGEST_BELL_S)
            self._next = now + self._gap
            return True
        return False

    def answer(self) -> Alarm | None:
        """Answer the most urgent alarm."""
        if not self._standing:
            return None
        alarm = self._standing.pop(0)
        self._answered[alarm.key] = alarm.missed
        return alarm
