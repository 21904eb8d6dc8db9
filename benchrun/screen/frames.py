"""Frames on their way to the terminal: of each only the cells that changed since the last.

A line of 9,600 baud carries a page of the board in two seconds; what goes out faster than it
arrives makes every key wait. So each frame ends with a question that every terminal answers at
once, where its cursor stands. Until the answer is there the next frame is held back, and a later
one takes its place: a slow line shows fewer frames, never old ones. Where a terminal does not
answer, nothing is held back.
"""

import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rich.style import Style
    from textual.strip import Strip

Cell = tuple[str, str]
"""The text in one cell, empty behind a wide letter, and the sequence that sets its style."""
Row = Sequence[Cell]

ASK: Final = "\x1b[6n"
"""Where does the cursor stand (ECMA-48, 8.3.35 DSR): answered when all before it was drawn."""
GIVE_UP_S: Final = 15.0
"""A frame that a terminal did not answer for so long holds nothing back any more."""
_PLAIN: Final = "\x1b[0m"
_FEW: Final = 64  # pieces of a frame that may be sent in any order
_GAP: Final = 5  # so many cells that did not change are drawn again sooner than jumped over
_MUCH: Final = 400  # bytes from which a frame is worth being shown in one piece
_BEGIN, _END = "\x1b[?2026h", "\x1b[?2026l"


class Frames:
    """The page that a terminal shows, and the one that it is to show next.

    Args:
        write: Takes what is to be written to the terminal.
        asks: Whether the terminal can be asked, as its answers are read.
        pulse: A clock in seconds that never runs back.

    Attributes:
        in_one: Whether the terminal shows what comes between two marks in one piece.
    """

    def __init__(
        self,
        write: Callable[[str], object],
        *,
        asks: bool = True,
        pulse: Callable[[], float] = time.monotonic,
    ) -> None:
        self._write = write
        self._asks = asks
        self._pulse = pulse
        self._shown: Sequence[Row] = ()
        self._next: Sequence[Row] | None = None
        self._answers = False
        self._asked_at: float | None = None
        self.in_one = False

    @property
    def answers(self) -> bool:
        """Whether the terminal has ever answered."""
        return self._answers

    @property
    def waits(self) -> bool:
        """Whether an answer of the terminal is still to come."""
        return self._asked_at is not None

    def show(self, rows: Sequence[Row], *, whole: bool = False) -> None:
        """Show rows, as soon as the terminal has drawn what was sent before.

        Args:
            rows: All rows of the page.
            whole: Whether what the terminal shows now is not to be relied on.
        """
        if whole or len(rows) != len(self._shown):
            self._shown = ()
        self._next = rows
        since = 0.0 if self._asked_at is None else self._pulse() - self._asked_at
        if not (self._answers and self.waits) or since > GIVE_UP_S:
            self._send()

    def answered(self) -> None:
        """Take note that the terminal has drawn what was sent."""
        self._answers, self._asked_at = True, None
        if self._next is not None:
            self._send()

    def forget(self) -> None:
        """Take nothing for granted: something else may have drawn on the terminal."""
        self._shown, self._asked_at = (), None

    def _send(self) -> None:
        rows, self._next = self._next or (), None
        text = changes(self._shown, rows)
        self._shown = rows
        if not text:
            return
        if self.in_one and len(text) > _MUCH:
            text = f"{_BEGIN}{text}{_END}"
        # One answer is enough to know that it all arrived; before the first it is asked once.
        if self._asks and not self.waits:
            text += ASK
            self._asked_at = self._pulse()
        self._write(text)


def changes(before: Sequence[Row], after: Sequence[Row]) -> str:
    """The text to write so that a terminal that shows some rows shows others.

    Args:
        before: What it shows; nothing where that is not known.
        after: What it is to show.
    """
    runs: list[_Run] = []
    for y, row in enumerate(after):
        old = before[y] if y < len(before) else ()
        if old is not row:
            for start, end in _spans(old, row):
                runs += _runs(y, start, row[start:end])
    text = _drawn(runs)
    if 1 < len(runs) < _FEW:  # digits that tick in many rows: each style is set but once
        text = min(text, _drawn(sorted(runs, key=lambda run: run[2])), key=len)
    return text


_Run = tuple[int, int, str, str, int]
"""Row, column, style, text and cells of a piece that is drawn in one go."""


def _runs(y: int, start: int, cells: Row) -> list[_Run]:
    runs: list[_Run] = []
    for x, (text, style) in enumerate(cells, start):
        if runs and runs[-1][2] == style:
            _, at, _, before, width = runs[-1]
            runs[-1] = (y, at, style, before + text, width + 1)
        else:
            runs.append((y, x, style, text, 1))
    return runs


def _drawn(runs: Sequence[_Run]) -> str:
    pieces: list[str] = []
    style, place = "", (-1, -1)
    for y, x, own, text, width in runs:
        if place != (y, x):
            pieces.append(f"\x1b[{y + 1};{x + 1}H")
        if own != style:
            pieces.append(_PLAIN + own if style else own)
            style = own
        pieces.append(text)
        place = (y, x + width)
    if style:
        pieces.append(_PLAIN)
    return "".join(pieces)


def _spans(old: Row, new: Row) -> list[tuple[int, int]]:
    """From where to where a row is to be drawn anew."""
    if len(old) != len(new):
        return [(0, len(new))]
    spans: list[tuple[int, int]] = []
    for at, pair in enumerate(zip(old, new, strict=True)):
        if pair[0] == pair[1]:
            continue
        start = at - 1 if at and not pair[1][0] else at  # the other half of a wide letter
        if spans and start - spans[-1][1] <= _GAP:
            spans[-1] = (spans[-1][0], at + 1)
        else:
            spans.append((start, at + 1))
    return spans


def cells_of(pieces: Sequence[tuple[str, str]]) -> list[Cell]:
    """The cells of a row of texts, each with the sequence that sets its style."""
    from rich.cells import cell_len

    cells: list[Cell] = []
    for text, style in pieces:
        if text.isascii():
            cells += [(letter, style) for letter in text]
            continue
        for letter in text:
            wide = cell_len(letter)
            if wide:
                cells.append((letter, style))
                cells += [("", style)] * (wide - 1)
            elif cells:
                cells[-1] = (cells[-1][0] + letter, cells[-1][1])
    return cells


class StripCells:
    """The cells of Textual's strips, each worked out once as long as it is shown."""

    def __init__(self, sequence: "Callable[[Style], str]") -> None:
        self._sequence = sequence
        self._styles: dict[Style, str] = {}
        self._known: list[tuple[Strip, list[Cell]]] = []

    def rows(self, strips: "Sequence[Strip]") -> list[Row]:
        """The rows of a page."""
        known = [*self._known, *[None] * (len(strips) - len(self._known))]
        self._known = [
            held
            if held is not None and (held[0] is strip or held[0] == strip)
            else self._new(strip)
            for strip, held in zip(strips, known, strict=False)
        ]
        return [cells for _, cells in self._known]

    def _new(self, strip: "Strip") -> "tuple[Strip, list[Cell]]":
        pieces = [(one.text, self._of(one.style)) for one in strip if not one.control]
        return (strip, cells_of(pieces))

    def _of(self, style: "Style | None") -> str:
        if style is None:
            return ""
        known = self._styles.get(style)
        if known is None:
            known = self._styles[style] = self._sequence(style)
        return known
