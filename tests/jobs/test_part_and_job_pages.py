"""A part's page and a job's: what the runs say of them, alike on paper and on the screen."""

import os
from pathlib import Path

import pytest
from jobs_shop import JobShop

from benchrun.errors import BenchrunError
from benchrun.jobs.job_page import job_sheet
from benchrun.jobs.part_page import part_sheet
from benchrun.run import commands as c
from benchrun.screen.book.sheet_lines import sheet_lines
from benchrun.screen.text_line import Paper
from benchrun.shop.parts import part_of_tag, read_parts
from benchrun.shopkeeping.pages import page_text, sheet_text, write_page

PAGES = Path(__file__).parent / "pages"


@pytest.fixture
def job(tmp_path):
    return JobShop(tmp_path)


def worked(job):
    """Arm 1 is washed and has a coat; arm 2 came out too wide and waits; arm 3 was scrapped."""
    wash = job.washed({"arm-1": "11.02", "arm-2": "12.4", "arm-3": "13"})
    job.give(wash, c.Put(("arm-3",), wash.run.n, "scrap", "bent"))
    coat = job.begin("coat-arms", "arm-1", tag="coat")
    job.give(coat, c.Do("coat", ("arm-1",), coat.run.n), minutes=5)
    return wash, coat


def part(job, name):
    return sheet_text(part_sheet(job.shop, name, job.now))


def test_a_part_tells_its_way_its_life_and_its_cost_over_all_runs(job):
    wash, coat = worked(job)
    text = " ".join(part(job, "arm-1").split())
    assert "numbers cast 7" in text
    assert "route arm, 1 of 2 done done wash-arms" in text
    assert f"now in work in the open run {coat.folder.run}" in text
    assert "2 width 11.02 mm 10 to 12 inside" in text
    assert "Coats: 1 time, the last 2026-11-25 14:24 UTC" in text
    assert text.index(coat.folder.run) < text.index(wash.folder.run)  # the latest first
    assert "supplies washing fluid 50 ml, 1.00 EUR" in text
    assert "end float 0.10 mm workshop manual, page 4-12 job trailer" in text


def test_an_open_query_and_a_scrapping_stand_on_the_pages_of_their_parts(job):
    worked(job)
    asked, gone = part(job, "arm-2"), part(job, "arm-3")
    assert "? Query open: " in asked
    assert "! outside, above" in asked or "outside" in asked
    assert "find-arms finds another" in gone
    assert "bent" in gone
    assert "welding" in gone
    assert "12.50 EUR" in gone


def test_a_part_that_was_in_no_run_and_one_without_a_route_say_so(job):
    fresh, bare, own = (" ".join(part(job, one).split()) for one in ("arm-4", "knob", "pin"))
    assert "No run yet." in fresh
    assert "route arm, 0 of 2 done next wash-arms ahead coat-arms" in fresh
    assert "none: name one of routes.yaml, or write its own" in bare
    assert "route own, 0 of 1 done ahead coat-arms" in own
    with pytest.raises(BenchrunError, match="no part 'arm-9'"):
        part(job, "arm-9")


def test_a_run_that_cannot_be_read_is_told_on_the_page_and_the_others_stand(job):
    wash, coat = worked(job)
    coat.leave()
    log = coat.folder.log
    log.write_bytes(b"x" + log.read_bytes()[1:])
    text = part(job, "arm-1")
    assert coat.folder.run in text.split("! ")[1].replace("\n", " ")
    assert wash.folder.run in text


def test_a_job_groups_its_parts_by_where_they_stand_and_tells_what_holds_it_up(job):
    worked(job)
    text = " ".join(sheet_text(job_sheet(job.shop, "trailer", job.now)).split())
    assert "6 parts, 1 query open" in text
    assert "wash-arms arm-2 ? in work, query open" in text
    assert "wash-arms arm-4 ready" in text
    assert "coat-arms arm-1 in work" in text
    assert "coat-arms pin ? away at the plater" in text
    assert "out of the job arm-3 scrapped" in text
    assert "pin: away at the plater since 2026-11-02, due back 2026-11-20: overdue" in text
    assert "arm-3: scrapped" in text
    assert "nothing takes its place yet" in text
    assert "knob: no route" in text
    assert "paid 12.50 EUR" in text
    assert "washing fluid 150 ml, 3.00 EUR" in text


def test_a_spare_that_replaces_a_scrapped_part_no_longer_holds_the_job_up(job):
    worked(job)
    parts = job.shop.path / "parts.yaml"
    parts.write_text(
        parts.read_text() + "  - {id: arm-5, name: arm, job: trailer, replaces: arm-3}\n"
    )
    text = sheet_text(job_sheet(job.shop, "trailer", job.now))
    assert "nothing takes its place yet" not in text


def test_a_job_without_parts_and_one_that_is_none(job):
    (job.shop.path / "parts.yaml").write_text("jobs:\n  - {id: cart, name: hand cart}\n")
    assert "No part belongs to it" in sheet_text(job_sheet(job.shop, "cart", job.now))
    with pytest.raises(BenchrunError, match="no job 'trailer'"):
        job_sheet(job.shop, "trailer", job.now)


def test_pages_are_written_as_html_and_text_and_replaced_only_where_benchrun_wrote_them(
    job, tmp_path
):
    worked(job)
    (job.shop.path / "photos").mkdir(exist_ok=True)
    picture = b"\x89PNG\r\n\x1a\n"
    (job.shop.path / "photos" / "a.png").write_bytes(picture)
    for name in ("arm.html", "arm.txt"):
        to = tmp_path / name
        assert "written to" in write_page(job.shop, "parts", "arm-1", job.now, to)
        write_page(job.shop, "parts", "arm-1", job.now, to)
        to.write_text("mine")
        with pytest.raises(BenchrunError, match="was not written by benchrun"):
            write_page(job.shop, "parts", "arm-1", job.now, to)
    with pytest.raises(BenchrunError, match="the ending says which form"):
        write_page(job.shop, "parts", "arm-1", job.now, tmp_path / "arm.pdf")
    assert page_text(job.shop, "jobs", "trailer", job.now).startswith("=")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("name", ["arm-1", "trailer"])
def test_the_drawn_pages_are_those_that_are_kept(job, size, name):
    """After a change that is meant: BENCHRUN_WRITE_PAGES=1, and look at the difference."""
    worked(job)
    make = job_sheet if name == "trailer" else part_sheet
    paper = Paper(*size)
    lines = [line.text.rstrip() for line in sheet_lines(paper, make(job.shop, name, job.now))]
    assert max(map(len, lines)) <= size[0]
    drawn = "\n".join(lines) + "\n"
    kept = PAGES / f"{name}-{size[0]}x{size[1]}.txt"
    if os.environ.get("BENCHRUN_WRITE_PAGES"):
        kept.write_text(drawn)
    assert kept.read_text() == drawn


@pytest.mark.parametrize(
    ("typed", "found"),
    [("arm-1", "arm-1"), ("ARM 1", "arm-1"), ("cast 8", "arm-2"), (" arm_4 ", "arm-4")],
)
def test_a_tag_is_known_as_typed_or_scanned_and_by_its_numbers(job, typed, found):
    assert part_of_tag(read_parts(job.shop), typed).id == found


@pytest.mark.parametrize("typed", ["arm-x", "", "---", "\x00"])
def test_a_tag_that_nobody_has_is_told(job, typed):
    with pytest.raises(BenchrunError, match="no part"):
        part_of_tag(read_parts(job.shop), typed)
