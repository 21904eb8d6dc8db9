"""The position in HEIF pictures put together box by box, as no library at hand writes one."""

import struct

import pytest
from drawing import BLOCK, CODED, GPS, ITEM, MAKER, MIME, XMP, box, heic
from PIL import Image

from benchrun.pictures.position import without_position


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
