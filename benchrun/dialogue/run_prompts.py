"""Prompts of a run: its parts, a reading to be typed, a signature."""

from dataclasses import field
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchrun.dialogue.prompts import BACK, NOTHING, Meaning, Stays, Taken
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
    from benchrun.procedure.route import Reading, Step
    from benchrun.run import commands as c
    from benchrun.run.entries import Remark, Tool
    from benchrun.shop.people import Person

ANOTHER_SIGNER: Final = "+"
ANOTHER_INSTRUMENT: Final = "*"
ALL: Final = "*"
SAME: Final = "="
"""Behind a reading: the same for all parts that wait for it; alone: the last value once more."""
WANTS_CALIBRATED: Final = "A calibrated one is wanted; none of the shop's is in hand."


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
