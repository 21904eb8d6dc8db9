"""A page to be read: its rows, and what Enter on it says."""

from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING

from benchrun.dialogue.prompts import BACK, NOTHING, Meaning, Taken
from benchrun.lean_dataclass import lean_dataclass

if TYPE_CHECKING:
    from benchrun.dialogue.tables import PageTable, TrendCurve
    from benchrun.procedure.route import Hazard
    from benchrun.run.clocks import LoadClock
    from benchrun.run.state import Run


class Tone(StrEnum):
    """How strongly a row is said."""

    TEXT = "text"
    QUIET = "quiet"
    STRONG = "strong"
    CALLS = "calls"


@lean_dataclass(frozen=True, slots=True)
class PageRow:
    """A row of a page to be read: a label in its own column, and words.

    Attributes:
        indent: By how many columns it stands further in.
        hangs: So many characters of the text stand before its words, over all rows that it takes.
        heads: Whether it is the head of the rows below it, and never stands alone.
        clock: The run and its running clock that the row tells, which a face may draw instead.
        hazard: The caution that the row tells, which a face may draw instead.
        first: Whether it must be heard before what the page leads to; where rows must, a face
            that speaks says these, and the others on a key.
        table: The table that the row is.
        curve: The trend that the row tells, which a face may draw below it.
    """

    text: str = ""
    label: str = ""
    tone: Tone = Tone.TEXT
    indent: int = 0
    heads: bool = False
    clock: "tuple[Run, LoadClock] | None" = None
    hazard: "Hazard | None" = None
    first: bool = False
    table: "PageTable | None" = None
    curve: "TrendCurve | None" = None
    hangs: int = 0


def hazard_row(hazard: "Hazard") -> PageRow:
    """The row of a caution."""
    words = f"{hazard.hazard} {hazard.consequence} {hazard.avoidance}"
    return PageRow(words, f"{hazard.signal.value.upper()}.", Tone.STRONG, 2, hazard=hazard)


class Topic(StrEnum):
    """The topic of a page that a face may draw richer than its rows."""

    WHY = "why"


@lean_dataclass(frozen=True, slots=True)
class PagePrompt:
    """Something to be read.

    Attributes:
        title: The head.
        rows: Makes the rows as things stand now.
        topic: What it is about, where a face may draw it richer than its rows.
        enter: What Enter is called.
        decides: Whether Enter says more than that it was read.
        returns: Whether Enter leads to the question before, as going back does.
        heard: Makes the rows for a face that says them, where these are others.
    """

    title: str
    rows: Callable[[], Sequence[PageRow]]
    topic: "Topic | None" = None
    enter: str = "back"
    decides: bool = False
    returns: bool = False
    heard: Callable[[], Sequence[PageRow]] | None = None

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: read to its end."""
        return NOTHING if typed == BACK else Taken(True)
