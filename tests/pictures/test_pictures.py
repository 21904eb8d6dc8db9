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
from benchrun.pictures.newest import newest_picture
from benchrun.pictures.position import Position, without_position
from benchrun.pictures.taking import MayTell
from benchrun.record.folder import RunFolder
from benchrun.record.trouble import NotKept
from benchrun.run.entries import Position as EntryPosition

KINDS = ["JPEG", "PNG", "WEBP", "AVIF"]
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


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_without_a_position_is_copied_as_it_is(kind):
    for data in (drawn(kind), drawn(kind, exif=exif(gps=None), xmp=b"<x:xmpmeta>rust</x:xmpmeta>")):
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


@pytest.mark.parametrize("kind", ["WEBP", "AVIF"])
def test_of_what_phones_write_the_position_goes_and_every_byte_else_stays(kind):
    data = drawn(kind, exif=exif(), xmp=XMP)
    entries, place, inner, points = told(data)
    assert place
    looked = without_position(data)
    after, gone, kept, same = told(looked.data)
    assert looked.position == "taken out"
    assert (gone, kept, same, len(looked.data)) == ({}, inner, points, len(data))
    # The reader writes the block of such a picture anew, so where its tables lie is its own affair.
    assert [after[tag] for tag in (MAKER, ORIENTATION) if tag in entries] == [
        entries[tag] for tag in (MAKER, ORIENTATION) if tag in entries
    ]
    assert b"Latitude" not in looked.data
    assert without_position(looked.data).position == "none found"


@pytest.mark.parametrize("kind", ["WEBP", "AVIF"])
def test_what_stands_behind_such_a_picture_is_told_as_not_looked_into(kind):
    film = b"\0\0\0\x0cmpvdfilm"
    assert without_position(drawn(kind) + film).position == "not looked for"
    assert without_position(drawn(kind, exif=exif()) + film).position == "taken out in part"


def test_a_picture_with_marks_to_begin_again_is_looked_into_up_to_its_end():
    data = drawn(restart_marker_blocks=1, exif=exif(), size=(64, 64))
    assert b"\xff\xd3" in scan(data)
    looked = without_position(data + b"\0\0")
    assert looked.position == "taken out"
    assert scan(looked.data) == scan(data) + b"\0\0"


def data_set(number, content, record=2):
    return struct.pack(">BBBH", 0x1C, record, number, len(content)) + content


def iptc(*sets):
    body = b"".join(sets)
    block = b"8BIM" + struct.pack(">HBBI", 0x0404, 0, 0, len(body)) + body + bytes(len(body) % 2)
    other = b"8BIM" + struct.pack(">HB3sI", 0x03ED, 3, b"dpi", 4) + b"\x1c\x02\x5a\0"
    return segment(0xED, b"Photoshop 3.0\0" + other + block)


def test_the_names_of_places_in_iptc_data_become_blanks_and_all_else_stays():
    sets = [data_set(25, b"rust"), data_set(90, b"Ropewalk"), data_set(92, b"the shed")]
    data = behind_start(drawn(), iptc(*sets, data_set(120, b"The left arm"), data_set(90, b"")))
    looked = without_position(data)
    assert looked.position == "taken out"
    assert b"Ropewalk" not in looked.data
    assert b"the shed" not in looked.data
    assert looked.data == data.replace(b"Ropewalk", b" " * 8).replace(b"the shed", b" " * 8)
    assert without_position(looked.data).position == "none found"
    plain = behind_start(drawn(), iptc(data_set(120, b"The left arm")))
    assert without_position(plain).position == "none found"


def test_iptc_data_that_break_off_are_told_as_not_looked_into():
    data = behind_start(drawn(), iptc(data_set(25, b"rust"), b"\x1c\x02\x5a\xff\xffx"))
    assert without_position(data).position == "not looked for"


def test_a_place_named_in_xmp_or_in_a_profile_of_a_png_goes_too():
    named = drawn(xmp=b"<x:xmpmeta photoshop:City='Ropewalk'/>")
    assert b"Ropewalk" not in without_position(named).data
    info = PngInfo()
    block = data_set(90, b"Ropewalk")
    info.add_text("Raw profile type iptc", f"\niptc\n{len(block)}\n{block.hex()}")
    assert without_position(drawn("PNG", pnginfo=info)).position == "taken out"


def box(kind, *content):
    body = b"".join(content)
    return struct.pack(">I4s", len(body) + 8, kind) + body


