"""Writes a report as plain text; drawings are left out, the tables beside them say the same."""

import textwrap
from collections.abc import Iterator
from typing import Final

from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Code,
    Fields,
    Para,
    Picture,
    Report,
    Sheet,
    Table,
    Under,
)
from benchrun.text import paragraphs, shown

WIDTH: Final = 100
_LEAST: Final = 7  # a narrower column than this cannot be read: its table becomes a list
_MARKS: Final = {"bad": "! ", "doubt": "? ", "gone": "x "}


def as_text(report: Report) -> str:
    """The report as plain text, 100 columns wide; `!` marks what is bad, `?` what is in doubt."""
    rows: list[str] = []
    for sheet in report.sheets:
        rows += [*_sheet_text(sheet), "", ""]
    return "\n".join(row.rstrip() for row in rows).rstrip("\n") + "\n"


def _sheet_text(sheet: Sheet) -> Iterator[str]:
    yield "=" * WIDTH
    yield shown(sheet.over, WIDTH).upper()
    yield from textwrap.wrap(shown(sheet.title, 400), WIDTH)
    yield "=" * WIDTH
    yield from _block_text(sheet.card)
    yield ""
    for para in sheet.words:
        yield from _block_text(para)
    for section in sheet.sections:
        yield from ("", "", shown(section.title, WIDTH).upper(), "-" * WIDTH)
        for block in section.blocks:
            yield from _block_text(block)


def _block_text(block: Block) -> Iterator[str]:
    match block:
        case Table():
            yield from _table_text(block)
        case Para(text, mark):
            for line in paragraphs(text):
                yield from _wrapped(f"{_MARKS.get(mark, '')}{line}", "  " if mark else "")
        case Fields(rows):
            wide = min(max((len(label) for label, _ in rows), default=0), 42)
            for label, value in (row for row in rows if row[1]):
                yield from _wrapped(f"{label:<{wide}}  {shown(value)}", " " * (wide + 2))
        case Under(text, note):
            yield from ("", *_wrapped(shown(text), ""))
            yield from _wrapped(f"   {shown(note)}", "   ") if note else ()
        case _:
            yield from _listed(block)


def _listed(block: Block) -> Iterator[str]:
    match block:
        case Bullets(rows):
            for row in rows:
                yield from _wrapped(f"- {shown(row)}", "  ")
        case Picture(caption):
            yield from _wrapped(f"- {shown(caption)}", "  ")
        case Code(text):
            yield from ("", *(f"    {line}" for line in text.splitlines()), "")


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False) or [""]


def _plain_cell(cell: Cell) -> str:
    was = f"[was {shown(cell.was, 400)}] " if cell.was else ""
    return f"{_MARKS.get(cell.mark, '')}{was}{shown(cell.text, 4000)}"


def _table_text(table: Table) -> Iterator[str]:
    cells = [[_plain_cell(cell) for cell in row] for row in table.rows]
    natural = [max(map(len, column)) for column in zip(table.columns, *cells, strict=True)]
    wide = _widths(natural)
    if any(width < min(needed, _LEAST) for width, needed in zip(wide, natural, strict=True)):
        yield from _rows_as_lists(table, cells)
        return
    yield from _row_text(list(table.columns), wide, table.figures)
    yield "  ".join("-" * width for width in wide)
    for row in cells:
        yield from _row_text(row, wide, table.figures)


def _widths(natural: list[int]) -> list[int]:
    """Widths that fit the page: short columns as they are, long ones share what is left."""
    left, wide = WIDTH - 2 * (len(natural) - 1), [0] * len(natural)
    open_columns = sorted(range(len(natural)), key=lambda at: natural[at])
    while open_columns:
        at = open_columns.pop(0)
        wide[at] = max(1, min(natural[at], left // (len(open_columns) + 1)))
        left -= wide[at]
    return wide


def _row_text(row: list[str], wide: list[int], figures: frozenset[int]) -> Iterator[str]:
    columns = [
        textwrap.wrap(text, width, break_on_hyphens=False) or [""]
        for text, width in zip(row, wide, strict=True)
    ]
    for line in range(max(map(len, columns))):
        told = []
        for at, column in enumerate(columns):
            text = column[line] if line < len(column) else ""
            told.append(f"{text:>{wide[at]}}" if at in figures else f"{text:<{wide[at]}}")
        yield "  ".join(told)


def _rows_as_lists(table: Table, cells: list[list[str]]) -> Iterator[str]:
    for row in cells:
        told = [f"{name}: {cell}" for name, cell in zip(table.columns, row, strict=True) if cell]
        yield from _wrapped("- " + "; ".join(told), "  ")
