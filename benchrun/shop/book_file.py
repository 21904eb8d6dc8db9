"""The form of one file of the shop, and its rows as they are read.

A row that is not sound is left out and told; the others stand. A file that cannot be read at all
has no rows and one fault, and the other files of the shop still work.
"""

import textwrap
import time
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import field, replace
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, Protocol, TypeVar, cast

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.files import MOST_BYTES, read_file
from benchrun.procedure.marked import Items, Map
from benchrun.shop.book_row import BookFault, BookRow, map_of
from benchrun.text import meant, shown

_WIDTH: Final = 96

if TYPE_CHECKING:
    from benchrun.shop.row_pages import RowPages


class HasId(Protocol):
    """Anything that has an id in its file."""

    @property
    def id(self) -> str:
        """Its id."""


N = TypeVar("N", bound=HasId)
T = TypeVar("T")
_Told = tuple[Callable[[N], object], list[object]]
_MOST_TOLD: Final = 64
FEW_ROWS: Final = 200
"""Fewer are read by the reader of YAML before that of plain rows is there."""


@lean_dataclass(frozen=True, slots=True)
class BookFile(Generic[N]):
    """The rows of a file.

    Attributes:
        path: The file.
        what: What one row is, in a word.
        rows: The sound ones, in order.
        faults: What must be put right.
        whole: Whether the file could be read at all; a file that is not there is whole and empty.
    """

    path: Path
    what: str
    rows: tuple[N, ...] = ()
    faults: tuple[BookFault, ...] = ()
    whole: bool = True
    _places: dict[str, int] = field(default_factory=dict, repr=False, compare=False)
    _told: "dict[Hashable, _Told[N]]" = field(default_factory=dict, repr=False, compare=False)

    def place(self, name: str) -> int | None:
        """Which row has an id, from 0; None where none has it."""
        if not self._places and self.rows:
            self._places.update({row.id: place for place, row in enumerate(self.rows)})
        return self._places.get(name)

    def find(self, name: str) -> N | None:
        """The row of an id, or None."""
        place = self.place(name)
        return None if place is None else self.rows[place]

    def each(self, key: Hashable, tell: Callable[[N], T]) -> Sequence[T]:
        """The answer of each row to a question, which `key` names and `tell` answers.

        Every act with a supply asks this of all rows; one that stays as it is is asked once.
        """
        held = self._told.get(key)
        if held is None:
            if len(self._told) >= _MOST_TOLD:
                self._told.clear()
            held = self._told[key] = (tell, [tell(row) for row in self.rows])
        return cast("Sequence[T]", held[1])

    def with_row(self, row: N) -> "BookFile[N]":
        """The same rows with another one in the place of that of its id."""
        place = self.place(row.id)
        if place is None:
            return self
        told: dict[Hashable, _Told[N]] = {
            key: (tell, [*said[:place], tell(row), *said[place + 1 :]])
            for key, (tell, said) in self._told.copy().items()  # other threads ask as well
        }
        rows = (*self.rows[:place], row, *self.rows[place + 1 :])
        return BookFile(self.path, self.what, rows, self.faults, self.whole, self._places, told)

    def named(self, name: str) -> N:
        """The row of an id.

        Raises:
            BenchrunError: There is none; says which there are and what is wrong with the file.
        """
        row = self.find(name)
        if row is None:
            would = meant(name, [row.id for row in self.rows])
            also = f". {self.faults[0].words}" if self.faults else ""
            raise BenchrunError(f"no {self.what} {shown(name, 60)!r}: {would}{also}")
        return row

    def demand(self) -> None:
        """Insist on a file that could be read.

        Raises:
            BenchrunError: It could not; says where and why.
        """
        if not self.whole:
            raise BenchrunError(self.faults[0].words)


