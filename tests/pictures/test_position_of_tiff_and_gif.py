"""The position in TIFF and GIF pictures, and the notes that a maker's camera leaves for itself."""

import io
import struct
import zlib

import pytest
from drawing import (
    CODED,
    EXIF,
    GPS,
    MAKER,
    PLACE,
    XMP,
    behind_start,
    drawn,
    exif,
    heic,
    segment,
    told,
)
from PIL import Image
from PIL.TiffImagePlugin import ImageFileDirectory_v2

from benchrun.pictures.position import without_position

NOTES, NOTED = 0x927C, b"INVENTED\0 some 47.2 and 8.4"


def scanned(**more):
    """A TIFF picture as a scanner writes it."""
    return drawn("TIFF", **more)


def placed(gps, notes=b""):
    """A TIFF picture with an Exif table, and with a position and a maker's notes if given."""
    made, inner = ImageFileDirectory_v2(), {0x9003: "2026:11:25 18:00:00"}
    made[MAKER] = "an invented camera"
    made[EXIF] = {**inner, NOTES: notes} if notes else inner
    if gps:
        made[GPS] = dict(gps)
    return scanned(tiffinfo=made)


def tags(**values):
    """Tags of a TIFF picture by name."""
    numbers = {"description": 270, "xmp": 700, "iptc": 33723, "resources": 34377, "scale": 33550}
    made = ImageFileDirectory_v2()
    for name, value in values.items():
        made[numbers[name]] = value
        if isinstance(value, bytes):
            made.tagtype[numbers[name]] = 7
    return made


def test_the_position_of_a_tiff_goes_and_its_points_stay():
    data = placed(PLACE)
    entries, place, inner, points = told(data)
    assert place
    looked = without_position(data)
    after, gone, kept, same = told(looked.data)
    assert looked.position == "taken out"
    assert (gone, kept, same, len(looked.data)) == ({}, inner, points, len(data))
    assert after == {tag: value for tag, value in entries.items() if tag != GPS}
    assert struct.pack("<I", 47) not in looked.data.replace(points, b"")
    assert without_position(looked.data).position == "none found"


@pytest.mark.parametrize(
    "more",
    [
        {"description": "latitude 47"},
        {"xmp": XMP},
        {"iptc": b"\x1c\x02\x5a\0\x08Ropewalk"},
        {
            "resources": b"8BIM\x04\x04\0\0"
            + struct.pack(">I", 13)
            + b"\x1c\x02\x5a\0\x08Ropewalk\0"
        },
    ],
)
def test_what_a_tiff_tells_in_words_goes_too(more):
    data = scanned(tiffinfo=tags(**more))
    looked = without_position(data)
    assert looked.position == "taken out"
    assert len(looked.data) == len(data)
    assert told(looked.data)[3] == told(data)[3]
    for word in (b"atitude", b"Ropewalk"):
        assert word not in looked.data


PACKINGS = ["tiff_lzw", "tiff_adobe_deflate", "packbits"]


def packed(how):
    return scanned(compression=how)


def test_a_tiff_without_a_position_is_copied_as_it_is():
    words = tags(description="The left arm")
    for data in (scanned(tiffinfo=words), placed(None), *map(packed, PACKINGS)):
        looked = without_position(data)
        assert (looked.data, looked.position) == (data, "none found")


def test_what_the_tables_of_a_tiff_do_not_lead_to_is_told_as_not_looked_into():
    assert without_position(scanned() + b"a table of old").position == "not looked for"
    assert without_position(scanned() + bytes(64)).position == "none found"
    assert without_position(scanned(compression="jpeg")).position == "not looked for"
    on_earth = scanned(tiffinfo=tags(scale=(1.0, 1.0, 0.0)))
    assert without_position(on_earth).position == "not looked for"


def noted(gps):
    block = exif(gps)
    block.get_ifd(EXIF)[NOTES] = NOTED
    return block


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "AVIF", "TIFF"])
@pytest.mark.parametrize("gps", [PLACE, None])
def test_a_makers_notes_go_whether_or_not_there_is_a_position(kind, gps):
    data = placed(gps, NOTED) if kind == "TIFF" else drawn(kind, exif=noted(gps))
    assert b"some 47.2" in data
    looked = without_position(data)
    assert looked.position == "taken out"
    assert b"some 47.2" not in looked.data
    _, place, inner, points = told(looked.data)
    assert (place, NOTES in inner, points) == ({}, False, told(data)[3])
    assert inner[0x9003] == "2026:11:25 18:00:00"
    assert without_position(looked.data).position == "none found"


