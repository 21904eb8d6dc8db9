"""The shape of an offer: an act that may be done, or that is waited for."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Step
from benchrun.run.clocks import LoadClock, WindowState
from benchrun.run.state import Question


class Deed(StrEnum):
    """The sort of an offer."""

    BEGIN = "begin"
    DO = "do"
    PUT_IN = "put in"
    LIFT = "lift"
    TELL = "tell"
    WITNESS = "witness"
    TEND = "tend"
    ANSWER = "answer"
    LATE = "late"
    GET_BACK = "get back"
    RESUME = "resume"
    CLOSE = "close"


@lean_dataclass(frozen=True)  # no slots: several are altered at each tick (`state.altered`)
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
        busy_ms: How long a load that goes in stays in at least, in milliseconds.
        room_in: The vessels of which none has room for it yet.
        vessel: The vessel that its parts would take by it, or have as a load already.
        has_vessel: Whether they have it already.
        behind: The parts without which it cannot be done yet.
        set_up: The entry that readied the place in this sitting already, where the step does that.
        figures: The figures that must be entered before it, by name.
        urgency: What it is sorted by (`urgency`).
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
    busy_ms: int = 0
    room_in: tuple[str, ...] = ()
    vessel: str = ""
    has_vessel: bool = False
    set_up: int | None = None
    behind: tuple[str, ...] = ()
    urgency: tuple[int, ...] = ()
    figures: tuple[str, ...] = ()

    @property
    def takes_vessel(self) -> bool:
        """Whether it makes a load, which has its vessel from then on."""
        return bool(self.vessel) and not self.has_vessel