@lean_dataclass(frozen=True, slots=True)
class BookForm(Generic[N]):
    """The form of a file's rows under one key: which keys a row has, and how it is read.

    Attributes:
        file: The file's name in the shop's folder.
        key: The key under which the rows stand.
        what: What one row is, in a word.
        keys: The keys of a row, each with what stands there.
        make: Makes a row; what is wrong it leaves in the row's faults.
        intro: What the file is for, in whole sentences.
        more: Lines of the comment after the keys, such as what a line of a list looks like.
        beside: What else may stand in the file.
        smaller: What would do where the file has grown too large.
    """

    file: str
    key: str
    what: str
    keys: Mapping[str, str]
    make: Callable[[BookRow], N]
    intro: str = ""
    more: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    smaller: str = "move rows that are done with to a file of another name"

    def content(self, folder: Path) -> bytes:
        """The bytes of a shop's file.

        Raises:
            BenchrunError: It cannot be read, or is too large; says what would do.
        """
        path = folder / self.file
        if path.is_file() and path.stat().st_size > MOST_BYTES:
            size = f"{path.stat().st_size // 1024} KiB, at most {MOST_BYTES // 1024} are read"
            raise BenchrunError(f"{self.file} has {size}: {self.smaller}")
        return read_file(path)

    @property
    def tops(self) -> tuple[str, ...]:
        """The keys at the top of the file."""
        return (self.key, *self.beside)

    @property
    def head(self) -> str:
        """The comment that a new file begins with."""
        wide = max(len(key) for key in self.keys) + 2
        rows = [*textwrap.wrap(self.intro, _WIDTH), ""]
        for key, words in self.keys.items():
            first, *rest = textwrap.wrap(words, _WIDTH - wide - 2)
            rows += [f"  {key:<{wide}}{first}", *(f"  {'':<{wide}}{row}" for row in rest)]
        rows += ["", *self.more] if self.more else []
        return "".join(f"# {row}".rstrip() + "\n" for row in rows)

    def read(self, folder: Path) -> BookFile[N]:
        """Read a shop's file; one that is not there has no rows and no faults."""
        path = folder / self.file
        if not path.exists() and not path.is_symlink():
            return BookFile(path, self.what)
        stamp = _stamp(path)
        known = _READ.get((path, self.key))
        if known is not None and stamp is not None and known.stamp == stamp:
            return cast("BookFile[N]", known.sheet)
        try:
            content = self.content(folder)
            sheet = self.parse(content, path)
        except BenchrunError as error:
            fault = BookFault(path.name, 1, 1, error.message)
            return BookFile(path, self.what, (), (fault,), whole=False)
        _READ[path, self.key] = _ReadFile(stamp, content, sheet)
        return sheet

    def wrote(self, content: bytes, sheet: BookFile[N]) -> None:
        """Take note of what was just written, as it reads: it need not be read again."""
        _READ[sheet.path, self.key] = _ReadFile(None, content, sheet)

    def parse(self, content: bytes, path: Path) -> BookFile[N]:
        """Read the contents of a file that lies, or shall lie, at a path."""
        known = _READ.get((path, self.key))
        if known is not None and known.content == content:
            return cast("BookFile[N]", known.sheet)
        sheet = self._by_rows(content, path)
        if sheet is not None:
            return sheet
        data, faults = map_of(content, path.name, self.tops)
        if data is None:
            return BookFile(path, self.what, (), faults, whole=False)
        value = data.get(self.key, "")
        if value == "":
            return BookFile(path, self.what, (), faults)
        if not isinstance(value, Items):
            at = data.values_at[self.key]
            fault = BookFault(path.name, at.line, at.column, f"`{self.key}` must be a list of rows")
            return BookFile(path, self.what, (), (*faults, fault), whole=False)
        rows, wrong = self._rows(value, path.name)
        return BookFile(path, self.what, rows, (*faults, *wrong))

    def parse_changed(
        self, before: BookFile[N], pages: "RowPages", old: str, new: str, name: str
    ) -> BookFile[N] | None:
        """A file of which one row was changed, the others not read again.

        Args:
            before: The file as it read before.
            pages: The new file, taken apart.
            old: The text of the row before.
            new: Its text now.
            name: The row's id.

        Returns:
            None where the whole must be read, as that row is not sound or another one was not.
        """
        from benchrun.procedure.yamlread import MOST_VALUES
        from benchrun.shop.row_pages import read_rows, values_in

        path, held = before.path, _ROWS.get((before.path, self.key))
        maps = read_rows(self.key, [new])
        if before.faults or held is None or old not in held or maps is None:
            return None
        row = self._read_row(*maps[0], path.name)
        if row.faults or row.thing.id != name or held[old].thing.id != name:
            return None
        now = held.copy()
        del now[old]
        now[new] = row
        others = sum(len(of.texts) for key, of in pages.rows.items() if key != self.key)
        values = values_in(pages.rest) + sum(map(_values, now.values())) + others
        if values > MOST_VALUES or len(now) != len(pages.rows[self.key].texts):
            return None
        _ROWS[path, self.key] = now
        return before.with_row(cast("N", row.thing))

    def _by_rows(self, content: bytes, path: Path) -> BookFile[N] | None:
        """The file read row by row, those that are as before not again; None where it cannot be."""
        from benchrun.procedure.yamlread import MOST_VALUES
        from benchrun.shop.row_pages import read_rows, row_pages, values_in

        pages = row_pages(content, self.tops)
        if pages is None or BookRow(path.name, pages.rest, self.tops).faults:
            return None
        rows = pages.rows.get(self.key)
        if rows is None:
            bare = self.key not in pages.rest and _are_read(content, path, pages.rows)
            return BookFile(path, self.what) if bare else None
        held = _ROWS.get((path, self.key), {})
        texts = dict.fromkeys(rows.texts)
        new = self._plainly([text for text in texts if text not in held], path.name)
        unread = [text for text in texts if text not in held and text not in new]
        maps = read_rows(self.key, unread)
        if maps is None:
            return None
        new |= {
            text: self._read_row(*row, path.name) for text, row in zip(unread, maps, strict=True)
        }
        read = {text: new.get(text) or held[text] for text in texts}
        others = sum(len(of.texts) for key, of in pages.rows.items() if key != self.key)
        values = sum(read[text].values for text in rows.texts)
        if values_in(pages.rest) + values + others > MOST_VALUES:
            return None
        _ROWS[path, self.key] = read
        own = [read[text] for text in rows.texts]
        sound, wrong = self._joined(zip(rows.lines, own, strict=False), path.name)
        return BookFile(path, self.what, sound, tuple(wrong))

    def _plainly(self, texts: Collection[str], file: str) -> "dict[str, _ReadRow]":
        """Those of many rows that are of a plain form, and sound."""
        if len(texts) < FEW_ROWS:
            return {}
        from benchrun.shop.plain_rows import plain_row

        maps = {text: row for text in texts if (row := plain_row(text)) is not None}
        read = {text: self._read_row(1, row, file) for text, row in maps.items()}
        return {text: row for text, row in read.items() if not row.faults}

    def _read_row(self, line: int, data: Map, file: str) -> "_ReadRow":
        from benchrun.shop.row_pages import values_in

        row = BookRow(file, data, self.keys, -line)
        thing = self.make(row)
        at = data.values_at.get("id", data.at)
        return _ReadRow(thing, tuple(row.faults), at.line - line, at.column, values_in(data))

    def _joined(
        self, rows: "Iterable[tuple[int, _ReadRow]]", file: str
    ) -> tuple[tuple[N, ...], list[BookFault]]:
        by_id: dict[str, N] = {}
        wrong: list[BookFault] = []
        for line, row in rows:
            thing = cast("N", row.thing)
            wrong += [replace(fault, line=fault.line + line) for fault in row.faults]
            if row.faults:
                continue
            if thing.id in by_id:
                text = _twice(thing.id)
                wrong.append(BookFault(file, row.line + line, row.column, text))
            else:
                by_id[thing.id] = thing
        return tuple(by_id.values()), wrong

    def _rows(self, items: Items, file: str) -> tuple[tuple[N, ...], list[BookFault]]:
        by_id: dict[str, N] = {}
        wrong: list[BookFault] = []
        for item, at in zip(items, items.values_at, strict=True):
            if not isinstance(item, Map):
                wrong.append(
                    BookFault(file, at.line, at.column, f"begin the {self.what} with `- id:`")
                )
                continue
            row = BookRow(file, item, self.keys)
            thing = self.make(row)
            if not row.faults and thing.id in by_id:
                row.wrong("id", _twice(thing.id))
            if not row.faults:
                by_id[thing.id] = thing
            wrong += row.faults
        return tuple(by_id.values()), wrong


