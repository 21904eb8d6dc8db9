"""Prompts: the questions to a person, and what a typed answer to it means.

An answer is a text: the figure of a numbered line, words, empty for Enter, or `BACK`.
"""

from collections.abc import Callable, Sequence
from dataclasses import field, replace
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Final, Protocol

from benchrun.dialogue.typed_value import (
    MINUS,
    TypedValue,
    below_zero,
    minus_refused,
    uncertainty_of,
)
from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import slug

if TYPE_CHECKING:
    from benchrun.dialogue.tables import PageTable, TrendCurve
    from benchrun.moment import Moment
    from benchrun.procedure.route import Hazard, Reading, Step
    from benchrun.run import commands as c
    from benchrun.run.clocks import LoadClock
    from benchrun.run.entries import Remark, Tool
    from benchrun.run.state import Run
    from benchrun.shop.people import Person

BACK: Final = "-"
NOT_SO: Final = "0"
ANOTHER_SIGNER: Final = "+"
ANOTHER_INSTRUMENT: Final = "*"
ALL: Final = "*"
SAME: Final = "="
"""Behind a reading: the same for all parts that wait for it; alone: the last value once more."""
WANTS_CALIBRATED: Final = "A calibrated one is wanted; none of the shop's is in hand."
MORE: Final = "9"
PER_PAGE: Final = 8


@lean_dataclass(frozen=True, slots=True)
class Taken:
    """An answer that the question takes.

    Attributes:
        value: What it means: an index, a text, parts; None for going back.
    """

    value: object


@lean_dataclass(frozen=True, slots=True)
class Stays:
    """An answer after which something is still asked.

    Attributes:
        prompt: What is asked now.
        said: Why, or empty.
    """

    prompt: "Askable"
    said: str = ""


Meaning = Taken | Stays


class Askable(Protocol):
    """Whatever is asked, and knows what an answer to it means."""

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer."""
        ...


NOTHING: Final = Taken(None)


@lean_dataclass(frozen=True, slots=True)
class Option:
    """A numbered line to choose.

    Attributes:
        beside: What is said of it, quietly.
        number: Its own number, which stays its own whatever else is on offer; 0: by its place.
        heard: The same as beside in fewer words, where it is heard; empty: as it is read.
    """

    words: str
    beside: str = ""
    number: int = 0
    heard: str = ""


@lean_dataclass(frozen=True, slots=True)
class Choose:
    """One of several numbered lines; what does not fit nine numbers goes on over the last.

    Attributes:
        title: What is chosen.
        said: What is said above the lines.
        first: The place of the first line that is shown.
        explains: Whether what stands beside the lines only explains them: a face that speaks says
            it on a key.
        usual: The place of the line that Enter takes; None: Enter takes none.
    """

    title: str
    options: tuple[Option, ...]
    said: str = ""
    first: int = 0
    explains: bool = False
    usual: int | None = None

    @property
    def shown(self) -> tuple[tuple[int, Option], ...]:
        """The lines of this page with their numbers."""
        lines = self.options
        if len(lines) > PER_PAGE + 1:
            lines = lines[self.first : self.first + PER_PAGE]
        return tuple((line.number or place, line) for place, line in enumerate(lines, 1))

    @property
    def more(self) -> str:
        """The words beside the number of the next page; empty where all lines are shown."""
        shown = len(self.shown)
        if shown == len(self.options):
            return ""
        return f"more, {self.first + shown} of {len(self.options)} shown"

    def place(self, number: str) -> int | None:
        """The place of the line with a number, if this page has one."""
        for place, (own, _) in enumerate(self.shown, self.first):
            if number == str(own):
                return place
        return None

    def turned(self) -> "Choose":
        """The next page; after the last the first one again."""
        after = self.first + PER_PAGE
        return replace(self, first=after if after < len(self.options) else 0)

    def turned_back(self) -> "Choose":
        """The page before."""
        return replace(self, first=max(0, self.first - PER_PAGE))

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the place of a line."""
        if typed == BACK:
            return NOTHING
        place = self.place(typed)
        if place is not None:
            return Taken(place)
        if typed == MORE and self.more:
            return Stays(self.turned())
        if not typed and self.usual is not None:
            return Taken(self.usual)
        if not typed:
            return Stays(self, "Choose by its number.")
        numbers = [str(number) for number, _ in self.shown]
        return Stays(self, f"Type one of these numbers: {', '.join(numbers)}.")


