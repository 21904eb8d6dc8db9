"""Pictures in a report: all of them, upright, light, with the step, part and time below each."""

import base64
import io
import os

import html5lib
import pytest
from PIL import Image
from worked_runs import Worked

from benchrun.account.gather import gather
from benchrun.pictures.scaled import MOST_BYTES, scaled
from benchrun.report.command import run_report

SPACE = {"h": "http://www.w3.org/1999/xhtml"}
ORIENTATION = 274


def photograph(wide, high, turned=1):
    """A picture as heavy as a camera makes it: noise, with the left half dark."""
    small = Image.frombytes("RGB", (wide // 4, high // 4), os.urandom(wide // 4 * (high // 4) * 3))
    picture = small.resize((wide, high))
    picture.paste((0, 0, 0), (0, 0, wide // 2, high))
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=95, exif=exif)
    return out.getvalue()


@pytest.fixture(scope="module")
def twenty(tmp_path_factory):
    """A run with twenty photographs of two parts, held upright and not."""
    work = Worked(tmp_path_factory.mktemp("twenty"), ["hub L", "hub R"])
    work.do("wipe")
    for at in range(20):
        content = photograph(2400, 1800, turned=(1, 6)[at % 2])
        when = "before" if at < 10 else "after"
        work.photo(content, f"{at}.jpg", f"{when} the coat", [("hub L", "hub R")[at % 2]])
    to = work.folder.parent / "run.html"
    run_report([work.folder], to)
    return work, to


def shown(to):
    tree = html5lib.HTMLParser(strict=True).parse(to.read_text("utf-8"))
    for figure in tree.iterfind(".//h:figure", SPACE):
        source = figure.find("h:img", SPACE).get("src")
        caption = "".join(figure.find("h:figcaption", SPACE).itertext())
        yield caption, base64.b64decode(source.partition(",")[2])


def test_twenty_pictures_are_all_shown_in_eight_megabytes(twenty):
    _, to = twenty
    pictures = list(shown(to))
    assert len(pictures) == 20
    assert max(len(content) for _, content in pictures) <= MOST_BYTES
    assert to.stat().st_size <= 8_000_000


def test_a_picture_taken_sideways_stands_upright(twenty):
    _, to = twenty
    sizes = {Image.open(io.BytesIO(content)).size for _, content in shown(to)}
    assert {high > wide for wide, high in sizes} == {True, False}
    assert all(
        Image.open(io.BytesIO(content)).getexif().get(ORIENTATION, 1) == 1
        for _, content in shown(to)
    )


def test_each_says_step_part_and_time_and_no_digest(twenty):
    work, to = twenty
    captions = [caption for caption, _ in shown(to)]
    facts = gather(work.folder)
    for number, photo in enumerate(facts.photos, 1):
        (caption,) = [one for one in captions if one.split(". ")[0] == str(number)]
        assert photo.text in caption
        assert photo.parts[0] in caption
        assert f"step {photo.number}" in caption
        assert photo.sha256 not in caption
    text = to.read_text("utf-8")
    assert all(photo.sha256 in text for photo in facts.photos)


def test_pictures_of_one_part_stand_side_by_side_in_the_order_of_time(twenty):
    _, to = twenty
    tree = html5lib.HTMLParser(strict=True).parse(to.read_text("utf-8"))
    strips = [one for one in tree.iterfind(".//h:div", SPACE) if one.get("class") == "strip"]
    told = ["".join(strip.itertext()) for strip in strips]
    assert len(told) == 2
    for text, part, other in zip(told, ("hub L", "hub R"), ("hub R", "hub L"), strict=True):
        assert part in text
        assert other not in text
        assert text.index("before the coat") < text.index("after the coat")


def test_a_light_picture_is_shown_as_it_is_and_rubbish_is_not_shown():
    small = photograph(320, 240)
    assert scaled(small, "image/jpeg") == ("image/jpeg", small)
    assert scaled(small[:200], "image/jpeg") is None
    assert scaled(b"\x89PNG\r\n\x1a\n" + bytes(40), "image/png") is None
