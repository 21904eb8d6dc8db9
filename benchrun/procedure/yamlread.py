"""Reads the YAML of a procedure into plain maps, lists and texts, with the place of each.

Only what a person needs to write is taken: no anchors, aliases, merge keys, tags or directives, no
key twice, no control character. Every value stays the text that was written, so that `no`, `1:30`
and `62.00` mean what they say; the shapes decide what each text must be.

The events come from libyaml where its extension is installed, some fourteen times as quick as the
reader in Python. Whatever libyaml refuses is read again in Python, whose word is final: messages
and places are the same with and without the extension.
"""

import re
from collections.abc import Iterator
from importlib import import_module
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from benchrun.procedure.files import MOST_BYTES
from benchrun.procedure.marked import Items, Map, Place, Unreadable
from benchrun.text import shown
from benchrun.version import FILES_FORMAT, newer

MOST_VALUES: Final = 40_000
MOST_DEPTH: Final = 24
MOST_LETTERS: Final = 4_000

# Control characters, line separators that editors do not count, and what reorders or hides text.
_HIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u061c\u200b\u200e\u200f\u2028-\u202e"
    "\u2060-\u2069\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
_NO_BLANK: Final = re.compile(r"-(?=[a-z])")
_KEY: Final = re.compile(r" *(?:- +)?[A-Za-z][A-Za-z ]*")
_COLON: Final = re.compile(r":(?: |$)")
_PLAIN: Final = {
    "mapping values are not allowed": (
        "a text has a colon followed by a blank: put the whole text in quotation marks"
    ),
    "could not find expected ':'": "a line has no colon after its key, or is indented too little",
    "found character '\\t'": "a tab is used to indent: use blanks",
    "expected <block end>": "this line is not indented like the lines it belongs to",
    "found unexpected end of stream": "a quotation mark or bracket is never closed",
    "found unknown escape": "a backslash inside quotation marks: double it, or use single marks",
    "cannot start any token": "the text begins with a sign of YAML: put it in quotation marks",
    "expected the node content": "a bracket is never closed, or a value is missing before it",
    "expected ',' or": "a bracket is never closed, or a comma is missing in the list",
    "did not find expected": "this line is not indented like the lines it belongs to",
}


def read_yaml(content: bytes) -> Map:
    """Read a procedure, a script or a file of the shop.

    Its key `format`, the number of its form, is looked at here and taken out: without one it is 1.

    Raises:
        Unreadable: It is not text, not YAML, uses what procedures do without, or a newer benchrun
            made it.
    """
    data = _read(content)
    text = data.pop("format", "1")
    at = data.values_at.pop("format", data.at)
    data.keys_at.pop("format", None)
    if not (isinstance(text, str) and text.isascii() and text.isdigit() and 0 < len(text) < 5):
        raise Unreadable("format: a whole number is needed here, such as 1", at)
    if int(text) > FILES_FORMAT:
        raise Unreadable(newer("the file", int(text), FILES_FORMAT).message, at)
    return data


def _read(content: bytes) -> Map:
    text = decoded(content)
    quick = quick_events(text)
    if quick is not None:
        try:
            return _Builder(quick).whole()
        except (YAMLError, Unreadable):
            pass  # the reader in Python says what is wrong, and where
    try:
        return _Builder(YAML(typ="safe", pure=True).parse(text)).whole()
    except YAMLError as error:
        raise _unreadable(error, text) from None
    except (ValueError, RecursionError, AttributeError, IndexError, TypeError, KeyError) as error:
        # The parser leaves some malformed input (odd escapes, odd directives) as bare faults.
        raise Unreadable(f"this is not YAML that can be read ({error})", Place(1, 1)) from None


