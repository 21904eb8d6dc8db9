import hashlib
import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from benchrun.moment import Moment
from benchrun.record.line import ZEROS, LineError, decode, encode, read_log_line, shape

MOST = 2**53 - 1
AT = Moment(1_795_600_000_123, 60_000, "boot-1", True).as_data()
GOOD = {"n": 0, "at": AT, "by": "ann@shop", "kind": "do", "data": {"µ": "Ø"}, "prev": ZEROS}

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
keys = st.text(st.characters(max_codepoint=0xD7FF), max_size=6)
scalars = st.none() | st.booleans() | st.integers(-MOST, MOST) | texts
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4)
)
objects = st.dictionaries(keys, values, max_size=5)


@given(objects)
def test_the_bytes_of_a_line_are_those_of_rfc_8785(value):
    assert encode(value) == rfc8785.dumps(value) + b"\n"


@given(objects)
def test_a_line_reads_back_as_what_was_written(value):
    raw = encode(value)
    assert decode(raw) == value
    assert encode(decode(raw)) == raw


@given(objects, st.data())
def test_a_reordered_or_spaced_line_is_refused(value, data):
    loose = (
        json.dumps(value, ensure_ascii=False, indent=data.draw(st.integers(0, 2))) + "\n"
    ).encode()
    if loose == encode(value):
        assert decode(loose) == value
    else:
        with pytest.raises(LineError):
            decode(loose.replace(b"\n", b"", loose.count(b"\n") - 1))


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ({"a": 1.5}, "float"),
        ({"a": {"b": [0, float("nan")]}}, r"line\.a\.b\[1\]"),
        ({"a": 2**53}, "double"),
        ({"a": -(2**53)}, "double"),
        ({"a": "\ud800"}, "surrogate"),
        ({"a": b"x"}, "bytes"),
        ({1: "a"}, "not text"),
        ({"a": {True: 1}}, "not text"),
        ({"\ue000": 1}, "U\\+DFFF"),
        ({"🔧": 1}, "U\\+DFFF"),
        ({"a": {1, 2}}, "set"),
        ({"a": "x" * (1 << 20)}, "too long"),
    ],
)
def test_what_has_no_canonical_form_is_not_written(value, said):
    with pytest.raises(LineError, match=said):
        encode(value)


def test_what_nests_too_deep_is_neither_written_nor_read():
    deep: object = "x"
    for _ in range(40):
        deep = [deep]
    with pytest.raises(LineError, match="deep"):
        encode({"a": deep})
    with pytest.raises(LineError):
        decode(b'{"a":' + b"[" * 200_000 + b"]" * 200_000 + b"}\n")


@pytest.mark.parametrize(
    "raw",
    [
        b'{"a":1,"a":1}\n',
        b'{"b":1,"a":1}\n',
        b'{"a": 1}\n',
        b' {"a":1}\n',
        b'{"a":1} \n',
        b'{"a":1}{"a":1}\n',
        b'{"a":1}\r\n',
        b'{"a":1}',
        b"",
        b"\n",
        b'{"a":1.0}\n',
        b'{"a":1e3}\n',
        b'{"a":NaN}\n',
        b'{"a":Infinity}\n',
        b'{"a":-0}\n',
        b'{"a":01}\n',
        b'{"a":9007199254740992}\n',
        b'{"a":' + b"9" * 5000 + b"}\n",
        b'{"a":"\\ud800"}\n',
        b'{"a":"\\ud83d\\ude00"}\n',
        b'{"a":"\\u0041"}\n',
        b'{"a":"\\/"}\n',
        b'{"a":"\xff"}\n',
        b'{"a":"\xed\xa0\x80"}\n',
        b'\xef\xbb\xbf{"a":1}\n',
        b"[1]\n",
        b'"a"\n',
        b"null\n",
        '{"\U0001f527":1}\n'.encode(),
    ],
)
def test_bytes_that_are_not_canonical_are_refused(raw):
    with pytest.raises(LineError):
        decode(raw)


def test_a_line_is_taken_apart():
    raw = encode(GOOD)
    line = read_log_line(raw)
    assert line.head == hashlib.sha256(raw).hexdigest()
    assert (line.n, line.by, line.kind, line.data) == (0, "ann@shop", "do", {"µ": "Ø"})
    assert line.at == Moment(1_795_600_000_123, 60_000, "boot-1", True)


@pytest.mark.parametrize(
    "change",
    [
        {"n": "0"},
        {"n": True},
        {"by": None},
        {"kind": "Do"},
        {"kind": ""},
        {"kind": "do it"},
        {"data": []},
        {"prev": None},
        {"at": "now"},
        {"at": {**AT, "utc": "2026-02-30T00:00:00.000Z"}},
        {"at": {**AT, "utc": "2026-11-25T24:00:00.000Z"}},
        {"at": {**AT, "utc": "2026-W48-3T14:02:18.041Z"}},
        {"at": {**AT, "utc": "2026-11-25T14:02:60.041Z"}},
        {"at": {**AT, "utc": "2026-11-25T14:02:18.041"}},
        {"at": {**AT, "utc": "2026-11-25T14:02:18.0412Z"}},
        {"at": {**AT, "utc": "2026-11-25T14:02:١٨.041Z"}},
        {"at": {**AT, "up_ms": -1}},
        {"at": {**AT, "up_ms": True}},
        {"at": {**AT, "boot": ""}},
        {"at": {**AT, "sync": 1}},
        {"at": {**AT, "more": 1}},
        {"more": 1},
    ],
)
def test_a_line_of_another_shape_is_refused(change):
    with pytest.raises(LineError):
        shape({**GOOD, **change}, b"", "")
    assert shape(GOOD, b"", "").n == 0
