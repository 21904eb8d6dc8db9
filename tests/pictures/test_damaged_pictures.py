"""Pictures that are damaged, cut off or made to do harm: the look never breaks and says so."""

import io
import random
import struct
import zlib
from typing import get_args

import pytest
from drawing import (
    EXIF,
    GPS,
    HEIC,
    KINDS,
    PLACE,
    XMP,
    behind_start,
    drawn,
    exif,
    scan,
    segment,
    tiff,
    told,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from benchrun.pictures.position import Position, without_position


def test_a_text_that_unpacks_without_end_is_left_alone():
    bomb = b"Note\0\0" + zlib.compress(bytes(64 * 1024 * 1024))
    chunk = struct.pack(">I", len(bomb)) + b"zTXt" + bomb
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + bomb))
    data = drawn("PNG")
    data = data[:33] + chunk + data[33:]
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "not looked for")


HOSTILE = {
    "a table that follows itself": tiff((GPS, 4, 1, 26), then=8),
    "a table within itself": tiff((EXIF, 4, 1, 8)),
    "the position is the table": tiff((GPS, 4, 1, 8)),
    "the position lies behind the end": tiff((GPS, 4, 1, 0xFFFFFFF0)),
    "no end of entries": struct.pack("<2sHIH", b"II", 42, 8, 0xFFFF),
    "no end of values": tiff((GPS, 4, 1, 26), rest=struct.pack("<HHHII", 1, 2, 5, 2**32 - 1, 8)),
    "values over the header": tiff((GPS, 4, 1, 26), rest=struct.pack("<HHHII", 1, 2, 5, 1, 0)),
    "no kind": tiff((GPS, 4, 1, 26), rest=struct.pack("<HHHII", 1, 2, 99, 1, 0)),
    "no header": b"XX",
    "nothing": b"",
    "tables without end": tiff((0x014A, 4, 2**31, 8)),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_exif_block_is_copied_as_it_is_and_said_to_be(name):
    data = behind_start(drawn(), segment(0xE1, b"Exif\0\0" + HOSTILE[name]))
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "not looked for")


@pytest.mark.parametrize("kind", ["WEBP", "AVIF"])
def test_such_a_picture_cut_off_anywhere_is_copied_as_it_is_and_said_to_be(kind):
    data = drawn(kind, size=(4, 4), exif=exif(), xmp=XMP)
    for length in range(len(data)):
        looked = without_position(data[:length])
        assert (looked.data, looked.position) == (data[:length], "not looked for")


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_picture_cut_off_anywhere_is_harmless(kind):
    data = drawn(kind, size=(4, 4), exif=exif())
    head = data.index(b"\xff\xda") if kind == "JPEG" else len(data)
    for length in range(len(data)):
        looked = without_position(data[:length])
        if length < head:
            assert (looked.data, looked.position) == (data[:length], "not looked for")
        else:
            assert len(looked.data) == length


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a", b"RIFF0000WEBP", b"\0\0\0\x18ftypheic", b"<svg/>"]
)
def test_what_cannot_be_looked_into_is_copied_and_said_to_be(data):
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "not looked for")


@settings(max_examples=150)
@given(
    st.sampled_from(["L", "RGB"]),
    st.integers(1, 20),
    st.integers(1, 20),
    st.booleans(),
    st.binary(max_size=200),
    st.booleans(),
)
def test_the_points_of_a_picture_are_never_touched(mode, wide, high, layered, seed, placed):
    points = random.Random(seed).randbytes(wide * high * len(mode))
    out = io.BytesIO()
    block = exif(PLACE if placed else None)
    Image.frombytes(mode, (wide, high), points).save(
        out, "JPEG", progressive=layered, exif=block, comment=seed
    )
    data = out.getvalue()
    looked = without_position(data)
    assert scan(looked.data) == scan(data)
    assert len(looked.data) == len(data)
    assert told(looked.data)[1] == {}
    assert looked.position == ("taken out" if placed else "none found")


@settings(max_examples=400)
@given(st.sampled_from(["JPEG", "PNG"]), st.lists(st.tuples(st.integers(0), st.integers(0, 255))))
def test_a_damaged_picture_never_breaks_the_look_nor_its_scan(kind, damage):
    work = bytearray(drawn(kind, size=(4, 4), exif=exif()))
    head = work.index(b"\xff\xda") if kind == "JPEG" else len(work)
    for place, value in damage:
        work[place % head] = value
    looked = without_position(bytes(work))
    assert looked.position in get_args(Position)
    if kind == "JPEG":
        assert len(looked.data) == len(work)
    if looked.position in ("none found", "not looked for"):
        assert looked.data == bytes(work)


@settings(max_examples=600)
@given(
    st.sampled_from([*KINDS, "HEIC"]),
    st.lists(st.tuples(st.integers(0), st.integers(0, 255)), max_size=12),
)
def test_damage_anywhere_never_breaks_the_look(kind, damage):
    whole = HEIC if kind == "HEIC" else drawn(kind, size=(4, 4), exif=exif(), xmp=XMP)
    work = bytearray(whole)
    for place, value in damage:
        work[place % len(work)] = value
    looked = without_position(bytes(work))
    assert looked.position in get_args(Position)
    if kind not in ("PNG", "GIF"):
        assert len(looked.data) == len(work)
    if looked.position in ("none found", "not looked for"):
        assert looked.data == bytes(work)


def many(kind):
    """A picture of many small pieces, as none but an ill-meant one is."""
    whole = drawn(kind, size=(4, 4))
    if kind == "GIF":
        return whole[:-1] + b"\x21\xfe\0" * 200_000 + whole[-1:]
    if kind == "JPEG":
        return behind_start(whole, b"\xff\xfe\0\2" * 200_000)
    if kind == "PNG":
        return whole[:33] + b"\0\0\0\0abCD\0\0\0\0" * 200_000 + whole[33:]
    body = whole[12:] + b"abcd\0\0\0\0" * 200_000
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "GIF"])
def test_more_pieces_than_any_camera_writes_are_not_walked_over(kind):
    data = many(kind)
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "not looked for")


def test_more_parts_of_a_gif_than_any_picture_needs_are_not_walked_over():
    whole = drawn("GIF", size=(4, 4))
    parts = b"\x21\xfe" + b"\1a" * 300_000 + b"\0"
    data = whole[:-1] + parts * 4 + whole[-1:]
    assert without_position(data).position == "not looked for"


def test_lists_of_strips_that_share_their_bytes_are_not_read_again_and_again():
    data = struct.pack("<2sHI", b"II", 42, 8)
    for number in range(60):
        following = len(data) + 30 if number < 59 else 0
        lists = ((tag, 4, 90_000, 4000) for tag in (0x0111, 0x0117))
        data += struct.pack("<H", 2) + b"".join(struct.pack("<HHII", *one) for one in lists)
        data += struct.pack("<I", following)
    assert without_position(data.ljust(400_000, b"\1")).position == "not looked for"