@lean_dataclass(frozen=True, slots=True)
class _ReadRow:
    """A row that was read by itself: what it is, its faults, where its id stands, its values."""

    thing: HasId
    faults: tuple[BookFault, ...]
    line: int
    column: int
    values: int


_values: Final = attrgetter("values")

_ROWS: dict[tuple[Path, str], dict[str, _ReadRow]] = {}
"""The rows of the files that were read last, by their texts, as many as the files have.

By the path as well: a row may mean a file beside its own, such as a key.
"""
BookStamp = tuple[int, int, int, int]
_SETTLED_NS: Final = 2_000_000_000


@lean_dataclass(frozen=True, slots=True)
class _ReadFile:
    """A file as it was read: under another stamp its bytes are compared, under None in any case."""

    stamp: BookStamp | None
    content: bytes
    sheet: object


_READ: dict[tuple[Path, str], _ReadFile] = {}
"""The files of this process's shops as they were read last."""


def _are_read(content: bytes, path: Path, keys: Iterable[str]) -> bool:
    """Whether the rows under some keys of a file's contents were read already and can be read."""
    known = [_READ.get((path, key)) for key in keys]
    return all(
        one is not None and one.content == content and cast("BookFile[HasId]", one.sheet).whole
        for one in known
    )


def _stamp(path: Path) -> BookStamp | None:
    """The stamp by which a changed file is known; None while it may change under the same stamp.

    A file that was written a moment ago may be written once more within one tick of the disk's
    clock, to the same length.
    """
    try:
        state = path.stat()
    except OSError:
        return None
    if abs(time.time_ns() - state.st_mtime_ns) < _SETTLED_NS:
        return None
    return (state.st_mtime_ns, state.st_ctime_ns, state.st_size, state.st_ino)


def _twice(name: str) -> str:
    return f"the id {name} is there twice: give this one another"
