"""Pictures on their way into a record; every picture is drawn here, every place is invented."""

import io
import os
import random
import struct
import zlib
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.record.folder import RunFolder
from benchrun.record.pictures import Position, newest_picture, without_position
from benchrun.record.trouble import NotKept
from benchrun.run.entries import Position as EntryPosition

NOW = Moment(1_795_600_000_000, 1000, "boot", True)
GPS, MAKER, EXIF, ORIENTATION = 0x8825, 0x010F, 0x8769, 0x0112
PLACE = {0: b"\2\3\0\0", 1: "N", 2: (47.0, 11.0, 12.34), 3: "E", 4: (8.0, 22.0, 56.78)}
XMP = b"<x:xmpmeta><rdf:Description exif:GPSLatitude='47,11.2N'/></x:xmpmeta>"


def exif(gps=PLACE, **more):
    block = Image.Exif()
    block[MAKER] = "an invented camera"
    block[ORIENTATION] = 6
    block.get_ifd(EXIF)[0x9003] = "2026:11:25 18:00:00"
    if gps:
        block.get_ifd(GPS).update(gps)
    return block


def drawn(kind="JPEG", size=(32, 24), **more):
    out = io.BytesIO()
    picture = Image.frombytes("RGB", size, random.Random(7).randbytes(size[0] * size[1] * 3))
    picture.save(out, kind, **more)
    return out.getvalue()


def told(data):
    """What a reader of pictures makes of it: the Exif entries, the position, the points."""
    picture = Image.open(io.BytesIO(data))
    picture.load()
    block = picture.getexif()
    return dict(block), dict(block.get_ifd(GPS)), dict(block.get_ifd(EXIF)), picture.tobytes()


def scan(data):
    return data[data.index(b"\xff\xda") :]


def segment(marker, content):
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


def behind_start(data, *segments):
    return data[:2] + b"".join(segments) + data[2:]


def test_the_words_of_the_keeping_are_those_of_the_entry():
    assert set(get_args(Position)) | {""} == {one.value for one in EntryPosition}


@pytest.mark.parametrize("order", ["<", ">"])
def test_the_position_goes_and_all_else_of_the_exif_block_stays(order):
    block = exif()
    block.endian = order
    data = drawn(exif=block)
    entries, place, inner, points = told(data)
    degrees = struct.pack(order + "I", 47)
    assert place
    assert degrees in data
    looked = without_position(data)
    after, gone, kept, same = told(looked.data)
    assert looked.position == "taken out"
    assert gone == {}
    assert after == {tag: value for tag, value in entries.items() if tag != GPS}
    assert (kept, same) == (inner, points)
    assert degrees not in looked.data
    assert (len(looked.data), scan(looked.data)) == (len(data), scan(data))
    assert without_position(looked.data).position == "none found"


def test_a_table_of_the_version_alone_is_no_position():
    data = drawn(exif=exif({0: b"\2\3\0\0"}))
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "none found")


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_picture_without_a_position_is_copied_as_it_is(kind):
    for data in (drawn(kind), drawn(kind, exif=exif(gps=None))):
        looked = without_position(data)
        assert (looked.data, looked.position) == (data, "none found")


def test_xmp_and_comments_that_tell_a_position_are_wiped_and_others_stay():
    data = drawn(xmp=XMP, comment=b"Taken at latitude 47", exif=exif(gps=None))
    looked = without_position(data)
    assert looked.position == "taken out"
    assert b"atitude" not in looked.data
    assert told(looked.data)[3] == told(data)[3]
    plain = drawn(xmp=b"<x:xmpmeta>rust</x:xmpmeta>", comment=b"The left arm")
    assert without_position(plain).data == plain


def test_xmp_in_a_wide_encoding_is_read_too():
    wide = drawn(xmp=XMP.decode().encode("utf-16"))
    assert without_position(wide).position == "taken out"


def test_a_position_parted_over_two_pieces_of_xmp_is_found():
    head = b"http://ns.invented.example/xmp/extension/\0" + b"A" * 32 + struct.pack(">I", 20)
    first = segment(0xE1, head + struct.pack(">I", 0) + b"<exif:GPSLat")
    second = segment(0xE1, head + struct.pack(">I", 12) + b"itude>47")
    for pieces in ((first, second), (second, first)):
        looked = without_position(behind_start(drawn(), *pieces))
        assert looked.position == "taken out"
        assert b"GPSLat" not in looked.data
        assert b"itude" not in looked.data


def test_a_second_picture_behind_the_first_is_looked_into_too():
    one = drawn(exif=exif())
    looked = without_position(drawn() + bytes(64) + one)
    assert looked.position == "taken out"
    assert told(looked.data[-len(one) :])[1] == {}