def quick_events(text: str) -> Iterator[Event] | None:
    """The events by libyaml; None where it is not installed, or where the two readers differ.

    Where that shows only on the way, reading on raises YAMLError.
    """
    try:
        quick_parser = import_module("ruamel.yaml.cyaml").CParser
    except ImportError:
        return None
    if "\t" in text or text.startswith("%") or "\n%" in text:
        return None  # what the two readers take differently
    parser = quick_parser(text)

    def events() -> Iterator[Event]:
        for event in iter(parser.get_event, None):
            if type(event) is ScalarEvent and not event.value and not event.style:
                raise YAMLError("the two readers place an empty value differently")
            yield event

    return events()


def decoded(content: bytes) -> str:
    """The text of a file.

    Raises:
        Unreadable: It is too large, no UTF-8, or holds characters that hide or reorder text.
    """
    start = Place(1, 1)
    if len(content) > MOST_BYTES:
        size = f"{len(content) / 1024:.0f} KiB"
        raise Unreadable(f"file of {size}: at most {MOST_BYTES // 1024} KiB are read", start)
    if content.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in content[:4]:
        raise Unreadable("file is UTF-16 or UTF-32, not UTF-8: save it as UTF-8", start)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        column = error.start - content.rfind(b"\n", 0, error.start)
        raise Unreadable(
            f"byte {content[error.start]:#04x} is not UTF-8 text: save the file as UTF-8",
            Place(line, column),
        ) from None
    hidden = _HIDDEN.search(text)
    if hidden:
        line = text.count("\n", 0, hidden.start()) + 1
        column = hidden.start() - text.rfind("\n", 0, hidden.start())
        raise Unreadable(_hidden(hidden.group()), Place(line, column))
    return text


def _hidden(letter: str) -> str:
    return f"hidden or control character U+{ord(letter):04X} in the text: delete it"


def _lost_colon(lines: list[str], line: int, column: int) -> Unreadable | None:
    """A line before that lost its colon, or the blank after it, and so runs on into this one."""
    if line >= len(lines) or not _KEY.fullmatch(lines[line][:column]):
        return None
    before = next((at for at in range(line - 1, -1, -1) if lines[at].strip()), None)
    if before is None or _COLON.search(lines[before]):
        return None
    text = lines[before]
    start = len(text) - len(text.lstrip(" -"))
    key, colon, rest = text[start:].partition(":")
    if colon:
        said = f"a blank is missing after the colon: write `{shown(key, 30)}: {shown(rest, 40)}`"
    else:
        word, _, rest = key.partition(" ")
        said = f"a colon is missing after the key: write `{shown(word, 30)}: {shown(rest, 40)}`"
    return Unreadable(said, Place(before + 1, start + 1))


def _unreadable(error: Exception, page: str) -> Unreadable:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = str(getattr(error, "problem", None) or error).splitlines()[0]
    text = next((ours for theirs, ours in _PLAIN.items() if theirs in said), None)
    at = Place(mark.line + 1, mark.column + 1) if mark else Place(1, 1)
    lines = page.splitlines()
    begun = getattr(error, "context_mark", None)
    if begun and mark and begun.line < mark.line and ("expected ':'" in said or "','" in said):
        at = Place(begun.line + 1, begun.column + 1)  # where it begins, not where it is missed
    if mark and "mapping values are not allowed" in said:
        slip = _lost_colon(lines, mark.line, mark.column)
        if slip is not None:
            return slip
    if mark and mark.line < len(lines) and _NO_BLANK.match(lines[mark.line], mark.column):
        text = "a blank is missing after the hyphen: write `- do:`"
    return Unreadable(text or f"this is not YAML that can be read: {said[:120]}", at)


