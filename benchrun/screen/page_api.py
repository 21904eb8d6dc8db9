"""Panes that paint a page and take keys, and the screen that they lie on, as they see it."""

from abc import ABC, abstractmethod
from collections.abc import Awaitable, Callable, Hashable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, ClassVar, Final, Protocol

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.screen import keys
from benchrun.screen.page import Block, Page, TwoColumns, fit_blocks, with_message
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine, TextPiece
from benchrun.screen.theme import Appearance

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm

_HELD: Final = "\u00a0"
"""A blank at which no row ends: a key stays with its words."""
EVERYWHERE: Final = "Esc one step back   F10 leave the program   ? again: every key"
"""The keys that mean the same on every page."""


class PaneHost(Protocol):
    """All that a pane may ask of the screen that it lies on."""

    @property
    def look(self) -> Appearance:
        """How things are to be shown."""
        ...

    @property
    def own_keys(self) -> Mapping[str, str]:
        """The person's own keys, each with what it does, in words."""
        ...

    opened_by: "Pane | None"
    """The menu whose line is being carried out, to which going back from it leads."""

    @property
    def front(self) -> "Pane | None":
        """The pane on top."""
        ...

    @property
    def in_front(self) -> bool:
        """Whether no other screen lies over this one."""
        ...

    def now(self) -> Moment:
        """The moment now."""
        ...

    def push(self, pane: "Pane") -> None:
        """Lay a pane on top; keys go to it."""
        ...

    def pop(self, pane: "Pane") -> None:
        """Take a pane away, with everything on top of it."""
        ...

    def say(self, text: str, *, strong: bool = False) -> None:
        """Show a message until the next key."""
        ...

    def paint(self) -> None:
        """Paint anew, when something came that no key asked for."""
        ...

    @property
    def message(self) -> tuple[str, bool]:
        """The message that stands, and whether it is a strong one."""
        ...

    @property
    def alarmed(self) -> bool:
        """Whether an alarm stands."""
        ...

    def alarm_hints(self, pane: "Pane", hints: "Sequence[Hint]") -> "Sequence[Hint]":
        """The hints of a pane with what an alarm that stands makes of Enter and 0."""
        ...

    def chose(self) -> None:
        """Say that the hand itself has just chosen what Enter does now."""
        ...


@lean_dataclass(frozen=True, slots=True)
class Hint:
    """A key that means something here.

    Attributes:
        first: Whether it is what wants a hand now.
    """

    key: str
    words: str
    first: bool = False


AID_HINT: Final = Hint("F8", "first aid")
"""It stands in the same corner of every page."""


class Pane(ABC):
    """One thing in front of the person: a page, and what keys do to it."""

    left: Callable[[], Awaitable[None]] | None = None
    """Called when it is left without an answer."""
    about: ClassVar[str] = "A page to read or to choose from; nothing is recorded by looking."
    """The purpose of the page: the first of the three lines that `?` says."""

    def __init__(self, host: PaneHost) -> None:
        self.host = host
        self._keys: Sequence[Hint] = ()

    @property
    def short_help(self) -> str:
        """Three lines: what the page is for, its keys, and those that mean the same everywhere."""
        keys_here = "   ".join(f"{one.key} {one.words}".replace(" ", _HELD) for one in self._keys)
        return f"{self.about}\n{keys_here}\n{EVERYWHERE}"

    async def leave(self) -> None:
        """Go back without an answer."""
        self.host.pop(self)
        if self.left is not None:
            await self.left()

    @abstractmethod
    def page(self, paper: Paper) -> Page:
        """Paint it."""

    @abstractmethod
    async def key(self, key: str) -> None:
        """Take a key."""

    def does(self) -> Hashable:
        """The act that Enter would do now; two equal answers are one and the same act."""
        return type(self).__name__

    def numbers_act(self) -> bool:
        """Whether a digit alone records something, so that it must be as deaf as Enter."""
        return False

    def same_acts(self) -> bool:
        """Whether the key for the same value records something, so that it is as deaf as Enter."""
        return False

    def answers(self, alarm: "Alarm") -> bool:
        """Whether the page is at what an alarm calls for, so that Enter keeps its meaning."""
        del alarm
        return False

    def typing(self, key: str) -> bool:
        """Whether a key is typed here, so that no alarm takes it."""
        del key
        return False

    def early(self, key: str) -> bool:
        """Whether a key counts though it came within the half second in which Enter is deaf."""
        del key
        return False

    def laid(
        self, paper: Paper, blocks: Sequence[Block] | TwoColumns, hints: Sequence[Hint]
    ) -> Page:
        """Lay blocks out above the message and the line of keys."""
        self._keys = hints
        keys_row = _hint_rows(paper, hints)
        if self.host.message[0] == self.short_help:
            above, keys_row = _with_aid(paper, [paper.line(" ")])  # they stand in the help
        elif self.host.alarmed:
            alarmed = self.host.alarm_hints(self, hints)
            above, keys_row = _as_many(paper, alarmed, len(keys_row))
        else:
            above, keys_row = _with_aid(paper, keys_row)
        page = _fitted(blocks, [*above, *keys_row], paper.height)
        said = _said_rows(paper, self.host.message)
        if not said:
            return page
        aid = _aid(paper)
        if any(row is not BLANK for row in above):
            if said[-1].width + 3 + aid.width <= paper.width:
                said[-1] = paper.between(said[-1], aid)
            elif over := with_message(page, said, len(keys_row) + 1, parted=False):
                return over
        # Only a long message on a full page makes room for itself; any other covers what is empty.
        return with_message(page, said, len(keys_row)) or _fitted(
            blocks, [*said, *keys_row], paper.height
        )


