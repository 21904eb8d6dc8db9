"""The rows of a file of the shop as texts that are read one by one.

A file of two thousand rows of which one was changed is read again in that row alone. That is sound
where each row by itself is whole YAML: a reader that begins a row inside a list, and finds it
whole, stands inside the same list at its end, so that rows read apart say what they say together.
Files of any other form are not taken apart here; whoever asks reads them as a whole.
"""

import re
from bisect import bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import accumulate, pairwise
from threading import Lock
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.marked import Items, Map, Place, Unreadable
from benchrun.procedure.yamlread import decoded, read_yaml

_UNFIT: Final = ("\t", "\r", "\n---", "\n...", "\n%")
_TOP: Final = re.compile(r"\n[^\s#].*")
_START: Final = Place(2, 1)
_ROW: Final = re.compile(r"^( +)- ", re.MULTILINE)


@lean_dataclass(frozen=True, slots=True)
class Rows:
    """The rows of one list, which stand one behind the other.

    Attributes:
        texts: The lines of each, to the line before the next row.
        start: Where in the file's text the first begins.
        line: The number of its first line, from 1.
    """

    texts: tuple[str, ...]
    start: int
    line: int

    @property
    def starts(self) -> list[int]:
        """Where in the file's text each begins, and where the last one ends."""
        return list(accumulate(map(len, self.texts), initial=self.start))

    @property
    def lines(self) -> list[int]:
        """The number of the first line of each, and of the line behind the last."""
        return list(accumulate((text.count("\n") for text in self.texts), initial=self.line))

    def holding(self, words: str, text: str) -> list[int]:
        """The numbers of the rows, from 0, that hold some words in the file's text."""
        starts, found = self.starts, dict[int, None]()
        at = text.find(words, self.start, starts[-1])
        while at >= 0:
            number = bisect_right(starts, at) - 1
            found[number] = None
            at = text.find(words, starts[number + 1], starts[-1])
        return list(found)


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
    rows: Mapping[str, Rows]

    def with_row(self, key: str, number: int, new: str) -> "RowPages | None":
        """The file with another text in the place of a row, the others not taken apart again.

        Args:
            key: The key that the row stands under.
            number: Which row, from 0.
            new: Its new text.

        Returns:
            None where that is not one row by itself in the column of the old one.
        """
        own, head = self.rows[key], f"{key}:\n"
        old, alone = own.texts[number], _taken_apart(f"{head}{new}".encode(), (key,))
        whole = Rows((new,), len(head), _START.line)
        first, before = _ROW.match(new), _ROW.match(old)
        if alone is None or alone.rows.get(key) != whole or first is None or before is None:
            return None
        if first[1] != before[1]:
            return None
        longer, lines = len(new) - len(old), new.count("\n") - old.count("\n")
        rows = {
            top: Rows(of.texts, of.start + longer, of.line + lines) if of.start > own.start else of
            for top, of in self.rows.items()
        }
        texts = (*own.texts[:number], new, *own.texts[number + 1 :])
        rows[key] = Rows(texts, own.start, own.line)
        return RowPages(self.text_with(key, number, new), self.rest, rows)

    def text_with(self, key: str, number: int, new: str) -> str:
        """The whole text with another text in the place of a row."""
        own = self.rows[key]
        start = own.start + sum(map(len, own.texts[:number]))
        return self.text[:start] + new + self.text[start + len(own.texts[number]) :]


_APART: Final[list[tuple[tuple[str, ...], bytes, RowPages | None]]] = []
"""The files that were taken apart last, some more than a shop has; compared sooner than hashed."""
_MOST_APART: Final = 8
_LOCK: Final = Lock()


def keep_pages(content: bytes, tops: Collection[str], pages: RowPages | None) -> None:
    """Take note of how a file is taken apart, as `row_pages` would do it."""
    with _LOCK:
        del _APART[: max(0, len(_APART) - _MOST_APART + 1)]
        _APART.append((tuple(tops), content, pages))


def row_pages(content: bytes, tops: Collection[str]) -> RowPages | None:
    """Take a file apart.

    Args:
        content: Its bytes.
        tops: The keys at its top that may hold rows.

    Returns:
        None where its form does not allow that, or where something is wrong with it.
    """
    with _LOCK:
        for held, of, known in reversed(_APART):
            if of == content and held == tuple(tops):
                return known
    pages = _taken_apart(content, tops)
    keep_pages(content, tops, pages)
    return pages


def _taken_apart(content: bytes, tops: Collection[str]) -> RowPages | None:
    try:
        text = decoded(content)
        lines = f"\n{text}"  # a line is found much sooner by the end of the one before it
        if any(sign in lines for sign in _UNFIT) or not text.endswith("\n"):
            return None
        rows: dict[str, Rows] = {}
        rest, done = "", 0
        heads = [*_TOP.finditer(lines)]
        for head, end in zip(heads, [*(h.start() for h in heads[1:]), len(text)], strict=False):
            key, _, value = head.group()[1:].partition(":")
            if key in tops and not value.partition("#")[0].strip():
                pages = _rows(text, head.end(), end)
                if pages is not None:
                    rows[key] = pages
                    rest += f"{text[done : head.start()]}{key}: ''\n"
                    done = end
        return RowPages(text, read_yaml((rest + text[done:]).encode()), rows) if rows else None
    except Unreadable:
        return None  # whoever reads it as a whole says what is wrong


def _rows(text: str, start: int, end: int) -> Rows | None:
    """The rows between two places; None where anything else stands there, or nothing."""
    first = _ROW.search(text, start, end)
    if first is None or re.search(r"^ *[^\s#]", text[start : first.start()], re.MULTILINE):
        return None
    column = len(first[1])
    body = f"\n{text[first.start() : end]}"
    if re.search(rf"\n(?: {{0,{column}}}[^\s#-]| {{0,{column - 1}}}-| {{{column}}}-\S)", body):
        return None
    starts = [first.start() + m.start() for m in re.finditer(rf"\n {{{column}}}- ", body)]
    texts = [text[begin:stop] for begin, stop in pairwise([*starts, end])]
    return Rows(tuple(texts), starts[0], text.count("\n", 0, starts[0]) + 1)


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
        return 1 + 2 * len(value) + _deeper(value.values())
    return 1 + len(value) + _deeper(value) if isinstance(value, Items) else 1


def _deeper(values: Iterable[object]) -> int:
    """How many values some values hold, themselves not counted."""
    return sum(values_in(one) - 1 for one in values if not isinstance(one, str))