def test_a_makers_notes_in_a_heif_picture_go():
    data = heic([CODED, (b"Exif", b"", struct.pack(">I", 6) + noted(None).tobytes(), 1)])
    looked = without_position(data)
    assert (looked.position, b"some 47.2" in looked.data) == ("taken out", False)


def test_a_description_within_an_exif_block_that_tells_a_position_goes():
    block = exif(None)
    block[270] = "taken at latitude 47"
    looked = without_position(drawn(exif=block))
    assert looked.position == "taken out"
    assert b"latitude" not in looked.data


def test_many_tables_of_a_position_are_refused_at_once():
    many = 2000
    table = struct.pack("<H", many)
    table += b"".join(struct.pack("<HHII", GPS, 4, 1, 30_000 + 800 * at) for at in range(many))
    tables = (struct.pack("<H", 60) + struct.pack("<HHII", 1, 2, 2, 0) * 60).ljust(800, b"\0")
    block = (struct.pack("<2sHI", b"II", 42, 8) + table).ljust(30_000, b"\0") + tables * many
    chunk = struct.pack(">I", len(block)) + b"eXIf" + block
    chunk += struct.pack(">I", zlib.crc32(b"eXIf" + block))
    data = drawn("PNG")
    looked = without_position(data[:33] + chunk + data[33:])
    assert looked.position == "not looked for"


def animated(*blocks):
    """A GIF of two pictures with further blocks put before its end."""
    out = io.BytesIO()
    frames = [Image.new("L", (9, 7), grey) for grey in (0, 200)]
    frames[0].save(out, "GIF", save_all=True, append_images=frames[1:], loop=0, duration=90)
    whole = out.getvalue()
    return whole[:-1] + b"".join(blocks) + whole[-1:]


def comment(text):
    """A comment of a GIF, in pieces of seven bytes."""
    pieces = [text[at : at + 7] for at in range(0, len(text), 7)]
    return b"\x21\xfe" + b"".join(bytes([len(one)]) + one for one in pieces) + b"\0"


def left_by(name, content):
    """What a program of a name left in a GIF."""
    return b"\x21\xff\x0b" + name + content


XMP_BLOCK = left_by(b"XMP DataXMP", XMP + b"\1" + bytes(range(255, -1, -1)) + b"\0")


@pytest.mark.parametrize("block", [comment(b"Taken at latitude 47"), XMP_BLOCK])
def test_blocks_of_a_gif_that_tell_a_position_are_left_out_and_no_others(block):
    plain = comment(b"The left arm")
    looked = without_position(animated(plain, block))
    assert (looked.data, looked.position) == (animated(plain), "taken out")
    assert Image.open(io.BytesIO(looked.data)).n_frames == 2
    assert without_position(looked.data).position == "none found"


def test_a_gif_with_what_an_unknown_program_left_or_more_behind_is_not_looked_for():
    unknown = left_by(b"INVENTED1.0", b"\4\1\2\3\4\0")
    for data in (animated(unknown), animated() + b"film"):
        looked = without_position(data)
        assert (looked.data, looked.position) == (data, "not looked for")
    both = without_position(animated(unknown, comment(b"longitude 8")))
    assert (both.data, both.position) == (animated(unknown), "taken out in part")


@pytest.mark.parametrize("data", [placed(PLACE), animated(XMP_BLOCK)])
def test_a_tiff_or_gif_cut_off_anywhere_is_harmless(data):
    for length in range(len(data)):
        looked = without_position(data[:length])
        assert looked.position != "none found" or looked.data == data[:length]
        if data.startswith(b"GIF"):
            assert looked.position == "not looked for"


def test_a_makers_notes_that_are_something_else_too_make_the_look_blind():
    table = struct.pack("<2sHI", b"II", 42, 8) + struct.pack("<H", 1)
    table += struct.pack("<HHII", NOTES, 7, 20, 8) + bytes(4)
    data = behind_start(drawn(), segment(0xE1, b"Exif\0\0" + table))
    assert without_position(data).position == "not looked for"