def test_a_film_behind_the_picture_is_told_as_not_looked_into():
    looked = without_position(drawn(exif=exif()) + b"\0\0\0\x18ftypmp42")
    assert looked.position == "taken out in part"
    assert told(looked.data)[1] == {}
    assert without_position(drawn() + b"film").position == "not looked for"


def test_a_small_picture_in_the_exif_block_is_looked_into():
    small = behind_start(drawn(size=(8, 8)), segment(0xFE, b"longitude 8"))
    tables = struct.pack("<2sHI", b"II", 42, 8) + struct.pack("<HI", 0, 14)
    tables += struct.pack("<HHHIIHHIII", 2, 0x0201, 4, 1, 44, 0x0202, 4, 1, len(small), 0)
    data = behind_start(drawn(), segment(0xE1, b"Exif\0\0" + tables + small))
    looked = without_position(data)
    assert looked.position == "taken out"
    assert b"longitude" not in looked.data


def test_the_position_of_a_png_goes_and_its_points_stay():
    info = PngInfo()
    info.add_text("Comment", "The left arm")
    info.add_text("Place", "latitude 47", zip=True)
    info.add_itxt("XML:com.invented.xmp", XMP.decode(), zip=True)
    block = exif().tobytes()[6:]
    info.add_text("Raw profile type exif", f"\nexif\n{len(block)}\n{block.hex()}")
    data = drawn("PNG", exif=exif(), pnginfo=info)
    looked = without_position(data)
    assert looked.position == "taken out"
    picture = Image.open(io.BytesIO(looked.data))
    assert picture.text == {"Comment": "The left arm"}
    entries, place, _, points = told(looked.data)
    assert (place, entries[MAKER], points) == ({}, "an invented camera", told(data)[3])
    assert without_position(looked.data).position == "none found"


def test_a_text_that_unpacks_without_end_is_left_alone():
    bomb = b"Note\0\0" + zlib.compress(bytes(64 * 1024 * 1024))
    chunk = struct.pack(">I", len(bomb)) + b"zTXt" + bomb
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + bomb))
    data = drawn("PNG")
    data = data[:33] + chunk + data[33:]
    looked = without_position(data)
    assert (looked.data, looked.position) == (data, "not looked for")


def tiff(*entries, then=0, rest=b""):
    table = struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *e) for e in entries)
    return struct.pack("<2sHI", b"II", 42, 8) + table + struct.pack("<I", then) + rest


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


@pytest.fixture
def folder(tmp_path):
    return RunFolder.create(tmp_path / "runs", "axle", NOW, b"")


def test_the_copy_is_without_a_position_unless_asked_for_and_the_source_stays(folder, tmp_path):
    data = drawn(exif=exif())
    source = tmp_path / "arm.jpg"
    source.write_bytes(data)
    plain, whole = folder.keep_photo(source), folder.keep_photo(source, keep_position=True)
    assert (plain.position, whole.position) == ("taken out", "kept as asked")
    assert told((folder.path / plain.file).read_bytes())[1] == {}
    assert (folder.path / whole.file).read_bytes() == data == source.read_bytes()
    assert plain.sha256 != whole.sha256


def test_a_disk_that_refuses_leaves_no_half_picture(folder, tmp_path, monkeypatch):
    source = tmp_path / "arm.jpg"
    source.write_bytes(drawn(exif=exif()))

    def failing(fd):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("benchrun.record.durable.os.fsync", failing)
    with pytest.raises(NotKept, match="no space"):
        folder.keep_photo(source)
    assert list(folder.photos.iterdir()) == []


def test_a_pipe_a_folder_and_a_name_that_cannot_be_are_refused(folder, tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    for name in ("pipe.jpg", ".", "a\0b", "none.jpg"):
        with pytest.raises(BenchrunError):
            folder.keep_photo(tmp_path / name)
    assert list(folder.photos.iterdir()) == []


def test_the_newest_picture_is_the_newest_regular_file_of_that_kind(tmp_path):
    watched = tmp_path / "phone"
    watched.mkdir()
    with pytest.raises(BenchrunError, match="no picture"):
        newest_picture(watched)
    for second, name in enumerate(["old.jpg", "new.JPG", ".half.jpg", "list.txt", "empty.png"]):
        (watched / name).write_bytes(b"" if name == "empty.png" else b"x")
        os.utime(watched / name, (1000 + second, 1000 + second))
    (watched / "folder.jpg").mkdir()
    (watched / "link.jpg").symlink_to(watched / "list.txt")
    os.mkfifo(watched / "pipe.jpg")
    assert newest_picture(watched).name == "new.JPG"
    assert newest_picture(watched, 1_001_000).name == "new.JPG"
    with pytest.raises(BenchrunError, match=r"new\.JPG.*older than this run"):
        newest_picture(watched, 1_001_001)
    with pytest.raises(BenchrunError, match="cannot be read: no such file"):
        newest_picture(tmp_path / "none")
