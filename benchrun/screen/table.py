"""Rows under heads, fitted to the width: some columns give way, the others stand in full."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from rich.cells import cell_len

from benchrun.dialogue.tables import Column, PageTable
from benchrun.screen.text_line import Paper, Role, TextLine

_GAP: Final = 2
_LEAST: Final = 8


def page_table_lines(paper: Paper, table: PageTable) -> list[TextLine]:
    """Draw a table; a column that is empty throughout is left out."""
    columns, rows = table.columns, table.rows
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
    """The width of each column; where there is too little room the widest that may gives way."""
    widths = [max(cell_len(row[at]) for row in cells) for at in range(len(columns))]
    over = sum(widths) + _GAP * (len(widths) - 1) + 4 - paper.width
    giving = [at for at, column in enumerate(columns) if column.gives]
    while over > 0 and giving and max(widths[at] for at in giving) > _LEAST:
        widths[max(giving, key=lambda at: widths[at])] -= 1
        over -= 1
    return widths


def _row(paper: Paper, columns: Sequence[Column], texts: list[str], widths: list[int]) -> str:
    fitted = []
    for column, text, width in zip(columns, texts, widths, strict=True):
        cut = paper.fitted(text, width)
        fill = " " * (width - cell_len(cut))
        fitted.append(fill + cut if column.right else cut + fill)
    return (" " * _GAP).join(fitted).rstrip()
