"""Lines of text with the role that each word plays, and the paper that they are made on.

`Paper` is the only maker of lines: whatever it is given comes out as harmless text of known width.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field, replace
from enum import StrEnum
from functools import lru_cache
from itertools import groupby
from typing import Final

from rich.cells import cell_len, chop_cells, set_cell_size

from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import plain_ascii, shown


class Role(StrEnum):
    """The use of a piece of text; the style sheet gives each its weight, and one the accent.

    What is solid is blanks in reverse: plain ASCII, and as full as a block.
    """

    TEXT = "text"
    STRONG = "strong"
    QUIET = "quiet"
    ACCENT = "accent"
    PLATE = "plate"
    ALARM = "alarm"
    FIELD = "field"
    SOLID = "solid"


TextPiece = str | tuple[str, Role]
_UNIT: Final = re.compile(
    r"(s|min|h|d|mm|cm|m|µm|um|thou|l|ml|g|kg|°C|°F|K|%|bar|MPa|N·m|Nm|V|ppm)[.,;:)]*"
)
"""A unit, which stays on the row of its number."""


@lean_dataclass(frozen=True, slots=True)
class TextLine:
    """One row of a page.

    Attributes:
        pieces: Texts with their roles, left to right.
        band: The role that fills the row to its end, or None.
        joined: Whether it goes on from the row above, so that no page may end between them.
        yields: Whether an alarm may lie over it while it stands at the top of a page.
    """

    pieces: tuple[tuple[str, Role], ...] = ()
    band: Role | None = None
    joined: bool = False
    yields: bool = False

    @property
    def text(self) -> str:
        """The row without its roles; a reversed blank is told as `#`."""
        return "".join(
            "#" * len(text) if role is Role.SOLID else text for text, role in self.pieces
        )

    @property
    def width(self) -> int:
        """How many cells it takes."""
        return sum([cells(text) for text, _ in self.pieces])

    def __add__(self, other: "TextLine") -> "TextLine":
        return TextLine(self.pieces + other.pieces, self.band or other.band, self.joined)

    def cut(self, width: int) -> "TextLine":
        """The row cut at a width."""
        left, kept = width, []
        for text, role in self.pieces:
            size = cells(text)
            if size > left:
                kept.append((set_cell_size(text, max(0, left)), role))
                break
            kept.append((text, role))
            left -= size
        return TextLine(tuple(kept), self.band, self.joined)

    def padded(self, width: int) -> "TextLine":
        """The row made exactly so wide."""
        short = width - self.width
        return self.cut(width) if short < 0 else self + TextLine(((" " * short, Role.TEXT),))


@lean_dataclass(frozen=True, slots=True)
class Signs:
    """One set of signs; all are one cell wide.

    Attributes:
        stage_done, step_done, stage_ahead, step_ahead: Marks of the steel rule, behind and ahead.
        here, there: The pointer to the step in hand, and to where other parts stand.
        thin, thick: The line of a scale where time is free, and where it is right.
        edge, limit, end: The zero of a scale, a scribed limit, and its open end.
        pointer: The pointer on a scale.
        bead: A value on the gauge.
        shade: The zone in which an instrument cannot decide.
        hole, chosen: The eyelet of a tag, and the same filled in.
        bars: The bar of a plate, heaviest signal first.
        caret: Where the next character comes.
        dash: A line that is a limit and nothing more.
        dot, coat: Nothing yet, and done, in a table.
        hand: What the hand points at in a list.
    """

    stage_done: str
    step_done: str
    stage_ahead: str
    step_ahead: str
    here: str
    there: str
    thin: str
    thick: str
    edge: str
    limit: str
    end: str
    pointer: str
    bead: str
    shade: str
    hole: str
    chosen: str
    bars: tuple[str, str, str, str]
    caret: str
    dash: str
    dot: str
    coat: str
    hand: str


DRAWN: Final = Signs(
    "┃", "╹", "│", "╵", "▼", "▽", "─", "━", "├", "┃", "─", "▼", "●", "░", "∘", "●",
    ("█", "▌", "│", "┆"), "▏", "╌", "·", "●", "▸",
)  # fmt: skip
ASCII: Final = Signs(
    "#", "=", "|", "'", "V", "v", "-", "=", "|", "|", "-", "V", "O", ":", "o", "*",
    ("#", "#", "|", ":"), "_", "=", ".", "o", ">",
)  # fmt: skip


BLANK = TextLine()
GUTTER: Final = 9
"""The column of labels is so wide."""
_SHORT: Final = 1000


@lean_dataclass(frozen=True, slots=True)
class Paper:
    """The ground that a page is drawn on.

    Attributes:
        width, height: In cells.
        ascii: Whether ASCII characters alone may be used.
        page_width: How wide the page is that this is a column of; 0: it is the page.
    """

    width: int = 80
    height: int = 24
    ascii: bool = False
    page_width: int = 0
    signs: Signs = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "signs", ASCII if self.ascii else DRAWN)

    @property
    def large(self) -> bool:
        """Whether there is room for what is drawn larger, and for two columns."""
        return (self.page_width or self.width) >= 110 and self.height >= 30

    def column(self, width: int) -> "Paper":
        """A column of the page, so wide."""
        return replace(self, width=width, page_width=self.page_width or self.width)

    def labelled(
        self, label: str, text: str, *, role: Role = Role.TEXT, lead: Role = Role.QUIET
    ) -> list[TextLine]:
        """A text behind its label, in the columns that all labels and what they name stand in."""
        return self.paragraph(text, first=self.label(label), role=role, lead=lead)

    def label(self, label: str) -> str:
        """A label in its column, or for an empty one the blanks that keep the column."""
        return f" {label:<{GUTTER}} "

    def clean(self, text: str) -> str:
        """Harmless text, in ASCII where there is nothing else."""
        if len(text) < _SHORT and text.isascii() and text.isprintable():
            return text  # harmless as it is: most text, and all of what ticks
        return _clean(text, self.ascii)

    def line(self, *texts: TextPiece, band: Role | None = None) -> TextLine:
        """A row of texts; a text alone is plain."""
        pieces = [text if isinstance(text, tuple) else (text, Role.TEXT) for text in texts]
        return TextLine(tuple([(self.clean(text), role) for text, role in pieces if text]), band)

    def drawn(self, row: str, role: Role) -> TextLine:
        """A row of a drawing; on ASCII paper each `#` of it is a reversed blank."""
        if not self.ascii:
            return self.line((row, role))
        runs = (("".join(run), full) for full, run in groupby(row, lambda char: char == "#"))
        return TextLine(
            tuple((" " * len(text), Role.SOLID if full else Role.TEXT) for text, full in runs)
        )

    def wrap(self, text: str, width: int) -> list[str]:
        """Break a text at its blanks so that no row is wider; a word too long is broken too."""
        return _wrap(self.clean(text), max(4, width))

    def paragraph(
        self,
        text: str,
        *,
        first: str = " ",
        rest: str | None = None,
        role: Role = Role.TEXT,
        lead: Role | None = None,
        width: int | None = None,
        most: int | None = None,
    ) -> list[TextLine]:
        """A text over as many rows as it takes, with what stands before the first and the others.

        Args:
            text: The text.
            first: What stands before the first row.
            rest: What stands before the others; None: blanks of the same width.
            role: The role of the text.
            lead: The role of `first`; None: the same as the text's.
            width: The widest row; None: the paper's, less a margin.
            most: How many rows it may take; an ellipsis ends a text that would take more.
        """
        first = self.clean(first)
        indent = " " * cells(first) if rest is None else rest
        room = (width or self.width - 1) - cells(first)
        rows = self.wrap(text, room)
        if most is not None and len(rows) > most:
            rows = [*rows[: most - 1], self.fitted(" ".join(rows[most - 1 :]), max(4, room))]
        heads = [first, *[indent] * (len(rows) - 1)]
        return [
            replace(self.line((head, lead or role), (row, role)), joined=place > 0)
            for place, (head, row) in enumerate(zip(heads, rows, strict=True))
        ]

    def between(self, left: TextLine, right: TextLine, *, width: int | None = None) -> TextLine:
        """One row with something at each end; the right end is never cut."""
        room = (width or self.width) - right.width - 1
        if room < 1:
            return left.cut(width or self.width)
        return left.padded(max(0, room - 1)) + self.line(" ") + right

    def fitted(self, text: str, width: int) -> str:
        """A text cut to a width, with an ellipsis where something is missing."""
        text = self.clean(text)
        if cells(text) <= width:
            return text
        end = "..." if self.ascii else "…"
        if width <= len(end):
            return set_cell_size(text, max(0, width))
        return set_cell_size(text, width - len(end)).rstrip() + end

    def ended(self, text: str, width: int) -> str:
        """A text of which the end is kept, with an ellipsis before it where something is missing.

        Names of one sort differ at their ends: `…steel part 4`.
        """
        text = self.clean(text)
        if cells(text) <= width:
            return text
        sign = "..." if self.ascii else "…"
        while text and cells(text) > width - len(sign):
            text = text[1:]
        return f"{sign}{text}"

    def padded(self, text: str, width: int) -> str:
        """A text made exactly so wide."""
        text = self.fitted(text, width)
        return text.ljust(width) if text.isascii() else set_cell_size(text, width)

    def columns(self, items: Iterable[tuple[str, Role]], *, indent: int = 1) -> list[TextLine]:
        """Short texts side by side, over as many rows as they take."""
        rows: list[TextLine] = []
        row = self.line(" " * indent)
        for text, role in items:
            piece = self.line((self.fitted(text, self.width - indent - 1), role))
            if row.width > indent and row.width + 1 + piece.width > self.width - 1:
                rows.append(row)
                row = self.line(" " * indent)
            row = (row + self.line(" ") if row.width > indent else row) + piece
        return [*rows, row] if row.width > indent else rows


def cells(text: str) -> int:
    """How many cells a harmless text takes."""
    return len(text) if text.isascii() else cell_len(text)


@lru_cache(maxsize=2048)
def _clean(text: str, ascii_only: bool) -> str:
    text = shown(text)
    return plain_ascii(text) if ascii_only and not text.isascii() else text


def _kept_together(words: Sequence[str], width: int) -> Iterator[str]:
    """The words of a text, a number and its unit as one: no row begins with a unit alone."""
    held = words[0]
    for word in words[1:]:
        unit = held[-1:].isdigit() and _UNIT.fullmatch(word)
        if unit and cells(held) + 1 + cells(word) <= width:
            held = f"{held} {word}"
        else:
            yield held
            held = word
    yield held


@lru_cache(maxsize=512)
def _wrap(text: str, width: int) -> list[str]:
    rows: list[str] = []
    row = ""
    for word in _kept_together(text.split(" "), width):
        pieces = chop_cells(word, width) if cells(word) > width else [word]
        for piece in pieces:
            if row and cells(row) + 1 + cells(piece) > width:
                rows.append(row)
                row = piece
            else:
                row = f"{row} {piece}" if row else piece
    return [*rows, row]
