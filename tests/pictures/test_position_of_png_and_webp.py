"""The position in PNG, WebP and AVIF pictures as a drawing library writes them."""

import io

import pytest
from drawing import KINDS, MAKER, ORIENTATION, XMP, data_set, drawn, exif, told
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from benchrun.pictures.position import without_position


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_without_a_position_is_copied_as_it_is(kind):
    for data in (drawn(kind), drawn(kind, exif=exif(gps=None), xmp=b"<x:xmpmeta>rust</x:xmpmeta>")):
        looked = without_position(data)
        assert (looked.data, looked.position) == (data, "none found")


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


def test_a_place_named_in_xmp_or_in_a_profile_of_a_png_goes_too():
    named = drawn(xmp=b"<x:xmpmeta photoshop:City='Ropewalk'/>")
    assert b"Ropewalk" not in without_position(named).data
    info = PngInfo()
    block = data_set(90, b"Ropewalk")
    info.add_text("Raw profile type iptc", f"\niptc\n{len(block)}\n{block.hex()}")
    assert without_position(drawn("PNG", pnginfo=info)).position == "taken out"