def _fitted(blocks: Sequence[Block] | TwoColumns, foot: Sequence[TextLine], height: int) -> Page:
    if isinstance(blocks, TwoColumns):
        return blocks.fit(foot, height)
    return fit_blocks(blocks, foot, height)


def _said_rows(paper: Paper, message: tuple[str, bool]) -> list[TextLine]:
    text, strong = message
    if "\n" in text:
        rows = [
            row
            for line in text.split("\n")
            for row in paper.paragraph(line, role=Role.QUIET, most=2)
        ]
        plain = ([(words.replace(_HELD, " "), role) for words, role in row.pieces] for row in rows)
        return [paper.line(*pieces) for pieces in plain]
    return paper.paragraph(text, role=Role.STRONG if strong else Role.QUIET, most=3) if text else []


def _as_many(
    paper: Paper, hints: Sequence[Hint], most: int
) -> tuple[list[TextLine], list[TextLine]]:
    """The row above the hints, if any, and their rows, no more together than without an alarm.

    They take the row above as well where they want it; the last give way where that is not enough.
    """
    rows = _hint_rows(paper, hints)
    above, laid = _with_aid(paper, rows)
    if len(rows) == most + 1 and above[0] is BLANK:
        return [], laid
    return (above, laid) if len(rows) <= most or not hints else _as_many(paper, hints[:-1], most)


def _aid(paper: Paper) -> TextLine:
    return paper.line((AID_HINT.key, Role.STRONG), (f" {AID_HINT.words}", Role.QUIET), " ")


def _with_aid(paper: Paper, rows: Sequence[TextLine]) -> tuple[list[TextLine], list[TextLine]]:
    """The row above the hints and their rows, with the key of first aid in the corner.

    Where the last row of hints is full it stands in the blank row above them.
    """
    aid = _aid(paper)
    *before, last = rows
    if last.width + 3 + aid.width <= paper.width:
        return [BLANK], [*before, paper.between(last, aid)]
    return [paper.between(paper.line(" "), aid)], list(rows)


def _hint_rows(paper: Paper, hints: Sequence[Hint]) -> list[TextLine]:
    return list(_rows_of_hints(paper, tuple(hints)))


@lru_cache(maxsize=32)
def _rows_of_hints(paper: Paper, hints: tuple[Hint, ...]) -> list[TextLine]:
    """The rows of hints, which are the same from one tick to the next."""
    rows: list[TextLine] = []
    row = paper.line(" ")
    for hint in hints:
        parts: tuple[TextPiece, ...] = (
            (hint.key, Role.ACCENT if hint.first else Role.STRONG),
            (f" {hint.words}", Role.TEXT if hint.first else Role.QUIET),
        )
        piece = paper.line(*parts)
        gap = 0 if row.width <= 1 else 3
        if row.width > 1 and row.width + gap + piece.width > paper.width - 1:
            rows.append(row)
            row, gap = paper.line(" "), 0
        row = row + paper.line(" " * gap) + piece
    return [*rows, row.cut(paper.width)]


def headed(paper: Paper, title: str, right: str) -> TextLine:
    """The top row: what this is about, and who and when."""
    room = paper.width - len(paper.clean(right)) - 4
    return paper.between(
        paper.line(" ", (paper.fitted(title, room), Role.STRONG)),
        paper.line((right, Role.QUIET), " "),
    )


class Field:
    """One line of typed text.

    Args:
        hidden: Whether dots stand for what is typed.
        most: The longest text.
    """

    def __init__(self, text: str = "", *, hidden: bool = False, most: int = 400) -> None:
        self.text = text
        self.hidden = hidden
        self.most = most

    def take(self, key: str) -> bool:
        """Take a key that belongs to typing.

        Returns:
            Whether it did.
        """
        if key == keys.RUBOUT:
            self.text = self.text[:-1]
        elif key == keys.CLEAR:
            self.text = ""
        elif len(key) == 1 and len(self.text) < self.most:
            self.text += key
        else:
            return False
        return True

    def drawn(self, paper: Paper, width: int) -> TextLine:
        """The field with its caret; of a long text the end is shown."""
        dot = "*" if paper.ascii else "•"
        text = dot * len(self.text) if self.hidden else self.text
        text = paper.clean(text)
        if len(text) > width - 1:
            text = text[-(width - 1) :]
        return paper.line((text, Role.FIELD), (paper.signs.caret, Role.ACCENT))
