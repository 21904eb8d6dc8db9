"""One line of a log: its canonical bytes, and strict reading of them.

A line is a JSON object in UTF-8 with sorted keys, no spaces and one LF at its end. Numbers are
integers that a double holds exactly. Within these limits the bytes equal those of RFC 8785.

Reading and writing have two ways each. The quick one, orjson, only ever accepts, and only what the
slow one would accept as the same value, or write as the same bytes; whatever it is not sure of goes
to the slow one, the standard library, which judges it and says what was found.
"""

import datetime as dt
import hashlib
import json
import re
from functools import lru_cache
from typing import Any, Final, NamedTuple, NoReturn

import orjson

from benchrun.moment import Moment

ZEROS: Final = "0" * 64
"""The digest that line 0 gives of the line before it."""

MOST_BYTES: Final = 1 << 20
"""The longest line, LF included. A line longer than this is no line of a log."""

_MOST_INTEGER: Final = 2**53 - 1  # RFC 8785 section 3.2.2.3: what a double holds exactly
_MOST_DEPTH: Final = 32
_LINE_HOLDS: Final = "it must hold exactly at, by, data, kind, n, prev"
_AT_HOLDS: Final = "at must hold exactly boot, sync, up_ms, utc"
_DAY: Final = re.compile(r"\d{4}-\d\d-\d\dT", re.ASCII)
_MINUTE: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:", re.ASCII)
_HOURS_MS: Final = {f"{hour:02d}:": hour * 3_600_000 for hour in range(24)}
_MINUTES_MS: Final = {f"{minute:02d}:": minute * 60_000 for minute in range(60)}
_SECONDS_MS: Final = {f"{second:02d}.": second * 1000 for second in range(60)}
_MILLIS: Final = {f"{milli:03d}Z": milli for milli in range(1000)}
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
        utc_ms: Its wall time, milliseconds since 1970.
        by: Who entered it.
        kind: What kind of entry it is.
        data: The entry itself.
        prev: SHA-256 (hex) of the whole line before, LF included.
        raw: The bytes, LF included.
        head: SHA-256 (hex) of `raw`: what the next line must give as its `prev`.
    """

    n: int
    when: dict[str, Any]
    utc_ms: int
    by: str
    kind: str
    data: dict[str, Any]
    prev: str
    raw: bytes
    head: str

    @property
    def at(self) -> Moment:
        """When it was entered."""
        when = self.when
        return Moment(self.utc_ms, when["up_ms"], when["boot"], when["sync"])


@lru_cache(maxsize=64)
def _day_ms(text: str) -> int:
    """Milliseconds since 1970 of a time cut before its hour; entries come many a day."""
    if _DAY.fullmatch(text) is None:
        raise ValueError(text)
    when = dt.datetime.fromisoformat(text[:10])
    return int(when.replace(tzinfo=dt.UTC).timestamp()) * 1000


def _wall_ms(utc: str) -> int:
    """Milliseconds since 1970 of a time as a line holds it.

    Raises:
        LineError: It is not one.
    """
    try:
        return (
            _day_ms(utc[:11])
            + _HOURS_MS[utc[11:14]]
            + _MINUTES_MS[utc[14:17]]
            + _SECONDS_MS[utc[17:20]]
            + _MILLIS[utc[20:]]
        )
    except (KeyError, ValueError):
        raise _no_time(utc) from None


def _no_time(utc: str) -> LineError:
    """The refusal of what should be a time, by what is wrong with it."""
    if _MINUTE.match(utc) is not None:
        try:
            dt.datetime.fromisoformat(utc[:16])
        except ValueError:
            return LineError(f"at.utc is {utc[:16]}, which is no time")
    return LineError("at.utc must be a time like 2026-11-25T14:02:18.041Z")


def _refuse_float(text: str) -> NoReturn:
    raise LineError(f"{text[:20]} is no integer: measured values are kept as text")


def _integer(text: str) -> int:
    value = int(text) if len(text) <= 17 else _MOST_INTEGER + 1
    if not -_MOST_INTEGER <= value <= _MOST_INTEGER:
        raise LineError(f"the number {text[:20]} is beyond what a double holds exactly")
    return value


_STRICT: Final = json.JSONDecoder(
    parse_float=_refuse_float, parse_constant=_refuse_float, parse_int=_integer
)
_ENCODER: Final = json.JSONEncoder(
    sort_keys=True,
    separators=(",", ":"),
    ensure_ascii=False,
    allow_nan=False,
    check_circular=False,
)

# It refuses integers beyond what a double holds exactly, as reading must.
_AGAIN: Final = orjson.OPT_SORT_KEYS | orjson.OPT_STRICT_INTEGER | orjson.OPT_APPEND_NEWLINE
# The end of a number with a fraction or an exponent, where canonical bytes can hold one. Some texts
# look the same, and the slow way tells them apart.
_FRACTION: Final = re.compile(rb"[.eE][+-]?[0-9]+[]},]")


def encode(value: dict[str, Any]) -> bytes:
    """Write an object as one canonical line, LF included.

    Args:
        value: Text, integers, true, false, None, and lists and dicts of these. Keys are text below
            U+E000.

    Raises:
        LineError: Something in it has no canonical form; the message says where.
    """
    quick = _quickly_written(value)
    if quick is not None:
        return quick
    _check(value, "line", 0)
    try:
        raw = _ENCODER.encode(value).encode("utf-8") + b"\n"
    except UnicodeEncodeError:
        raise LineError("a text holds half a surrogate pair, which UTF-8 cannot write") from None
    if len(raw) > MOST_BYTES:
        raise LineError(f"a line of {len(raw)} bytes is too long, the most is {MOST_BYTES}")
    return raw


def _quickly_written(value: dict[str, Any]) -> bytes | None:
    """Write an object of which there is no doubt that a line may hold it.

    What orjson writes and a line does not hold, such as dates and tuples, is not read back as the
    same value; but fractions are, and keys above U+DFFF, and what is nested too deep.
    """
    try:
        raw = orjson.dumps(value, option=_AGAIN)
        same = orjson.loads(raw) == value
    except (ValueError, TypeError):
        return None
    if not same or len(raw) > MOST_BYTES or raw.count(b"{") + raw.count(b"[") > _MOST_DEPTH:
        return None
    if _FRACTION.search(raw) or not (raw.isascii() or _HIGH.search(raw) is None):
        return None
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
        LineError: It is not the canonical form of an object; the message says what was found.
    """
    text = _text(raw)
    value = _parsed(text)
    try:
        # A text that came from UTF-8 holds no half surrogate, so one in the value shows here too.
        again = _ENCODER.encode(value)
    except RecursionError:
        raise LineError("it is nested too deep") from None
    if again != text:
        raise LineError("its bytes are not in canonical form: another program wrote it")
    if not text.isascii() and _HIGH.search(raw) is not None:
        _check(value, "line", 0)
    return value


