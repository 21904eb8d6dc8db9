"""One line of a log: its canonical bytes, and strict reading of them.

A line is a JSON object in UTF-8 with sorted keys, no spaces and one LF at its end. Numbers are
integers that a double holds exactly. Within these limits the bytes equal those of RFC 8785.
"""

import datetime as dt
import json
import re
from typing import Any, Final, NamedTuple, NoReturn

from benchrun.moment import Moment

ZEROS: Final = "0" * 64
"""What line 0 gives as the digest of the line before it."""

MOST_BYTES: Final = 1 << 20
"""The longest line, LF included. A line longer than this is no line of a log."""

_MOST_INTEGER: Final = 2**53 - 1  # RFC 8785 section 3.2.2.3: what a double holds exactly
_MOST_DEPTH: Final = 32
_LINE_KEYS: Final = frozenset({"n", "at", "by", "kind", "data", "prev"})
_AT_KEYS: Final = frozenset({"utc", "up_ms", "boot", "sync"})
_UTC: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)
_KIND: Final = re.compile(r"[a-z]{1,24}", re.ASCII)
_DIGEST: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)
# The first bytes of UTF-8 characters from U+E000 on. Among such keys the order of code points and
# the order of UTF-16 units that RFC 8785 asks for could differ.
_HIGH: Final = re.compile(rb"[\xee-\xf4]")


class LineError(ValueError):
    """A line, or what should become one, is not canonical. Says what was found."""


class Line(NamedTuple):
    """A line that was read: its parts, its bytes and its digest.

    Attributes:
        n: Its number, from 0.
        when: The moment as the line holds it; `at` is the same as a `Moment`.
        by: Who entered it.
        kind: What kind of entry it is.
        data: The entry itself.
        prev: SHA-256 (hex) of the whole line before, LF included.
        raw: The bytes, LF included.
        head: SHA-256 (hex) of `raw`: what the next line must give as its `prev`.
    """

    n: int
    when: dict[str, Any]
    by: str
    kind: str
    data: dict[str, Any]
    prev: str
    raw: bytes
    head: str

    @property
    def at(self) -> Moment:
        """When it was entered."""
        return Moment.from_data(self.when)


def _refuse_float(text: str) -> NoReturn:
    raise LineError(f"{text[:20]} is no integer: measured values are kept as text")


def _integer(text: str) -> int:
    value = int(text) if len(text) <= 17 else _MOST_INTEGER + 1
    if not -_MOST_INTEGER <= value <= _MOST_INTEGER:
        raise LineError(f"the number {text[:20]} is beyond what a double holds exactly")
    return value


_DECODER: Final = json.JSONDecoder(
    parse_float=_refuse_float, parse_constant=_refuse_float, parse_int=_integer
)
_ENCODER: Final = json.JSONEncoder(
    sort_keys=True,
    separators=(",", ":"),
    ensure_ascii=False,
    allow_nan=False,
    check_circular=False,
)


def encode(value: dict[str, Any]) -> bytes:
    """Write an object as one canonical line, LF included.

    Args:
        value: Text, integers, true, false, None, and lists and dicts of these. Keys are text below
            U+E000.

    Raises:
        LineError: Something in it has no canonical form; the message says where.
    """
    _check(value, "line", 0)
    try:
        raw = _ENCODER.encode(value).encode("utf-8") + b"\n"
    except UnicodeEncodeError:
        raise LineError("a text holds half a surrogate pair, which UTF-8 cannot write") from None
    if len(raw) > MOST_BYTES:
        raise LineError(f"a line of {len(raw)} bytes is too long, the most is {MOST_BYTES}")
    return raw


def _check(value: object, place: str, depth: int) -> None:
    if depth > _MOST_DEPTH:
        raise LineError(f"{place[:80]} is nested more than {_MOST_DEPTH} deep")
    if isinstance(value, dict):
        for key, item in value.items():
            _check_key(key, place)
            _check(item, f"{place}.{key}", depth + 1)
    elif isinstance(value, list | tuple):
        for index, item in enumerate(value):
            _check(item, f"{place}[{index}]", depth + 1)
    elif isinstance(value, int):
        if not -_MOST_INTEGER <= value <= _MOST_INTEGER:
            raise LineError(f"{place[:80]} is a number beyond what a double holds exactly")
    elif value is not None and not isinstance(value, str):
        raise LineError(f"{place[:80]} is a {type(value).__name__}, which a line does not hold")


