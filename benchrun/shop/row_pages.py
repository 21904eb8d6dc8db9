"""The rows of a file of the shop as texts that are read one by one.

A file of two thousand rows of which one was changed is read again in that row alone. That is sound
where each row by itself is whole YAML: a reader that begins a row inside a list, and finds it
whole, stands inside the same list at its end, so that rows read apart say what they say together.
Files of any other form are not taken apart here; whoever asks reads them as a whole.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from threading import Lock
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.marked import Items, Map, Place, Unreadable
from benchrun.procedure.yamlread import decoded, read_yaml

_UNFIT: Final = re.compile(r"[\t\r]|^(?:---|\.\.\.|%)", re.MULTILINE)
_TOP: Final = re.compile(r"^[^\s#].*\n", re.MULTILINE)
_START: Final = Place(2, 1)
_ROW: Final = re.compile(r"^( +)- ", re.MULTILINE)


@lean_dataclass(frozen=True, slots=True)
class RowPage:
    """The text of one row.

    Attributes:
        text: Its lines, to the line before the next row.
        start: Where in the file's text it begins.
        line: The number of its first line, from 1.
    """

    text: str
    start: int
    line: int


@lean_dataclass(frozen=True, slots=True)
class RowPages:
    """A file taken apart.

    Attributes:
        text: The whole.
        rest: What the file says without its rows; where that stands is not kept.
        rows: The rows under each key at its top that holds a list of rows.
    """

    text: str
    rest: Map
    rows: Mapping[str, tuple[RowPage, ...]]

    def with_row(self, page: RowPage, new: str) -> str:
        """The whole text with another text in the place of a row."""
        return self.text[: page.start] + new + self.text[page.start + len(page.text) :]

    def with_page(self, key: str, page: RowPage, new: str) -> "RowPages | None":
        """The file with another text in the place of a row, the others not taken apart again.

        Args:
            key: The key that the row stands under.
            page: The row.
            new: Its new text.

        Returns:
            None where that is not one row by itself in the column of the old one.
        """
        alone, head = _taken_apart(f"{key}:\n{new}".encode(), (key,)), f"{key}:\n"
        whole = RowPage(new, len(head), _START.line)
        first, old = _ROW.match(new), _ROW.match(page.text)
        if alone is None or alone.rows.get(key) != (whole,) or first is None or old is None:
            return None
        if first[1] != old[1]:
            return None
        longer, lines = len(new) - len(page.text), new.count("\n") - page.text.count("\n")
        rows = {}
        for top, pages in self.rows.items():
            before = [row for row in pages if row.start < page.start]
            after = [
                RowPage(row.text, row.start + longer, row.line + lines)
                for row in pages[len(before) + (top == key) :]
            ]
            own = [RowPage(new, page.start, page.line)] if top == key else []
            rows[top] = (*before, *own, *after)
        return RowPages(self.with_row(page, new), self.rest, rows)


_APART: Final[dict[tuple[bytes, tuple[str, ...]], RowPages | None]] = {}
"""The files that were taken apart last; some more than a shop has."""
_MOST_APART: Final = 8
_LOCK: Final = Lock()


def keep_pages(content: bytes, tops: Collection[str], pages: RowPages | None) -> None:
    """Take note of how a file is taken apart, as `row_pages` would do it."""
    with _LOCK:
        if len(_APART) >= _MOST_APART:
            del _APART[next(iter(_APART))]
        _APART[content, tuple(tops)] = pages


def row_pages(content: bytes, tops: Collection[str]) -> RowPages | None:
    """Take a file apart.

    Args:
        content: Its bytes.
        tops: The keys at its top that may hold rows.

    Returns:
        None where its form does not allow that, or where something is wrong with it.
    """
    with _LOCK:
        if (content, tuple(tops)) in _APART:
            return _APART[content, tuple(tops)]
    pages = _taken_apart(content, tops)
    keep_pages(content, tops, pages)
    return pages


def _taken_apart(content: bytes, tops: Collection[str]) -> RowPages | None:
    try:
        text = decoded(content)
        if _UNFIT.search(text) or not text.endswith("\n"):
            return None
        rows: dict[str, tuple[RowPage, ...]] = {}
        rest, done = "", 0
        heads = [*_TOP.finditer(text)]
        for head, end in zip(heads, [*(h.start() for h in heads[1:]), len(text)], strict=False):
            key, _, value = head.group().partition(":")
            if key in tops and not value.partition("#")[0].strip():
                pages = _rows(text, head.end(), end)
                if pages:
                    rows[key] = pages
                    rest += f"{text[done : head.start()]}{key}: ''\n"
                    done = end
        return RowPages(text, read_yaml((rest + text[done:]).encode()), rows) if rows else None
    except Unreadable:
        return None  # whoever reads it as a whole says what is wrong


def _rows(text: str, start: int, end: int) -> tuple[RowPage, ...]:
    """The rows between two places; none where anything else stands there."""
    first = _ROW.search(text, start, end)
    if first is None or re.search(r"^ *[^\s#]", text[start : first.start()], re.MULTILINE):
        return ()
    column = len(first[1])
    body = text[first.start() : end]
    if re.search(
        rf"^(?: {{0,{column}}}[^\s#-]| {{0,{column - 1}}}-| {{{column}}}-\S)", body, re.MULTILINE
    ):
        return ()
    starts = [
        first.start() + m.start() for m in re.finditer(rf"^ {{{column}}}- ", body, re.MULTILINE)
    ]
    line, at, pages = text.count("\n", 0, starts[0]) + 1, starts[0], []
    for begin, stop in zip(starts, [*starts[1:], end], strict=True):
        line += text.count("\n", at, begin)
        at = begin
        pages.append(RowPage(text[begin:stop], begin, line))
    return tuple(pages)


def read_rows(key: str, pages: Sequence[str]) -> list[tuple[int, Map]] | None:
    """The maps that the texts of rows make, each with the line that its text begins on.

    Args:
        key: The key that their list stands under.
        pages: Their texts.

    Returns:
        None where one of them is no row by itself.
    """
    try:
        rows = read_yaml(f"{key}:\n{''.join(pages)}".encode()).get(key) if pages else Items(_START)
    except Unreadable:
        return None
    if not isinstance(rows, Items) or len(rows) != len(pages):
        return None
    line, read = _START.line, []
    for page, row, at in zip(pages, rows, rows.values_at, strict=True):
        if not isinstance(row, Map) or at.line != line:
            return None
        read.append((line, row))
        line += page.count("\n")
    return read


def values_in(value: object) -> int:
    """How many values something holds, itself counted."""
    if isinstance(value, Map):
        return 1 + len(value) + sum(map(values_in, value.values()))
    return 1 + sum(map(values_in, value)) if isinstance(value, Items) else 1
