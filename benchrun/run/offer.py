"""An offer, and how urgent one can be."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from benchrun.procedure.route import Step
from benchrun.run.clocks import LoadClock, WindowState
from benchrun.run.state import Question

NEAR_SHARE: Final = 4  # the last quarter of a limit counts as near it; common practice, no source
URGENT, CLOSING, USUAL, WAITING = 0, 1, 2, 3


class Deed(StrEnum):
    """The sort of an offer."""

    DO = "do"
    PUT_IN = "put in"
    LIFT = "lift"
    TEND = "tend"
    ANSWER = "answer"
    LATE = "late"
    GET_BACK = "get back"
    RESUME = "resume"
    CLOSE = "close"


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that may be done, or that is waited for.

    Attributes:
        deed: What it is.
        parts: For whom, in batch order.
        step: At which step, if at one.
        ready: Whether it should be done now; otherwise `why` says what it waits for.
        wait_ms: How long until it is ready, if a clock decides.
        place: The place of a reading.
        question: The question to answer, of the first part; `questions` names each part's own.
        clock: The load it is about.
        window: The window of the first part.
        urgency: What it is sorted by.
    """

    deed: Deed
    parts: tuple[str, ...]
    step: Step | None = None
    ready: bool = True
    why: str = ""
    wait_ms: int | None = None
    place: str = ""
    question: Question | None = None
    questions: Mapping[str, str] = field(default_factory=dict)
    clock: LoadClock | None = None
    window: WindowState | None = None
    urgency: tuple[int, ...] = ()