def heic(items, *, idat=b"", more=b"", gap=b"", brand=b"heic"):
    """A HEIF file of items: kind, rest of its entry, content or a place, in how many pieces."""
    lists, places, bodies = [], [], []
    head = box(b"ftyp", brand, bytes(4), b"mif1")

    def entry(number, kind, rest):
        return box(b"infe", b"\2\0\0\0", struct.pack(">HH4s", number, 0, kind), b"\0", rest)

    def meta(start):
        places.clear()
        bodies.clear()
        at = start
        for number, (_, _, content, parts) in enumerate(items, 1):
            if not isinstance(content, bytes):
                method, where, size = content
                extents = [(where if method else start + where, size)]
                places.append((number, method, extents))
                continue
            size = -(-len(content) // parts)
            pieces = [content[i : i + size] for i in range(0, len(content), size)]
            extents = []
            for piece in pieces:
                extents.append((at, len(piece)))
                bodies.append(piece + gap)
                at += len(piece) + len(gap)
            places.append((number, 0, extents))
        rows = b"".join(
            struct.pack(">HHHH", number, method, 0, len(extents))
            + b"".join(struct.pack(">II", *one) for one in extents)
            for number, method, extents in places
        )
        iloc = box(b"iloc", b"\1\0\0\0\x44\0", struct.pack(">H", len(places)), rows)
        iinf = box(b"iinf", bytes(4), struct.pack(">H", len(lists)), *lists)
        return box(b"meta", bytes(4), iinf, iloc, *([box(b"idat", idat)] if idat else []))

    lists += [entry(n, kind, rest) for n, (kind, rest, _, _) in enumerate(items, 1)]
    start = len(head) + len(meta(0)) + 8
    return head + meta(start) + box(b"mdat", *bodies) + more


BLOCK = exif().tobytes()
ITEM = struct.pack(">I", 6) + BLOCK
CODED = (b"hvc1", b"", bytes(range(256)) * 4, 1)
MIME = b"application/rdf+xml\0"


HEIC = heic([CODED, (b"Exif", b"", ITEM, 2), (b"mime", MIME, XMP, 1)])


def place_of(looked, parts=1, gap=0):
    """The position in an Exif item of a file in which it stands behind the coded picture."""
    at = looked.data.index(CODED[2]) + len(CODED[2]) + gap
    size = -(-len(ITEM) // parts)
    pieces = [looked.data[at + i * (size + gap) :][:size] for i in range(parts)]
    block = Image.Exif()
    block.load(b"".join(pieces)[: len(ITEM)][4:])
    return dict(block.get_ifd(GPS)), block[MAKER]


@pytest.mark.parametrize(("parts", "gap"), [(1, b""), (3, b""), (4, b"between")])
def test_the_exif_item_of_a_heif_picture_is_cut_in_its_place_however_it_is_parted(parts, gap):
    data = heic([CODED, (b"Exif", b"", ITEM, parts)], gap=gap)
    looked = without_position(data)
    assert looked.position == "taken out"
    assert place_of(looked, parts, len(gap)) == ({}, "an invented camera")
    assert len(looked.data) == len(data)
    assert CODED[2] in looked.data
    assert without_position(looked.data).position == "none found"


def test_the_xmp_item_and_an_item_within_the_list_itself_are_looked_into():
    within = heic([CODED, (b"Exif", b"", (1, 0, len(ITEM)), 1)], idat=ITEM)
    looked = without_position(within)
    assert looked.position == "taken out"
    assert struct.pack(">I", 47) not in looked.data.replace(CODED[2], b"")
    xmp = heic([CODED, (b"mime", MIME, XMP, 2)])
    assert without_position(xmp).position == "taken out"
    assert b"GPSLatitude" not in without_position(xmp).data


UNSURE = {
    "packed XMP": heic([CODED, (b"mime", MIME + b"deflate\0", XMP, 1)]),
    "an unknown item": heic([CODED, (b"nmea", b"", b"$GPGGA", 1)]),
    "an item elsewhere": heic([CODED, (b"Exif", b"", (2, 0, 4), 1)]),
    "an item without a length": heic([CODED, (b"Exif", b"", (0, 0, 0), 1)]),
    "a film": heic([CODED], more=box(b"moov", b"film")),
    "old bytes set free": heic([CODED], more=box(b"free", b"old")),
    "an Exif item that is the picture": heic([CODED, (b"Exif", b"", (0, 0, 64), 1)]),
    "an item behind the end": heic([CODED, (b"Exif", b"", (0, 2**31, 64), 1)]),
    "an Exif item over its end": heic([CODED, (b"Exif", b"", b"\xff\xff\xff\xff" + BLOCK, 1)]),
    "no list": box(b"ftyp", b"heic", bytes(8)) + box(b"mdat", ITEM),
    "two lists": heic([CODED], more=box(b"meta", bytes(4))),
    "a box without end": box(b"ftyp", b"heic", bytes(8)) + b"\0\0\0\4meta",
    "many empty boxes": box(b"ftyp", b"heic", bytes(8)) + box(b"free") * 300_000,
}


@pytest.mark.parametrize("name", UNSURE)
def test_what_cannot_be_looked_into_in_a_heif_picture_is_said_and_left(name):
    looked = without_position(UNSURE[name])
    assert (looked.data, looked.position) == (UNSURE[name], "not looked for")


def test_more_items_than_any_camera_writes_are_refused_at_once():
    rows = box(b"infe", b"\2\0\0\0", struct.pack(">HH4s", 1, 0, b"Exif"), b"\0") * 60_000
    iinf = box(b"iinf", bytes(4), struct.pack(">H", 60_000), rows)
    iloc = box(b"iloc", b"\1\0\0\0\x44\0", struct.pack(">H", 60_000), bytes(60_000 * 8))
    data = box(b"ftyp", b"heic", bytes(8)) + box(b"meta", bytes(4), iinf, iloc)
    assert without_position(data).position == "not looked for"


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
    if kind != "PNG":
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


def test_what_may_tell_a_position_is_kept_only_when_that_is_agreed_to(folder, tmp_path):
    for name, data, position in (
        ("film.jpg", drawn(exif=exif()) + b"film", "taken out in part"),
        ("old.tif", b"II*\0 whatever", "not looked for"),
    ):
        source = tmp_path / name
        source.write_bytes(data)
        with pytest.raises(MayTell, match=r"may (still )?tell where it was"):
            folder.keep_photo(source)
        assert list(folder.photos.glob(f"{source.stem}*")) == []
        assert folder.keep_photo(source, unsure=True).position == position
        assert folder.keep_photo(source, keep_position=True).position == "kept as asked"


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