class _Builder:
    """Builds the data from parsing events, one at a time, so that nothing can pile up.

    A book of two thousand rows is thirty thousand texts, so what is done to each is done in one
    place, `_scalar`, in few calls.
    """

    def __init__(self, events: Iterator[Event]) -> None:
        self._events = events
        self._values = 0
        self._root: Map | Items | str | None = None
        self._inside: Map | Items | None = None
        self._key = ""
        self._key_at: Place | None = None  # None where a key comes next
        self._above: list[tuple[Map | Items | None, str, Place | None]] = []

    def whole(self) -> Map:
        handlers = {
            ScalarEvent: self._scalar,
            MappingStartEvent: self._map,
            SequenceStartEvent: self._list,
            MappingEndEvent: self._end,
            SequenceEndEvent: self._end,
            AliasEvent: self._alias,
            DocumentStartEvent: self._document,
        }
        for event in self._events:
            handler = handlers.get(type(event))
            if handler is not None:
                handler(event)
        if not isinstance(self._root, Map):
            what = "nothing" if not self._root else "something else"
            raise Unreadable(
                f"a procedure begins with lines such as `procedure: its-name`, found {what}",
                Place(1, 1),
            )
        return self._root

    def _document(self, event: Any) -> None:
        if event.version or event.tags:
            raise Unreadable("a line beginning with % is not taken: delete it", Place(1, 1))
        if self._root is not None:
            raise Unreadable(
                "a second document begins: one file holds one procedure", _place(event)
            )

    def _alias(self, event: Any) -> None:
        raise Unreadable(
            "an alias (*name) is not taken: write it out (quotation marks if text is meant)",
            _place(event),
        )

    def _count(self, event: Any) -> None:
        """Count one value more, and refuse what no value may have."""
        self._values += 1
        if self._values > MOST_VALUES:
            raise Unreadable(f"more than {MOST_VALUES} values in one file: split it", _place(event))
        if event.anchor is not None:
            raise Unreadable(
                "an anchor (&name) is not taken: write it out (quotation marks if text is meant)",
                _place(event),
            )
        if event.ctag:
            raise Unreadable(
                "a tag (!name) is not taken: delete it (quotation marks if text is meant)",
                _place(event),
            )

    def _scalar(self, event: Any) -> None:
        self._count(event)
        text: str = event.value
        style, mark = event.style or None, event.start_mark
        line, column = mark.line + 1, mark.column + 1
        if len(text) > MOST_LETTERS:
            raise Unreadable(
                f"text of {len(text)} letters: at most {MOST_LETTERS} are taken",
                Place(line, column),
            )
        if style == '"' and (hidden := _HIDDEN.search(text)):
            raise Unreadable(_hidden(hidden.group()), Place(line, column))
        inner = 0
        if event.end_mark.line == mark.line and style not in {"|", ">"}:
            inner = column if style is None else column + 1
        self._put(text, Place(line, column, inner), plain=style is None)

    def _map(self, event: Any) -> None:
        self._count(event)
        self._open(Map(_place(event)))

    def _list(self, event: Any) -> None:
        self._count(event)
        self._open(Items(_place(event)))

    def _open(self, node: Map | Items) -> None:
        if len(self._above) >= MOST_DEPTH:
            raise Unreadable(f"nested more than {MOST_DEPTH} deep", node.at)
        self._put(node, node.at, plain=False)
        self._above.append((self._inside, self._key, self._key_at))
        self._inside, self._key_at = node, None

    def _end(self, _event: Any) -> None:
        self._inside, self._key, self._key_at = self._above.pop()

    def _put(self, value: "str | Map | Items", at: Place, *, plain: bool) -> None:
        inside = self._inside
        if isinstance(inside, Map):
            if self._key_at is None:
                self._key, self._key_at = _key(inside, value, at, plain=plain), at
            else:
                key = self._key
                inside[key] = value
                inside.keys_at[key] = self._key_at
                inside.values_at[key] = at
                self._key_at = None
        elif inside is None:
            self._root = value
        else:
            inside.append(value)
            inside.values_at.append(at)


def _key(inside: Map, value: "str | Map | Items", at: Place, *, plain: bool) -> str:
    if not isinstance(value, str):
        raise Unreadable("a key is a list or a map: a key is one word or a few", at)
    if plain and value == "<<":
        raise Unreadable("a merge key (<<) is not taken: write the lines out", at)
    if value in inside:
        first = inside.keys_at[value]
        raise Unreadable(f"key {value[:40]!r} is there twice, first on line {first.line}", at)
    return value


def _place(event: Any) -> Place:
    mark = event.start_mark
    return Place(mark.line + 1, mark.column + 1)
