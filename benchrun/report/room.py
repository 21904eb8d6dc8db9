"""How much of the first printed page the blocks of a front take, by the sizes in `style.css`.

An estimate for Letter; A4 is 3 % narrower and 7 % higher. A browser lays the page out; this only
decides how much is told in front of the annexes.
"""

import textwrap
from collections.abc import Sequence
from typing import Final

from benchrun.report.doc import Cell, Fields, Para, Section, Sheet, Table

PAGE: Final = 717.0
"""The height that is there, in points of 1/72 inch: Letter less its margins."""
_WIDE: Final = 538.0  # Letter less its margins
_WORDS_WIDE: Final = 478.0  # the words in the card
_CARD_WIDE: Final = 418.0  # what is left of it for the second column of the card
_LETTER: Final = 4.25  # the mean width of a letter of 8.4 points in the widest of the fonts named
_SMALL: Final = 4.1  # the same below the card
_PROSE: Final = 4.0  # and where a row is long enough for the mean to hold
_LINE: Final = 10.7
_SMALL_LINE: Final = 10.3
_ROW: Final = 9.8
_AROUND_ROW: Final = 2.5
_HEADING: Final = 16.0
_TITLE: Final = 17.0
_AROUND_CARD: Final = 26.0
_GAP: Final = 1.5
_PADDING: Final = 4.8  # between two columns
_UNBROKEN: Final = 19  # letters of a cell, or 10 of a heading, that are kept on one line
_UNBROKEN_HEAD: Final = 10
_LONG: Final = 30  # letters of a cell whose column is given room, for this many of them
_ROOMY: Final = 16


def height_of_front(sheet: Sheet) -> float:
    """The height of a front in print, in points, before it is set smaller for want of room."""
    return height_of_card(sheet) + sum(map(height_of, sheet.sections))


def height_of(section: Section) -> float:
    """The height of a section of the front in print, in points."""
    return _HEADING + sum(_block(block) for block in section.blocks)


def height_of_card(sheet: Sheet) -> float:
    """The height of what stands above the first section, in points."""
    title = _lines(sheet.title, 60) * _TITLE
    fields = sum(_lines(text, _CARD_WIDE / _LETTER) for _, text in sheet.card.rows if text)
    words = sum(_lines(para.text, _WORDS_WIDE / _LETTER) * _LINE + 3 for para in sheet.words)
    return _AROUND_CARD + title + fields * _LINE + words * 1.15


def _block(block: object) -> float:
    if isinstance(block, Para):
        return _lines(block.text, (_WIDE - 12) / _PROSE) * _SMALL_LINE + _GAP
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Fields):
        return len(block.rows) * _SMALL_LINE
    return 0.0


def _lines(text: str, letters: float) -> int:
    return max(1, len(textwrap.wrap(text, max(int(letters), 1))))


def _table(table: Table) -> float:
    wide = _widths(table)
    rows = [[Cell(name) for name in table.columns], *table.rows]
    lines = [
        max(_lines(cell.text, width) for cell, width in zip(row, wide, strict=True)) for row in rows
    ]
    return sum(number * _ROW + _AROUND_ROW for number in lines) + _GAP


def _widths(table: Table) -> list[float]:
    """The letters that each column has room for, shared as a browser shares them."""
    columns = list(zip(*([c.text for c in row] for row in table.rows), strict=True))
    columns = columns or [() for _ in table.columns]
    most, least = [], []
    for name, texts in zip(table.columns, columns, strict=True):
        longest = max((len(text) for text in (*texts, name)), default=1)
        head = len(name) if len(name) <= _UNBROKEN_HEAD else _longest_word([name])
        kept = [len(text) for text in texts if len(text) <= _UNBROKEN]
        roomy = _ROOMY if longest > _LONG else min(longest, _UNBROKEN_HEAD)
        least.append(float(max([head, *kept, roomy])))
        most.append(float(longest))
    room = (_WIDE - _PADDING * len(most)) / _SMALL
    if sum(most) <= room:
        return most
    spare = max(room - sum(least), 0.0)
    wanted = sum(most) - sum(least)
    return [low + spare * (high - low) / wanted for low, high in zip(least, most, strict=True)]


def _longest_word(texts: Sequence[str]) -> int:
    return max((len(word) for text in texts for word in text.split()), default=1)
