"""Tags to print: their words, their papers, and their codes as another library reads them."""

import re

import numpy as np
import pytest
import zxingcpp
from jobs_shop import JobShop

from benchrun.errors import BenchrunError
from benchrun.jobs.tags import QUIET, code_svg, paper_named, tagged_parts, tags_html
from benchrun.shop.books import read_books
from benchrun.shopkeeping.parts import write_tags

MOVES = re.compile(r"([Mmh])(-?[0-9.]+)(?:[ ,]?(-?[0-9.]+))?")
CODE = re.compile(r'<svg[^>]*viewBox="0 0 ([0-9]+) ([0-9]+)".*?</svg>', re.DOTALL)
DARK = re.compile(r'<path class="qrline"[^>]*d="([^"]+)"')


def picture(svg, scale=6):
    """The drawing as grey points: the strokes of its dark path, a module high each."""
    size = int(CODE.search(svg)[1])
    modules = np.full((size, size), 255, np.uint8)
    x = y = 0.0
    for move, first, second in MOVES.findall(DARK.search(svg)[1]):
        if move == "h":
            modules[int(y), int(x) : int(x + float(first))] = 0
            x += float(first)
        elif move == "M":
            x, y = float(first), float(second)
        else:
            x, y = x + float(first), y + float(second or 0)
    return np.kron(modules, np.ones((scale, scale), np.uint8))


def read_codes(seen):
    return [found.text for found in zxingcpp.read_barcodes(seen)]


@pytest.fixture
def job(tmp_path):
    return JobShop(tmp_path)


def tags(job, *names, paper="a4"):
    books = read_books(job.shop)
    return tags_html(books, tagged_parts(books, names), paper_named(paper))


def test_each_code_is_read_by_another_library_as_the_tag(job):
    html = tags(job)
    codes = [read_codes(picture(found.group())) for found in CODE.finditer(html)]
    ids = [part.id for part in read_books(job.shop).parts.rows]
    assert codes == [[one] for one in ids]


@pytest.mark.parametrize("tag", ["a", "arm-1", "a-tag-of-forty-letters-the-longest-there", "7"])
def test_a_code_is_read_upside_down_with_a_spot_of_paint_on_it(tag):
    seen = picture(code_svg(tag))
    size = seen.shape[0]
    spot = size // 6
    seen[size // 2 : size // 2 + spot, size // 2 : size // 2 + spot] = 0
    assert read_codes(np.rot90(seen, 2).copy()) == [tag]


def test_a_code_has_four_blank_modules_on_every_side():
    seen = picture(code_svg("arm-1"), scale=1)
    assert (seen[:QUIET] == 255).all()
    assert (seen[:, :QUIET] == 255).all()
    assert (seen[-QUIET:] == 255).all()
    assert (seen[:, -QUIET:] == 255).all()
    assert (seen[QUIET] == 0).any()


def test_a_tag_tells_part_job_and_identity(job):
    words = re.sub(r"<[^>]+>", "|", tags(job, "arm-1").partition("<section")[2])
    for text in ("arm-1", "arm, left", "cast 7", "hose trailer"):
        assert f"|{text}|" in words


def test_what_people_wrote_is_never_markup_and_the_page_loads_nothing(job):
    parts = job.shop.path / "parts.yaml"
    parts.write_text("parts:\n  - {id: x, name: '<img src=//a><b>', numbers: ['<script>']}\n")
    html = tags(job)
    assert "<img" not in html
    assert "<script" not in html
    assert "default-src 'none'" in html


@pytest.mark.parametrize(
    ("name", "page", "across", "down"),
    [
        ("a4", (210, 297), 3, 8),
        ("Letter", (215.9, 279.4), 2, 5),
        ("62x29", (62, 29), 1, 1),
        ("100X50", (100, 50), 1, 1),
    ],
)
def test_papers_are_named_and_no_tag_hangs_over_the_edge(name, page, across, down):
    paper = paper_named(name)
    assert (paper.page, paper.across, paper.down) == (page, across, down)
    for way, many in ((0, across), (1, down)):
        used = paper.margins[way] * 2 + many * paper.tag[way] + (many - 1) * paper.gaps[way]
        assert used <= paper.page[way] + 0.01


@pytest.mark.parametrize("name", ["a9", "", "5x5", "900x20", "62", "0x0", "12x12"])
def test_a_paper_that_will_not_do_is_told(name):
    with pytest.raises(BenchrunError, match=r"no paper|will not do"):
        paper_named(name)


def test_scrapped_parts_and_done_jobs_are_left_out_unless_they_are_named(job):
    (job.shop.path / "parts.yaml").write_text(
        "jobs:\n  - {id: old, name: cart, done: 2026-01-01}\n"
        "parts:\n  - {id: a, name: arm, decision: scrap}\n  - {id: b, name: arm, job: old}\n"
        "  - {id: c, name: arm}\n"
    )
    books = read_books(job.shop)
    assert [part.id for part in tagged_parts(books, ())] == ["c"]
    assert [part.id for part in tagged_parts(books, (), "old")] == ["b"]
    assert [part.id for part in tagged_parts(books, ("a",))] == ["a"]
    with pytest.raises(BenchrunError, match="no job"):
        tagged_parts(books, (), "new")


def test_sheets_go_on_as_pages_and_the_file_is_only_replaced_where_it_is_ours(job, tmp_path):
    to = tmp_path / "tags.html"
    said = write_tags(job.shop, (), to, paper="62x29")
    assert said.startswith("6 tags on 6 pages: written to ")
    assert to.read_text().count('class="page"') == 6
    write_tags(job.shop, (), to)
    assert to.read_text().count('class="page"') == 1
    to.write_text("mine")
    with pytest.raises(BenchrunError, match="not written by benchrun"):
        write_tags(job.shop, (), to)
    with pytest.raises(BenchrunError, match=r"\.html"):
        write_tags(job.shop, (), tmp_path / "tags.pdf")
