"""A page of parts and jobs drawn: fields with their labels, tables fitted to the width, lists."""

from collections.abc import Iterable

from benchrun.report.doc import Block, Bullets, Fields, Para, Sheet, Strip, Table, Under
from benchrun.report.plain import table_lines
from benchrun.screen.text_line import Paper, Role, TextLine

LABEL = 14
_WIDEST = 24


def sheet_lines(paper: Paper, sheet: Sheet) -> list[TextLine]:
    """The lines of a page, its own fields first, then section by section."""
    lines = block_lines(paper, sheet.card)
    for section in sheet.sections:
        lines += [paper.line(), paper.line(" ", (section.title.upper(), Role.QUIET))]
        for block in section.blocks:
            lines += block_lines(paper, block)
    return lines


def block_lines(paper: Paper, block: Block) -> list[TextLine]:
    """The lines of one block; drawings have none, the table beside them says the same."""
    match block:
        case Fields(rows):
            return fields_lines(paper, rows)
        case Table():
            return _table(paper, block)
        case Para(text, mark):
            return paper.paragraph(text, first="   ", role=Role.ACCENT if mark else Role.TEXT)
        case Bullets(rows):
            return [line for row in rows for line in paper.paragraph(row, first="   - ")]
        case Under(text, note):
            head = paper.paragraph(text, first=" ", role=Role.STRONG)
            return [paper.line(), *head, *paper.paragraph(note, first="   ", role=Role.QUIET)]
        case Strip(pictures):
            names = [picture.caption for picture in pictures]
            return [line for name in names for line in paper.paragraph(name, first="   ")]
    return []


def fields_lines(paper: Paper, rows: Iterable[tuple[str, str]]) -> list[TextLine]:
    """Labels with what belongs to each, in one column; a label to which nothing does is left out.

    Args:
        paper: What they are drawn on.
        rows: Each label with its text.
    """
    told = [(label, text) for label, text in rows if text]
    longest = max((len(label) + 2 for label, _ in told), default=0)
    wide = max(LABEL, min(longest, _WIDEST))
    lines: list[TextLine] = []
    for label, text in told:
        role = Role.ACCENT if label in CALLING else Role.TEXT
        lead = f" {label:<{max(wide, len(label) + 2)}}"
        lines += paper.paragraph(text, first=lead, lead=Role.QUIET, role=role)
    return lines


CALLING = frozenset({"problem"})
"""The labels of what wants somebody."""


def _table(paper: Paper, table: Table) -> list[TextLine]:
    heads, _rule, *rows = table_lines(table, paper.width - 5)
    if len(table.rows) and rows and not heads.startswith("- "):
        lines = [paper.line("   ", (heads.rstrip(), Role.QUIET))]
        return lines + [paper.line("   ", row.rstrip()) for row in rows]
    return [paper.line("   ", row.rstrip()) for row in (heads, _rule, *rows)]