@lean_dataclass(frozen=True, slots=True)
class Text:
    """A line of text, or one of those at hand by its number.

    Attributes:
        title: What is asked for.
        said: What is said above it.
        ready: Texts at hand, each with its own number.
        offered: What Enter takes while nothing is typed.
        typed: What stands in the field already: it was refused and can be mended.
        heard: The same as title and what is said in fewer words, where it is heard; empty: as read.
    """

    title: str
    said: str = ""
    ready: tuple[str, ...] = ()
    offered: str = ""
    typed: str = ""
    heard: str = ""

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the text."""
        if typed == BACK:
            return NOTHING
        if typed.isascii() and typed.isdigit() and 1 <= int(typed[:4]) <= len(self.ready):
            return Taken(self.ready[int(typed) - 1])
        text = typed.strip() or self.offered
        return Taken(text) if text else Stays(self)


@lean_dataclass(frozen=True, slots=True)
class Confirm:
    """Something that is asked once more; Enter does it."""

    title: str
    said: str

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: yes."""
        if typed == BACK:
            return NOTHING
        return Taken(True) if not typed else Stays(self, "Enter does it, - goes back.")


@lean_dataclass(frozen=True, slots=True)
class Check:
    """One of several things that are checked one after the other: Enter finds it so, 0 not.

    Attributes:
        title: What they are checked for.
        says: What is checked now.
        checked: What was found so, each with when.
        ahead: What comes behind it.
    """

    title: str
    says: str
    checked: tuple[tuple[str, "Moment"], ...] = ()
    ahead: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Which of how many this is: `2 of 4`."""
        number = len(self.checked) + 1
        return f"{number} of {number + len(self.ahead)}"

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: whether it is so."""
        if typed == BACK:
            return NOTHING
        if typed in ("", NOT_SO):
            return Taken(not typed)
        return Stays(self, f"Enter: it is so. {NOT_SO}: it is not so.")


