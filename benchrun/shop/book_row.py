"""One map of a file of the shop, read key by key; what is wrong in it, each with its place."""

import re
from collections.abc import Callable, Collection, Iterator
from functools import lru_cache
from typing import Final, TypeVar

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.files import MOST_BYTES
from benchrun.procedure.marked import Items, Map, Place, Unreadable
from benchrun.shop.yaml_text import LONGEST
from benchrun.text import meant, shown, unfit

_ID: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST_ID: Final = 80  # a run's id is the longest
_KEY_LINE: Final = re.compile(r"(?:[^\s\"'#\[\]{},&*!|>%@`-][^:#]*|\"[^\"]*\"|'[^']*') *:(?:\s|$)")

T = TypeVar("T")


@lean_dataclass(frozen=True, slots=True, order=True)
class BookFault:
    """Something to put right in a file of the shop.

    Attributes:
        file: The file's name.
        line: From 1.
        column: From 1.
        text: What is wrong, what was found, what would do.
    """

    file: str
    line: int
    column: int
    text: str

    @property
    def words(self) -> str:
        """The fault with its place, as one line."""
        return f"{shown(self.file, 80)}:{self.line}:{self.column}: {shown(self.text, 300)}"


class BookRow:
    """One map of the file, read key by key; what is wrong is collected with its place."""

    def __init__(self, file: str, data: Map, known: Collection[str], above: int = 0) -> None:
        self.data = data
        self._file = file
        self._above = above  # lines of the file above the text that the map was read from
        self.faults: list[BookFault] = []
        for key in data:
            if key not in known:
                would = meant(key, known, len(known))
                self.fault(data.keys_at[key], f"{shown(key, 40)!r} is no key here: {would}")

    def fault(self, at: Place, text: str) -> None:
        """Add what is wrong."""
        self.faults.append(BookFault(self._file, at.line + self._above, at.column, text))

    def wrong(self, key: str, text: str) -> None:
        """Add what is wrong with the value of a key."""
        self.fault(self.data.values_at.get(key, self.data.at), text)

    def take(self, key: str, parse: Callable[[str], T], default: T) -> T:
        """A value read by `parse`, or the default where the key is missing or blank."""
        text = self.text(key) if key in self.data else ""  # most keys are in few rows
        if not text:
            return default
        try:
            return parse(text)
        except BenchrunError as error:
            self.wrong(key, f"{key}: {error.message}")
            return default

    def id(self) -> str:
        """The row's id."""
        self.text("id", needed=True)
        return self.take("id", read_id, "")

    def text(self, key: str, *, needed: bool = False) -> str:
        """A text on one line; empty where it is missing."""
        value = self.data.get(key, "")
        if not isinstance(value, str):
            self.wrong(key, f"{key}: a text is needed here, found a list or a map")
            return ""
        line = self._line(key, value) if value else ""
        if needed and not line:
            self.wrong(key, f"{self._called()} has no {key}: write it")
        return line

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts, or a single one."""
        value = self.data.get(key, "")
        if isinstance(value, str):
            return (line,) if (line := self._line(key, value)) else ()
        if not isinstance(value, Items) or not all(isinstance(text, str) for text in value):
            self.wrong(key, f"{key}: a list of texts is needed here, such as [first, second]")
            return ()
        return tuple(self._line(key, str(text)) for text in value)

    def items(self, key: str, known: Collection[str]) -> tuple["BookRow", ...]:
        """A list of maps; their faults become this row's own when `gather` is called."""
        value = self.data.get(key, "")
        if value == "":
            return ()
        if not isinstance(value, Items) or not all(isinstance(item, Map) for item in value):
            self.wrong(key, f"{key}: a list of lines such as - {{on: 2026-03-02}} is needed here")
            return ()
        maps = [item for item in value if isinstance(item, Map)]
        return tuple(BookRow(self._file, item, known, self._above) for item in maps)

    def gather(self, inner: "BookRow") -> None:
        """Take over the faults of a map inside this one."""
        self.faults += inner.faults

    def _line(self, key: str, value: str) -> str:
        line = " ".join(value.split())
        if len(line) > LONGEST:
            self.wrong(key, f"{key}: text of {len(line)} letters, at most {LONGEST} are taken")
            return ""
        if character := unfit(line):
            self.wrong(key, f"{key}: holds {character}: delete it")
            return ""
        return line

    def _called(self) -> str:
        name = self.data.get("id") or self.data.get("name")
        return shown(name, 40) if isinstance(name, str) and name else "this row"


def read_id(text: str) -> str:
    """An id: small letters, digits and single hyphens, so that it can be no path.

    Raises:
        BenchrunError: It is none.
    """
    if _ID.fullmatch(text) is None or len(text) > _LONGEST_ID:
        raise BenchrunError(
            f"{shown(text, 60)!r} is no id: small letters, digits and single hyphens, at most "
            f"{_LONGEST_ID}"
        )
    return text


@lru_cache(maxsize=16)
def page_of(content: bytes) -> Map:
    """The map that a file's contents make; it is shared, so nobody may change it.

    The board looks at the same files again and again, and reading YAML is what that costs.

    Args:
        content: The file's bytes.

    Raises:
        Unreadable: It is not text, not YAML, or uses what the shop's files do without.
    """
    from benchrun.procedure.yamlread import read_yaml

    return read_yaml(content)


def map_of(
    content: bytes, file: str, tops: Collection[str]
) -> tuple[Map | None, tuple[BookFault, ...]]:
    """The map that a file's contents make, or None with the fault; blank contents are empty.

    Args:
        content: The file's bytes.
        file: Its name.
        tops: The keys that may stand at its top.
    """
    try:
        if not _says_something(content):
            return Map(Place(1, 1)), ()
        _begins(content, tops)
        data = page_of(content)
    except Unreadable as error:
        return None, (BookFault(file, error.at.line, error.at.column, error.text),)
    return data, tuple(BookRow(file, data, tops).faults)


def _lines(content: bytes) -> Iterator[tuple[int, str]]:
    text = content[:MOST_BYTES].decode("utf-8-sig", "replace")
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#") and line.strip() != "---":
            yield number, line


def _says_something(content: bytes) -> bool:
    return next(_lines(content), None) is not None


def _begins(content: bytes, tops: Collection[str]) -> None:
    """Refuse what is no map at all in the shop's own words."""
    if b"\x00" in content[:4]:
        return  # the reader tells the encoding
    number, line = next(_lines(content), (1, "key:"))
    if line.startswith("%") or _KEY_LINE.match(line.lstrip()):
        return
    raise Unreadable(
        f"the file must begin with `{next(iter(tops))}:`, found {shown(line.strip(), 40)!r}",
        Place(number, 1),
    )
