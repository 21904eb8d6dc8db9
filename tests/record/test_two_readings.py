"""The quick way of reading or writing a line and the slow one come to the same, whatever it is."""

import hashlib
import re

import orjson
import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrun.moment import Moment
from benchrun.record import line as lines
from benchrun.record.line import ZEROS, LineError, decode, encode, read_log_line, shape
from benchrun.run.state import Status

AT = Moment(1_795_600_000_123, 60_000, "boot-1", True).as_data()
GOOD = {"n": 7, "at": AT, "by": "ann@shop", "kind": "do", "data": {}, "prev": ZEROS}

# Each stands where a value or a key may stand; most are refused, some are canonical.
WORDS = rb"""
1.0 1.5 -0 -0.0 0.0 1e3 1E3 1e+20 1e20 1e-7 1.5e-7 1e400 1e16 5e-324 NaN -Infinity
9007199254740991 9007199254740992 -9007199254740991 -9007199254740992
18446744073709551615 18446744073709551616 123456789012345678901234567890
01 +1 .5 1. 0x1 true false null True nul {} [] [1.5] [1,2] [2,1.0]
"a" "" "25,43" "25.43" "1.5,2.5]" ":1.5," "\u0041" "\/" "\n" "\t" "\b" "\f"
"\u000a" "\u001f" "\u001F" "\u0000" "\u007f" "\u2028" "\"" "\\"
"\ud800" "\udc00" "\ud83d\ude00" "\ud83d" "\"data\":" "\"kind\":"
{"data":1.5} {"kind":1.5} {"data":{"kind":2}} {"a":1,"a":1} {"b":1,"a":1}
"""
HOSTILE = [
    *WORDS.split(),
    '"\u2028\u2029\x7f\x85\ufeff"'.encode(),
    '{"\ue000":1}'.encode(),
    '{"\U0001f527":1,"\uffff":2}'.encode(),
    '{"\uffff":1,"\U0001f527":2}'.encode(),
    '{"\ud7ff":1.5}'.encode(),
    '"\U0001f527 µ Ø \ue000"'.encode(),
    '{"µ":{"Ø":1}}'.encode(),
    b'"\x00"',
    b'"\x1f"',
    b'"\xff"',
    b'"\xed\xa0\x80"',
    b'"\xc0\xaf"',
    b'"\xf4\x90\x80\x80"',
    b" 1",
    b"1 ",
    b'{"a": 1}',
    b'{"a":1,}',
    b"[1,]",
    b"[" * 40 + b"]" * 40,
    b"[" * 260 + b"]" * 260,
    b"[" * 5000 + b"]" * 5000,
    b'{"a":' * 300 + b"1.5" + b"}" * 300,
]


def verdict(reader, raw):
    """What a reading comes to: the line down to the types of its values, or that it is refused."""
    try:
        return repr(reader(raw))
    except LineError:
        return "refused"


def slowly(raw):
    return shape(decode(raw), raw, hashlib.sha256(raw).hexdigest())


def written(**parts):
    """A line whose parts are given as bytes, the others good and in canonical order."""
    whole = {key: encode({"a": GOOD[key]})[5:-2] for key in GOOD} | parts
    return b"{" + b",".join(b'"%s":%s' % (k.encode(), whole[k]) for k in sorted(whole)) + b"}\n"


def same(raw):
    assert verdict(read_log_line, raw) == verdict(slowly, raw)


@pytest.mark.parametrize("place", ["at", "by", "data", "kind", "n", "prev", "more"])
def test_a_hostile_value_is_judged_alike_wherever_it_stands(place):
    for value in HOSTILE:
        same(written(**{place: value}))
        same(written(**{"data": b'{"a":%s,"b":[%s]}' % (value, value), place: value}))


def test_a_hostile_value_within_the_moment_is_judged_alike():
    good = {"boot": b'"b"', "sync": b"true", "up_ms": b"1", "utc": b'"2026-11-25T14:02:18.041Z"'}
    for key in (*good, "data", "kind"):
        for value in HOSTILE:
            parts = good | {key: value}
            same(
                written(at=b"{%s}" % b",".join(b'"%s":%s' % (k.encode(), parts[k]) for k in parts))
            )


def test_a_hostile_key_is_judged_alike():
    for key in HOSTILE:
        same(written(data=b"{%s:1.5}" % key))
        same(written(data=b'{%s:1,"zz":{%s:"x"}}' % (key, key)))


def test_every_byte_of_a_line_put_otherwise_is_judged_alike():
    raw = encode({**GOOD, "data": {"µ": ["25,43", 12, None], "x": {"y": "1.5]"}}})
    assert verdict(read_log_line, raw) != "refused"
    for at in range(len(raw)):
        for put in b'\x00\t\n\r "+-.019:,[]{}\\/eEtu\x7f\x80\xc3\xed\xef\xff':
            same(raw[:at] + bytes((put,)) + raw[at + 1 :])
            same(raw[:at] + bytes((put,)) + raw[at:])
        same(raw[:at] + raw[at + 1 :])
        same(raw[:at])