def _check_key(key: object, place: str) -> None:
    if not isinstance(key, str):
        raise LineError(f"{place[:80]} has the key {key!r:.40}, which is not text")
    if not key.isascii() and max(key) >= "\ue000":
        raise LineError(f"{place[:80]} has a key with a character above U+DFFF")


def decode(raw: bytes) -> dict[str, Any]:
    """Read one line strictly: what comes out would be written as exactly these bytes.

    Args:
        raw: The line, LF included.

    Raises:
        LineError: It is not the canonical form of an object.
    """
    value = parse(raw)
    try:
        again = _ENCODER.encode(value).encode("utf-8")
    except (UnicodeEncodeError, RecursionError):
        raise LineError("it holds half a surrogate pair or is nested too deep") from None
    if again != raw[:-1]:
        raise LineError("its bytes are not in canonical form")
    if _HIGH.search(raw) is not None:
        _check(value, "line", 0)
    return value


def parse(raw: bytes) -> dict[str, Any]:
    """Read one line without proving that its bytes are the canonical ones.

    Raises:
        LineError: It is not an object of the kinds a line holds.
    """
    if len(raw) > MOST_BYTES or raw[-1:] != b"\n":
        raise LineError(f"it does not end within {MOST_BYTES} bytes")
    try:
        value, _ = _DECODER.raw_decode(raw.decode("utf-8"))
    except UnicodeDecodeError:
        raise LineError("it is not UTF-8") from None
    except json.JSONDecodeError as error:
        raise LineError(f"it is not JSON: {error.msg} at character {error.pos + 1}") from None
    except RecursionError:
        raise LineError("it is nested too deep") from None
    if not isinstance(value, dict):
        raise LineError("it is no object")
    return value


def shape(value: dict[str, Any], raw: bytes, head: str) -> Line:
    """Take an object apart as a line of a log.

    Args:
        value: What `decode` or `parse` gave for `raw`.
        raw: The bytes.
        head: SHA-256 (hex) of the bytes.

    Raises:
        LineError: A part is missing, too many, or of another kind.
    """
    if value.keys() != _LINE_KEYS:
        raise LineError(f"it must hold exactly {', '.join(sorted(_LINE_KEYS))}")
    line = Line(
        value["n"],
        value["at"],
        value["by"],
        value["kind"],
        value["data"],
        value["prev"],
        raw,
        head,
    )
    if type(line.n) is not int or type(line.by) is not str or type(line.data) is not dict:
        raise LineError("n must be an integer, by a text and data an object")
    if type(line.kind) is not str or _KIND.fullmatch(line.kind) is None:
        raise LineError("kind must be one word of lower-case letters")
    if type(line.prev) is not str or _DIGEST.fullmatch(line.prev) is None:
        raise LineError("prev must be 64 lower-case hexadecimal digits")
    if type(line.when) is not dict:
        raise LineError("at must be an object")
    _check_when(line.when)
    return line


def _check_when(when: dict[str, Any]) -> None:
    if when.keys() != _AT_KEYS:
        raise LineError("at must hold exactly boot, sync, up_ms, utc")
    utc, up_ms = when["utc"], when["up_ms"]
    if type(utc) is not str or _UTC.fullmatch(utc) is None:
        raise LineError("at.utc must be a time like 2026-11-25T14:02:18.041Z")
    try:
        dt.datetime.fromisoformat(utc)
    except ValueError:
        raise LineError(f"at.utc is {utc}, which is no time") from None
    if type(up_ms) is not int or up_ms < 0:
        raise LineError("at.up_ms must be a whole number of milliseconds")
    if type(when["boot"]) is not str or not when["boot"] or type(when["sync"]) is not bool:
        raise LineError("at.boot must be a text and at.sync true or false")