def _text(raw: bytes) -> str:
    if len(raw) > MOST_BYTES or raw[-1:] != b"\n":
        raise LineError(f"it does not end within {MOST_BYTES} bytes")
    if not raw.strip():
        raise LineError("it is empty")
    if raw.endswith(b"\r\n"):
        raise LineError("it ends in CR LF: an editor or a copying program changed the line ends")
    if raw.startswith(b"\xef\xbb\xbf"):
        raise LineError("it begins with a byte order mark: an editor has rewritten the file")
    try:
        return raw[:-1].decode("utf-8")
    except UnicodeDecodeError:
        raise LineError("it is not UTF-8") from None


def _parsed(text: str) -> dict[str, Any]:
    try:
        value, end = _STRICT.raw_decode(text)
    except json.JSONDecodeError as error:
        raise LineError(f"it is not JSON: {error.msg} at character {error.pos + 1}") from None
    except RecursionError:
        raise LineError("it is nested too deep") from None
    except LineError:
        raise
    except ValueError:  # an integer of more digits than Python converts
        raise LineError("it holds a number beyond what a double holds exactly") from None
    if type(value) is dict and end == len(text):
        return value
    raise LineError("it is no object, or more than one")


def read_log_line(raw: bytes) -> Line:
    """Read one line of a log strictly.

    Args:
        raw: The line, LF included.

    Raises:
        LineError: It is not canonical, or no line of a log; the message says what was found.
    """
    value = _quickly(raw)
    if value is None:
        value = decode(raw)
    return shape(value, raw, hashlib.sha256(raw).hexdigest())


def _quickly(raw: bytes) -> dict[str, Any] | None:
    """Read a line that is canonical without any doubt, if `shape` finds it to be one of a log.

    Writing it again shows doubled keys, spaces, and escapes, order and integers in other forms.
    What orjson would write again unchanged but a line does not hold is looked for: fractions in
    `data`, for `shape` lets none stand elsewhere, and keys above U+DFFF.
    """
    if len(raw) > MOST_BYTES or not (raw.isascii() or _HIGH.search(raw) is None):
        return None
    if _FRACTION.search(raw, raw.find(b'"data":'), raw.rfind(b'"kind":')) is not None:
        return None
    try:
        value = orjson.loads(raw)
        return value if orjson.dumps(value, option=_AGAIN) == raw and type(value) is dict else None
    except (ValueError, TypeError):
        return None


def shape(value: dict[str, Any], raw: bytes, head: str) -> Line:
    """Take an object apart as a line of a log.

    Args:
        value: The object that `raw` holds.
        raw: The bytes.
        head: SHA-256 (hex) of the bytes.

    Raises:
        LineError: A part is missing, too many, or of another kind.
    """
    try:
        n, when, by, kind = value["n"], value["at"], value["by"], value["kind"]
        data, prev = value["data"], value["prev"]
    except KeyError:
        raise LineError(_LINE_HOLDS) from None
    if len(value) != 6:
        raise LineError(_LINE_HOLDS)
    if type(n) is not int or type(by) is not str or type(data) is not dict:
        raise LineError("n must be an integer, by a text and data an object")
    if type(kind) is not str or not (kind.islower() and kind.isalpha() and kind.isascii()):
        raise LineError("kind must be one word of lower-case letters")
    if type(prev) is not str:
        raise LineError("prev must be a digest")
    if type(when) is not dict:
        raise LineError("at must be an object")
    return tuple.__new__(Line, (n, when, _check_when(when), by, kind, data, prev, raw, head))


def _check_when(when: dict[str, Any]) -> int:
    """Check a moment as a line holds it, and give its wall time."""
    try:
        utc, up_ms, boot, sync = when["utc"], when["up_ms"], when["boot"], when["sync"]
    except KeyError:
        raise LineError(_AT_HOLDS) from None
    if len(when) != 4:
        raise LineError(_AT_HOLDS)
    if type(utc) is not str:
        raise LineError("at.utc must be a text")
    if type(up_ms) is not int or up_ms < 0:
        raise LineError("at.up_ms must be a whole number of milliseconds")
    if type(boot) is not str or not boot or type(sync) is not bool:
        raise LineError("at.boot must be a text and at.sync true or false")
    return _wall_ms(utc)
