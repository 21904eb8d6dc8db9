"""Rows under heads, fitted to the width: one column gives way, the others stand in full."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from rich.cells import cell_len

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.text_line import Paper, Role, TextLine

_GAP: Final = 2
_LEAST: Final = 8


@lean_dataclass(frozen=True, slots=True)
class Column:
    """A column.

    Attributes:
        right: Whether it stands to the right, as figures do.
        gives: Whether it is cut where there is no room; the first of them is cut first.
        wide: Whether it stands only on a wide paper.
    """

    head: str
    right: bool = False
    gives: bool = False
    wide: bool = False


@lean_dataclass(frozen=True, slots=True)
class Row:
    """A row.

    Attributes:
        marked: Whether it is one to look at; a mark says so, not only a colour.
        note: What stands below it, quietly.
    """

    cells: Sequence[str]
    marked: bool = False
    note: str = ""


def painted_rows(paper: Paper, columns: Sequence[Column], rows: Sequence[Row]) -> list[TextLine]:
    """Draw a table; a column that is empty throughout is left out.

    Args:
        paper: What it is drawn on.
        columns: Its columns.
        rows: Its rows, one cell for each column.
    """
    kept = [
        at
        for at, one in enumerate(columns)
        if (paper.width >= 120 or not one.wide) and any(row.cells[at] for row in rows)
    ]
    heads = [columns[at].head for at in kept]
    cells = [[paper.clean(row.cells[at]) for at in kept] for row in rows]
    shown = [columns[at] for at in kept]
    widths = _widths(paper, shown, [heads, *cells])
    lines = [paper.line("   ", (_row(paper, shown, heads, widths), Role.QUIET))]
    for number, (row, texts) in enumerate(zip(rows, cells, strict=True)):
        mark = (f" {paper.signs.chosen} ", Role.ACCENT) if row.marked else "   "
        line = paper.line(mark, _row(paper, shown, texts, widths))
        # The heads never stand alone at the foot of a page.
        lines.append(replace(line, joined=not number))
        if row.note:
            lines += paper.paragraph(row.note, first="     ", role=Role.QUIET, most=2)
    return lines


def _widths(paper: Paper, columns: Sequence[Column], cells: list[list[str]]) -> list[int]:
    widths = [max(cell_len(row[at]) for row in cells) for at in range(len(columns))]
    over = sum(widths) + _GAP * (len(widths) - 1) + 4 - paper.width
    for at, column in enumerate(columns):
        if column.gives and over > 0:
            narrow = max(_LEAST, widths[at] - over)
            over -= widths[at] - narrow
            widths[at] = narrow
    return widths


def _row(paper: Paper, columns: Sequence[Column], texts: list[str], widths: list[int]) -> str:
    fitted = []
    for column, text, width in zip(columns, texts, widths, strict=True):
        cut = paper.fitted(text, width)
        fill = " " * (width - cell_len(cut))
        fitted.append(fill + cut if column.right else cut + fill)
    return (" " * _GAP).join(fitted).rstrip()
