"""One row of a plan: when, what, for whom, why not sooner; and its time in words."""

import datetime as dt

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plan.step_minutes import MINUTE_MS
from benchrun.wording import clock_time


@lean_dataclass(frozen=True, slots=True)
class PlanRow:
    """A row of a plan.

    Attributes:
        at: When it begins, milliseconds since 1970.
        letter: The letter of its run.
        words: What is done.
        parts: For which parts.
        minutes: How long it takes.
        hands: How much of that wants hands.
        why: Why not sooner.
        late: What a missed window adds, or empty.
        guess: Whether its times are guessed.
        train: The name of its train.
    """

    at: int
    letter: str
    words: str
    parts: str
    minutes: int
    hands: int
    why: str
    late: str
    guess: bool
    train: str


def said_at(ms: int, now: Moment, zone: dt.tzinfo | None) -> str:
    """A moment of a plan in words, with its day where it is far."""
    return clock_time(ms, now.utc_ms, zone, day=ms - now.utc_ms > 18 * 60 * MINUTE_MS)
