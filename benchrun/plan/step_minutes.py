"""The minutes that steps take: learned from past runs, or a guess that is called one."""

from collections.abc import Callable
from statistics import NormalDist
from typing import Final

from benchrun.history.step_paces import GUESSED_HIGH, GUESSED_LOW, StepPace
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Dwell, Kind, Reading, Step

MINUTE_MS: Final = 60_000
USUAL: Final = 0.65
"""A plan counts with the times that so large a share of goes stays under."""
QUICK: Final = 0.2
"""The same for the soonest end that is told."""
SLOW: Final = 0.85
"""The same for the latest end that is told."""
_NORMAL: Final = NormalDist()
_NINETY: Final = _NORMAL.inv_cdf(0.9)


@lean_dataclass(frozen=True, slots=True)
class StepMinutes:
    """How long a step takes.

    Attributes:
        each: Minutes for each part, half of all goes.
        once: Minutes for each go beside that.
        low: What 10 of 100 goes stay under, against half of them.
        high: The same for 90 of 100.
        runs: How many past runs it rests on; 0: a guess.
        stands: For a dwell, the minutes that loads stood in past runs; None where nothing is known.
    """

    each: float
    once: float = 0.0
    low: float = GUESSED_LOW
    high: float = GUESSED_HIGH
    runs: int = 0
    stands: float | None = None

    @property
    def guess(self) -> bool:
        """Whether nothing was learned of it."""
        return not self.runs

    def minutes(self, count: int, share: float = USUAL) -> float:
        """The minutes that a share of goes with so many parts stays under."""
        return (self.each * count + self.once) * self.factor(share)

    def factor(self, share: float) -> float:
        """The time that a share of goes stays under against half of them.

        Times are taken to be spread so that their logarithms are normal, on either side by the
        value that 10 and 90 of 100 stay under.
        """
        distance = _NORMAL.inv_cdf(share) / _NINETY
        return float(self.high**distance if distance >= 0 else self.low**-distance)

    @property
    def words(self) -> str:
        """The times and what they rest on: `4 min once and 5 min a part, 7 past runs`."""
        if self.guess:
            return "a guess: never timed in this shop"
        each, once = round(self.each, 1), round(self.once, 1)
        split = [f"{each:g} min a part"] if each else []
        split += [f"{once:g} min once"] if once else []
        low, high = round(self.low * 100), round(self.high * 100)
        past = f"{self.runs} past run{'s' if self.runs > 1 else ''}"
        return f"{' and '.join(split) or 'no time'}, {low} to {high} %, {past}"


Takes = Callable[[str, Step], StepMinutes]
"""How long a step of a procedure takes; given the procedure's id and the step."""


def learned_minutes(pace: StepPace, step: Step) -> StepMinutes:
    """The minutes of a step by what past runs took for it."""
    each, once = pace.each / MINUTE_MS, pace.once / MINUTE_MS
    if pace.stood:
        hands = guessed_minutes(step)
        return StepMinutes(hands.each, hands.once, pace.low, pace.high, pace.runs, once + each)
    if isinstance(step.detail, Reading):
        each *= max(1, len(step.detail.places))
    return StepMinutes(each, once, pace.low, pace.high, pace.runs)


def guessed_minutes(step: Step) -> StepMinutes:
    """A guess for a step that was never timed; common practice, no source."""
    match step.kind:
        case Kind.WORK_OUT:
            return StepMinutes(0.0, 0.5)
        case Kind.HOLD:
            return StepMinutes(0.0, 2.0)
        case Kind.READING:
            places = len(step.detail.places) if isinstance(step.detail, Reading) else 1
            return StepMinutes(1.0 * max(1, places))
        case Kind.WITNESS:
            return StepMinutes(0.0, 2.0)
        case Kind.DWELL:
            away = isinstance(step.detail, Dwell) and bool(step.detail.place)
            return StepMinutes(0.5, 10.0 if away else 1.0)
    return StepMinutes(2.0)