@lean_dataclass(frozen=True, slots=True)
class PartsChoice:
    """Parts by their numbers in the batch, or by their tags.

    Attributes:
        title: What they are chosen for.
        batch: Every part of the run; the first has number 1.
        among: Those whom the thing in hand concerns; `*` chooses all of them.
        chosen: Those that are chosen at first.
        needed: Whether at least one must be chosen.
        states: Where each part of the batch stands, in words.
    """

    title: str
    batch: tuple[str, ...]
    among: tuple[str, ...]
    chosen: tuple[str, ...] = ()
    needed: bool = False
    states: tuple[str, ...] = ()

    def number(self, part: str) -> int:
        """The number of a part."""
        return self.batch.index(part) + 1

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the parts, in the order of the batch."""
        if typed == BACK:
            return NOTHING
        if typed == ALL:
            return Taken(self.among)
        named: set[str] = set()
        for piece in filter(None, (one.strip() for one in typed.split(","))):
            tagged = [part for part in self.batch if slug(part) == slug(piece, "")]
            words = [] if tagged else piece.split()
            wrong = [word for word in words if not self._known(word)]
            if wrong:
                return Stays(
                    self,
                    f"There is no part {piece if len(wrong) == len(words) else wrong[0]} here.",
                )
            named |= {*tagged, *(self.batch[int(word) - 1] for word in words)}
        parts = tuple(part for part in self.batch if part in named)
        if self.needed and not parts:
            return Stays(self, "Choose at least one, or - to go back.")
        return Taken(parts)

    def _known(self, word: str) -> bool:
        known = word.isascii() and word.isdigit() and len(word) <= 4
        return known and 1 <= int(word) <= len(self.batch)


@lean_dataclass(frozen=True, slots=True)
class ForAll:
    """A reading that is the same for all parts that wait for it."""

    typed: str


@lean_dataclass(frozen=True, slots=True)
class ReadingPrompt:
    """A reading to be typed.

    Attributes:
        step, detail: What is measured.
        parts: On which part; several where the reading is shared.
        place: Where on it.
        low, high: The limits in the reading's unit, as they are worked out now.
        tool: The instrument in hand.
        misgivings: Why a reading with it needs a reason, if it does.
        others: Whether another instrument can be taken.
        rivals: The ids of several instruments that fit alike: with the first value it is asked
            once which one it was taken with.
        resolution: The smallest step of the instrument, in the reading's unit; None when unknown.
        last: The last value of this step in the run, as it was typed; empty before the first.
        waiting: Everybody who waits for this reading, or those of them that were chosen.
        bookless: Whether the shop lists no instruments, which was told before the begin.
    """

    step: "Step"
    detail: "Reading"
    parts: tuple[str, ...]
    place: str
    low: Decimal | None = None
    high: Decimal | None = None
    tool: "Tool | None" = None
    misgivings: tuple[str, ...] = ()
    others: bool = False
    rivals: tuple[str, ...] = ()
    resolution: Decimal | None = None
    last: str = ""
    waiting: tuple[str, ...] = ()
    bookless: bool = False

    @property
    def lacks_calibration(self) -> bool:
        """Whether a calibrated instrument of the shop's book is wanted, and none is in hand."""
        in_hand = self.rivals or (self.tool is not None and self.tool.calibrated)
        return self.detail.calibrated and not in_hand and not self.bookless

    def value(self, typed: str) -> TypedValue:
        """The value that a typed text comes to."""
        doubt = uncertainty_of(self.tool)
        return TypedValue(self.detail, typed, self.low, self.high, doubt, self.resolution)

    def refused(self, typed: str) -> str:
        """Why a text is refused as it is typed, in words; empty where it may go on."""
        minus = typed.lstrip().startswith(MINUS)
        if minus and not below_zero(self.detail, self.low, self.high):
            return minus_refused(self.detail)
        return ""

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the reading as typed, for whom, or another instrument."""
        if typed == BACK:
            return NOTHING
        typed = typed.strip()
        if typed == SAME and not self.last:
            return Stays(self, "There is no value yet that could be given once more.")
        if not typed:
            return Stays(self, "Type the reading, then Enter.")
        shared = typed.endswith(SAME) and typed != SAME
        typed = self.last if typed == SAME else typed.removesuffix(SAME).strip()
        refused = self.refused(typed)
        if refused:
            return Stays(self, refused)
        return Taken(ForAll(typed) if shared else typed)


@lean_dataclass(frozen=True, slots=True)
class SignaturePrompt:
    """A signature: by whom, under which words, with which passphrase.

    Attributes:
        title: What is signed.
        parts: For whom.
        batch: Every part of the run.
        entries: How many entries of the log it covers.
        reasons: For each part that is not finished, why the run is closed without it.
        closes: Whether it closes the run.
        people: Who may sign, by number.
        person: Who signs; None while that is asked.
        says: The words that are signed.
        locked: Whether the key wants a passphrase.
        remarks: What the record holds of these parts since they were last signed for.
        ticked: The lines of the close as they are ticked, those first that are not done.
    """

    title: str
    command: "c.Do | c.Close"
    parts: tuple[str, ...]
    entries: int
    people: tuple["Person", ...]
    person: "Person | None"
    closes: bool = False
    says: str = ""
    locked: bool = True
    reasons: dict[str, str] = field(default_factory=dict)
    remarks: tuple["Remark", ...] = ()
    batch: tuple[str, ...] = ()
    ticked: tuple[str, ...] = ()

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the place of whoever signs, or the passphrase."""
        if typed == BACK:
            return NOTHING
        if self.person is None:
            if typed.isascii() and typed.isdigit() and 1 <= int(typed[:4]) <= len(self.people):
                return Taken(int(typed) - 1)
            return Stays(self, "Choose by its number.")
        if self.locked and not typed:
            return Stays(self, "Type the passphrase of the key, then Enter.")
        return Taken(typed)


@lean_dataclass(frozen=True, slots=True)
class Blank:
    """One line of a form.

    Attributes:
        label: Its name.
        said: What is asked for.
        typed: What stands in it.
        offered: What is taken where it stays empty, or empty.
        unit: The unit of what is asked for, or empty.
    """

    label: str
    said: str = ""
    typed: str = ""
    offered: str = ""
    unit: str = ""


@lean_dataclass(frozen=True, slots=True)
class Form:
    """Several lines that are accepted at once.

    Attributes:
        title: What is asked for.
        blanks: The lines.
        said: What is said above them.
        enter: What accepting is called.
        extras: How many of the last lines are reached by walking alone: Enter does not go there.
        counts: Whether things are counted, a number a line.
    """

    title: str
    blanks: tuple[Blank, ...]
    said: str = ""
    enter: str = "accept"
    extras: int = 0
    counts: bool = False

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the texts, given one a line in the order of the blanks."""
        if typed == BACK:
            return NOTHING
        texts = tuple(text.strip() for text in typed.split("\n"))
        return Taken(texts + ("",) * (len(self.blanks) - len(texts)))


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