pieces = st.sampled_from(HOSTILE) | st.binary(max_size=6)
numbers = st.integers().map(lambda n: b"%d" % n) | st.floats().map(lambda f: repr(f).encode())
texts = st.text(max_size=10).map(
    lambda text: orjson.dumps(text.encode("utf-8", "replace").decode()) if text else b'""'
)
values = st.recursive(
    numbers | texts | st.sampled_from(HOSTILE),
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda some: b"[%s]" % b",".join(some))
        | st.lists(st.tuples(texts, inner), max_size=4).map(
            lambda some: b"{%s}" % b",".join(b"%s:%s" % pair for pair in some)
        )
    ),
    max_leaves=12,
)


@settings(max_examples=600)
@given(values, st.sampled_from(["data", "at", "n", "by", "more"]))
def test_any_json_in_a_line_is_judged_alike(value, place):
    same(written(**{place: value}))
    same(written(data=b'{"a":%s}' % value))
    same(value + b"\n")


@settings(max_examples=600)
@given(values, st.lists(st.tuples(st.integers(0, 400), pieces), min_size=1, max_size=3))
def test_a_line_with_bytes_thrown_into_it_is_judged_alike(value, thrown):
    raw = written(data=b'{"a":%s}' % value)
    for at, piece in thrown:
        raw = raw[:at] + piece + raw[at + len(piece) % 2 :]
    same(raw)


@settings(max_examples=300)
@given(st.binary(max_size=80))
def test_any_bytes_are_judged_alike(raw):
    same(raw)
    same(raw + b"\n")
    same(written(data=raw))


@settings(max_examples=300)
@given(values)
def test_what_is_read_has_the_bytes_of_rfc_8785(value):
    raw = written(data=b'{"a":%s}' % value)
    try:
        line = read_log_line(raw)
    except LineError:
        return
    parts = {key: getattr(line, key) for key in ("n", "by", "kind", "data", "prev")}
    assert rfc8785.dumps({**parts, "at": line.when}) + b"\n" == raw


plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=12,
)


@settings(max_examples=300)
@given(st.dictionaries(st.text(max_size=6), plain, max_size=5))
def test_whatever_can_be_written_is_read_back(data):
    try:
        raw = encode({**GOOD, "data": data})
    except LineError:
        return
    assert read_log_line(raw).data == data


@pytest.mark.parametrize(
    ("without", "raw"),
    [
        ("_FRACTION", written(data=b'{"a":1.5}')),
        ("_HIGH", written(data='{"\ue000":1}'.encode())),
    ],
)
def test_the_comparison_can_fail(monkeypatch, without, raw):
    """The control: each look that the quick reading takes is needed, and its lack is seen."""
    same(raw)
    monkeypatch.setattr(lines, without, re.compile(rb"(?!)"))
    assert verdict(read_log_line, raw) != "refused"


def test_the_quick_reading_reads_ordinary_lines(monkeypatch):
    """What the slow one alone could read would still be right, but slow."""
    raw = encode({**GOOD, "data": {"step": "seat-bore", "reading": {"value": "25.43"}, "n": 12}})

    def never(raw):
        raise AssertionError("the slow reading was asked")

    monkeypatch.setattr(lines, "decode", never)
    assert read_log_line(raw).n == 7
    with pytest.raises(AssertionError):
        read_log_line(raw.replace(b":12", b":12.5"))


loose = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(2**65), 2**65),
        st.floats(),
        st.decimals(),
        st.datetimes(),
        st.uuids(),
        st.binary(max_size=3),
        st.text(max_size=8),
        st.sampled_from([*Status, "1.5]", "\ud800", 2**53, "e3,", "\x7f\x1f\u2028"]),
    ),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.lists(inner, max_size=3).map(tuple)
        | st.dictionaries(st.text(max_size=4) | st.integers() | st.booleans(), inner, max_size=4)
    ),
    max_leaves=12,
)


def said(value):
    """What writing comes to: the bytes, or why there are none."""
    try:
        return encode(value)
    except LineError as error:
        return str(error)


@settings(max_examples=600)
@given(st.dictionaries(st.text(max_size=6), loose, max_size=5))
def test_any_object_is_written_alike(value):
    quick = said(value)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lines, "_quickly_written", lambda _: None)
        assert said(value) == quick


def test_what_nests_at_the_limit_is_written_alike():
    deep: object = 1
    for _ in range(40):
        deep = [deep]
        test_any_object_is_written_alike.hypothesis.inner_test({"a": deep})


def test_the_quick_writing_writes_ordinary_lines(monkeypatch):
    monkeypatch.setattr(lines, "_check", None)
    assert encode({**GOOD, "data": {"step": "seat-bore", "value": "25.43", "n": 12}})
