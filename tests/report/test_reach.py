"""A page that everybody can read: landmarks, headings in order, tables told, dark on light.

After the success criteria of WCAG 2.2 (1.1.1, 1.3.1, 1.4.3, 2.4.1, 2.4.6, 3.1.1), from memory.
"""

import re
from itertools import pairwise
from pathlib import Path

import html5lib
import pytest

import benchrun.report
from benchrun.report.command import run_report
from benchrun.verify import verify

SPACE = {"h": "http://www.w3.org/1999/xhtml", "s": "http://www.w3.org/2000/svg"}
STYLE = (Path(benchrun.report.__file__).parent / "style.css").read_text("utf-8")
LEAST_CONTRAST = 4.5


@pytest.fixture(scope="module")
def tree(folder, tmp_path_factory):
    to = tmp_path_factory.mktemp("reach") / "run.html"
    run_report([folder], to, [verify(folder).as_data()])
    return html5lib.HTMLParser(strict=True).parse(to.read_text("utf-8"))


def words(element):
    return " ".join("".join(element.itertext()).split())


def test_everything_stands_in_the_one_main_part_of_a_page_that_names_its_language(tree):
    assert tree.get("lang") == "en"
    (main,) = tree.iterfind(".//h:main", SPACE)
    body = tree.find("h:body", SPACE)
    assert list(body) == [main]
    assert words(tree.find("h:head/h:title", SPACE))


def test_no_heading_skips_a_level_and_none_is_empty(tree):
    levels = []
    for one in tree.iter():
        name = one.tag.rpartition("}")[2] if isinstance(one.tag, str) else ""
        if re.fullmatch("h[1-6]", name):
            levels.append(int(name[1]))
            assert words(one)
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_has_a_caption_and_every_heading_of_a_column_its_scope(tree):
    tables = tree.findall(".//h:table", SPACE)
    assert tables
    for table in tables:
        assert words(table.find("h:caption", SPACE))
        heads = table.findall(".//h:th", SPACE)
        assert heads
        assert {head.get("scope") for head in heads} == {"col"}
        wide = {len(row.findall("h:td", SPACE)) for row in table.iterfind("h:tbody/h:tr", SPACE)}
        assert wide == {len(heads)}


def test_every_picture_and_drawing_says_what_it_shows(tree):
    pictures = tree.findall(".//h:img", SPACE)
    assert pictures
    assert all(picture.get("alt", "").strip() for picture in pictures)
    assert not [one for one in pictures if re.search("[0-9a-f]{64}", one.get("alt"))]
    drawings = tree.findall(".//s:svg", SPACE)
    assert drawings
    assert all(one.get("role") == "img" and one.get("aria-label") for one in drawings)


def test_every_place_that_leads_on_is_named_and_no_name_is_given_twice(tree):
    names = [one.get("id") for one in tree.iter() if one.get("id")]
    assert len(names) == len(set(names))
    assert all(nav.get("aria-label") for nav in tree.iterfind(".//h:nav", SPACE))
    assert all(words(link) for link in tree.iterfind(".//h:a", SPACE))


def luminance(colour):
    """The relative luminance of a colour of three or six hexadecimal digits (WCAG 2.2)."""
    digits = colour.lstrip("#")
    digits = "".join(digit * 2 for digit in digits) if len(digits) == 3 else digits
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_text_stands_dark_on_light():
    texts = re.findall(r"(?<![-a-z])color: (#[0-9a-f]{3,6})", STYLE)
    texts += re.findall(r"svg (?:text|\.tick|\.lab)[^}]*fill: (#[0-9a-f]{3,6})", STYLE)
    assert texts
    ground = luminance("#e4e4e4")  # the darkest ground that text lies on: the band of a drawing
    for colour in texts:
        contrast = (ground + 0.05) / (luminance(colour) + 0.05)
        assert contrast >= LEAST_CONTRAST, colour
