"""Writes a report as Markdown; drawings are left out, the tables beside them say the same."""

import re
from collections.abc import Iterator
from typing import Final

from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Code,
    Fields,
    Para,
    Report,
    Strip,
    Table,
    Under,
)
from benchrun.text import paragraphs, shown

# What is markup wherever it stands: CommonMark 0.31, 2.4 and 6, and the tables of GitHub's form. A
# mark inside a word or before a figure, a star between blanks, a bracket that is no link and an
# ampersand that is no entity are text, so that tags, dates, numbers and formulas stay legible.
_ANYWHERE: Final = re.compile(
    r"([\\`<>|~$^]|(?<! )\*|\*(?! )|\](?=[(\[:])|&(?=#?[A-Za-z0-9]+;)"
    r"|(?<![A-Za-z0-9])_|_(?![A-Za-z0-9]))"
)
_AT_THE_START: Final = re.compile(
    r"^(\d{1,9})([.)])(?=\s|$)|^([#+=*-])(?=[\s#+=*-]|$)|^(>)|^(\[)(?=[ xX]\])"
)
_CLOSING: Final = re.compile(r"(#+)$")
# What a reader's program would make a link of without being asked (GitHub's form, 6.9).
_LINK: Final = re.compile(
    r"(?i)(https?|ftp|mailto|xmpp|javascript)(:)|(@)(?=[a-z0-9-]+\.)|(www)(\.)"
)


def as_markdown(report: Report) -> str:
    """The report as Markdown with pipe tables; every text is escaped, so none is markup."""
    rows: list[str] = []
    for sheet in report.sheets:
        rows += [
            f"# {_heading_md(sheet.title)}",
            "",
            _line_md(sheet.over),
            "",
            *_block_md(sheet.card),
        ]
        for para in sheet.words:
            rows += _block_md(para)
        for section in sheet.sections:
            rows += [f"## {_heading_md(section.title)}", ""]
            for block in section.blocks:
                rows += _block_md(block)
    return "\n".join(rows).rstrip("\n") + "\n"


def _md(text: str) -> str:
    """A text that no reader's program takes for markup, and that reads as text all the same."""
    safe = _ANYWHERE.sub(r"\\\1", shown(text, 4000))
    return _LINK.sub(_unlinked, safe)


def _line_md(text: str) -> str:
    """The same where a line begins with it, so that it is no list and no heading either."""
    return _AT_THE_START.sub(_unmarked, _md(text))


def _heading_md(text: str) -> str:
    """The same as a heading, whose last signs are no closing ones."""
    return _CLOSING.sub(r"\\\1", _md(text))


def _unlinked(match: re.Match[str]) -> str:
    scheme, colon, at, www, dot = match.groups()
    if colon:
        return f"{scheme}\\{colon}"
    return f"\\{at}" if at else f"{www}\\{dot}"


def _unmarked(match: re.Match[str]) -> str:
    number, point, mark, _, box = match.groups()
    if number:
        return f"{number}\\{point}"
    return f"\\{mark or box}" if mark or box else match[0]


def _block_md(block: Block) -> Iterator[str]:
    match block:
        case Table():
            yield from _table_md(block)
        case Para(text, mark):
            for line in paragraphs(text):
                yield from (f"**{_md(line)}**" if mark else _line_md(line), "")
            return
        case Fields(rows):
            yield from (f"- {_md(label)}: {_md(value)}" for label, value in rows if value)
        case Bullets(rows):
            yield from (f"- {_line_md(row)}" for row in rows)
        case Strip(pictures):
            yield from (f"- {_line_md(picture.caption)}" for picture in pictures)
        case Code(text):
            yield f"```sh\n{text.rstrip()}\n```"
        case Under(text, note):
            yield f"### {_heading_md(text)}"
            yield from ("", _line_md(note)) if note else ()
    yield ""


def _table_md(table: Table) -> Iterator[str]:
    yield f"| {' | '.join(map(_md, table.columns))} |"
    rules = ("--:" if at in table.figures else "---" for at in range(len(table.columns)))
    yield f"| {' | '.join(rules)} |"
    for row in table.rows:
        yield f"| {' | '.join(map(_md_cell, row))} |"


def _md_cell(cell: Cell) -> str:
    was = f"~~{_md(cell.was)}~~ now " if cell.was else ""
    text = _md(cell.text)
    if cell.mark == "gone":
        return f"{was}~~{text}~~"
    return f"{was}**{text}**" if cell.mark and text else f"{was}{text}"
