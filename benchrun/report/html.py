"""Writes a report as one HTML page that needs nothing else: no script, no network, no other file.

Every text passes `shown` and is escaped; the page's own policy forbids scripts and fetching, so
that even a fault here could load nothing.
"""

import re
from base64 import b64encode
from collections.abc import Iterator
from html import escape
from importlib.resources import files
from typing import Final

from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Code,
    Fields,
    Para,
    Picture,
    Plot,
    Report,
    Section,
    Sheet,
    Strip,
    Table,
    Under,
)
from benchrun.report.room import PAGE, height_of_front
from benchrun.text import paragraphs, shown, slug

_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
_FOOT: Final = re.compile(r"[A-Za-z0-9 ,.-]{1,100}", re.ASCII)
# Letters of the scripts that run from right to left (Unicode 15, Bidi_Class R and AL), with the
# marks, figures and blanks between them; a figure behind belongs to the name.
_RIGHT: Final = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
_LEFTWARD: Final = re.compile(rf"[{_RIGHT}](?:[ 0-9./-]*[{_RIGHT}0-9])*")
_LONG: Final = 30  # a column with a longer text is given room
_BRIEF: Final = 10  # a heading no longer than this is not broken
_SHORT: Final = 19  # a date with its time of day, and anything no longer, is not broken


def as_html(report: Report) -> str:
    """The report as a page."""
    style = files("benchrun.report").joinpath("style.css").read_text("utf-8")
    head = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="generator" content="benchrun">\n'
        f"<title>{_attribute(report.title)}</title>\n<style>\n{style}{_feet(report)}</style>\n</head>\n"
    )
    body: list[str] = []
    for number, sheet in enumerate(report.sheets, 1):
        body += _sheet(sheet, f"s{number}")
    return f"{head}<body>\n<main>\n{''.join(body)}</main>\n</body>\n</html>\n"


def _text(text: str) -> str:
    return _isolated(escape(shown(text, 4000)))


def _isolated(text: str) -> str:
    """A text in which words written from right to left do not reorder what stands around them."""
    return text if text.isascii() else _LEFTWARD.sub(r"<bdi>\g<0></bdi>", text)


def _attribute(text: str) -> str:
    return escape(shown(text, 4000))


def _feet(report: Report) -> str:
    """Page numbers in print, with the title where it holds nothing that a style could misread."""
    title = shown(report.title, 100)
    left = (
        f'@bottom-left {{ content: "{title}"; font: 7pt sans-serif; }}'
        if _FOOT.fullmatch(title)
        else ""
    )
    right = '@bottom-right { content: counter(page) " of " counter(pages); font: 7pt sans-serif; }'
    return f"@page {{ {left} {right} }}\n"


def _sheet(sheet: Sheet, name: str) -> Iterator[str]:
    front = " front" if name == "s1" else ""
    front += " dense" if front and height_of_front(sheet) > PAGE else ""
    yield f'<article class="sheet{front}">\n<header class="card">\n'
    yield f'<p class="over">{_text(sheet.over)}</p>\n<h1>{_text(sheet.title)}</h1>\n'
    yield from _fields(sheet.card) if sheet.card.rows else ()
    if sheet.words:
        yield '<div class="words">\n'
        for para in sheet.words:
            yield from _para(para)
        yield "</div>\n"
    yield f'</header>\n<nav aria-label="{_attribute(sheet.title)}">'
    anchors = [(f"{name}-{slug(section.title)}", section) for section in sheet.sections]
    yield "\n".join(
        f'<a href="#{anchor}">{_text(section.title)}</a>' for anchor, section in anchors
    )
    yield "</nav>\n"
    for anchor, section in anchors:
        yield from _section(section, anchor)
    yield "</article>\n"


def _section(section: Section, anchor: str) -> Iterator[str]:
    yield f'<section id="{anchor}">\n<h2>{_text(section.title)}</h2>\n'
    heading = section.title
    for block in section.blocks:
        heading = block.text if isinstance(block, Under) else heading
        yield from _table(block, heading) if isinstance(block, Table) else _block(block)
    yield "</section>\n"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Para():
            yield from _para(block)
        case Fields():
            yield from _fields(block)
        case Bullets(rows):
            yield "<ul>\n"
            yield from (f"<li>{_text(row)}</li>\n" for row in rows)
            yield "</ul>\n"
        case Plot(svg):
            yield f'<div class="plot">{svg}</div>\n'
        case Strip(pictures):
            yield '<div class="strip">\n'
            for picture in pictures:
                yield from _picture(picture)
            yield "</div>\n"
        case Code(text):
            yield f"<pre>{escape(text)}</pre>\n"
        case Under(text, note):
            small = f" <small>{_text(note)}</small>" if note else ""
            yield f"<h3>{_text(text)}{small}</h3>\n"


def _para(para: Para) -> Iterator[str]:
    mark = f' class="{para.mark}"' if para.mark else ""
    for line in paragraphs(para.text) or ("",):
        yield f"<p{mark}>{_isolated(escape(line))}</p>\n"


def _fields(fields: Fields) -> Iterator[str]:
    yield "<dl>\n"
    for label, value in (row for row in fields.rows if row[1]):
        yield f"<dt>{_text(label)}</dt><dd>{_text(value)}</dd>\n"
    yield "</dl>\n"


def _table(table: Table, heading: str) -> Iterator[str]:
    figures = table.figures
    yield f'<div class="rows"><table>\n<caption>{_text(heading)}</caption>\n<thead><tr>'
    for at, name in enumerate(table.columns):
        short = "short" if len(name) <= _BRIEF else ""
        names = _class(f"{'fig ' if at in figures else ''}{short}")
        yield f'<th scope="col"{names}>{_text(name)}</th>'
    yield "</tr></thead>\n<tbody>\n"
    heads = [_attribute(name) for name in table.columns]
    for row in table.rows:
        yield "<tr>"
        for at, cell in enumerate(row):
            # What stands first names the row, unless it is a bare number.
            yield _cell(cell, heads[at] if at or at in figures else "", figure=at in figures)
        yield "</tr>\n"
    yield "</tbody>\n</table></div>\n"


def _class(names: str) -> str:
    return f' class="{names.strip()}"' if names.strip() else ""


def _cell(cell: Cell, head: str, *, figure: bool) -> str:
    # The old value stands before the new one, struck, so that none is read without the other; the
    # word between them is for whoever hears the page or sees no line.
    was = f"<del>{_text(cell.was)}</del> now " if cell.was else ""
    length = len(cell.text) + len(cell.was)
    short = "short" if length <= _SHORT else "long" if length > _LONG else ""
    names = _class(f"{'fig ' if figure else ''}{short} {cell.mark}")
    # On a phone a row is a card, in which each cell says its own heading.
    headed = f' data-head="{head}"' if head and (cell.text or cell.was) else ""
    return f"<td{names}{headed}>{was}{_text(cell.text)}</td>"


def _picture(picture: Picture) -> Iterator[str]:
    yield "<figure>"
    if picture.content is not None:
        data = b64encode(picture.content).decode("ascii")
        yield f'<img alt="{_attribute(picture.caption)}" src="data:{picture.kind};base64,{data}">'
    yield f"<figcaption>{_text(picture.caption)}</figcaption></figure>\n"
