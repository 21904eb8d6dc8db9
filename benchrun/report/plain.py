"""Writes a report as plain text; drawings are left out, the tables beside them say the same."""

import textwrap
from collections.abc import Iterator
from math import isqrt
from typing import Final

from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Code,
    Fields,
    Para,
    Report,
    Sheet,
    Strip,
    Table,
    Under,
)
from benchrun.text import paragraphs, shown

WIDTH: Final = 80
_LONGEST: Final = 30  # a longer word, such as a digest, may be broken
_MARKS: Final = {"bad": "! ", "doubt": "? ", "gone": "x "}


def as_text(report: Report) -> str:
    """The report as plain text, 80 columns wide; `!` marks what is bad, `?` what is in doubt."""
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
    yield from ("",) if sheet.words else ()
    for para in sheet.words:
        yield from _block_text(para)
    for section in sheet.sections:
        yield from ("", "", shown(section.title, WIDTH).upper(), "-" * WIDTH)
        for before, block in zip((None, *section.blocks), section.blocks, strict=False):
            # A heading leaves a row blank by itself.
            yield from ("",) if isinstance(before, Table) and not isinstance(block, Under) else ()
            yield from _block_text(block)


def _block_text(block: Block) -> Iterator[str]:
    match block:
        case Table():
            yield from table_lines(block)
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
        case Strip(pictures):
            for picture in pictures:
                yield from _wrapped(f"- {shown(picture.caption)}", "  ")
        case Code(text):
            yield from ("", *(f"    {line}" for line in text.splitlines()), "")


def _wrapped(text: str, indent: str, width: int = WIDTH) -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent=indent, break_on_hyphens=False) or [""]


def _plain_cell(cell: Cell) -> str:
    was = f"[was {shown(cell.was, 400)}] " if cell.was else ""
    return f"{_MARKS.get(cell.mark, '')}{was}{shown(cell.text, 4000)}"


def table_lines(table: Table, width: int = WIDTH) -> Iterator[str]:
    """A table as lines of text: the heads, a rule, the rows, long cells wrapped.

    Args:
        table: The table.
        width: How many columns of text there are for it.
    """
    cells = [[_plain_cell(cell) for cell in row] for row in table.rows]
    columns = list(zip(table.columns, *cells, strict=True))
    wide = _widths(
        [max(map(len, column)) for column in columns],
        [min(max(map(_longest_word, column)), _LONGEST) for column in columns],
        width,
    )
    if wide is None:
        yield from _rows_as_lists(table, cells, width)
        return
    yield from _row_text(list(table.columns), wide, table.figures)
    yield "  ".join("-" * each for each in wide)
    for row in cells:
        yield from _row_text(row, wide, table.figures)


def _longest_word(text: str) -> int:
    return max(map(len, text.split()), default=0)


def _widths(natural: list[int], least: list[int], width: int) -> list[int] | None:
    """Widths that fit the page, the spare room shared; None where words would have to break."""
    wide = list(least)
    spare = width - 2 * (len(wide) - 1) - sum(wide)
    if spare < 0:
        return None
    # Who would like more gets more, but a long text does not push all others into slivers.
    wanted = [most - low for most, low in zip(natural, least, strict=True)]
    weights = [isqrt(100 * more) for more in wanted]
    for at in sorted(range(len(wide)), key=lambda at: wanted[at]):
        more = min(wanted[at], spare * weights[at] // max(sum(weights), 1))
        spare, wide[at], weights[at] = spare - more, wide[at] + more, 0
    return wide


def _row_text(row: list[str], wide: list[int], figures: frozenset[int]) -> Iterator[str]:
    columns = [
        textwrap.wrap(text, width, break_on_hyphens=False) or [""]
        for text, width in zip(row, wide, strict=True)
    ]
    for line in range(max(map(len, columns))):
        lines = []
        for at, column in enumerate(columns):
            text = column[line] if line < len(column) else ""
            lines.append(f"{text:>{wide[at]}}" if at in figures else f"{text:<{wide[at]}}")
        yield "  ".join(lines)


def _rows_as_lists(table: Table, cells: list[list[str]], width: int) -> Iterator[str]:
    for row in cells:
        pairs = [f"{name}: {cell}" for name, cell in zip(table.columns, row, strict=True) if cell]
        yield from _wrapped("- " + "; ".join(pairs), "  ", width)
