"""The position in JPEG pictures: the Exif block, XMP, comments, IPTC data, and what lies behind."""

import struct

import pytest
from drawing import GPS, XMP, behind_start, data_set, drawn, exif, scan, segment, told

from benchrun.pictures.position import without_position


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


def test_a_picture_with_marks_to_begin_again_is_looked_into_up_to_its_end():
    data = drawn(restart_marker_blocks=1, exif=exif(), size=(64, 64))
    assert b"\xff\xd3" in scan(data)
    looked = without_position(data + b"\0\0")
    assert looked.position == "taken out"
    assert scan(looked.data) == scan(data) + b"\0\0"


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
