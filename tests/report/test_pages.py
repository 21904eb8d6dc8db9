"""The page that is handed over: valid, harmless, and true to the numbers."""

import base64
import re
import shutil
from decimal import Decimal
from itertools import pairwise, product
from pathlib import Path

import html5lib
import pytest
from worked_runs import Worked, png

import benchrun.record
from benchrun.account.gather import gather
from benchrun.report.command import run_report
from benchrun.report.front import Issue
from benchrun.report.plots import PlotLine, Point, Spell, readings_plot, spells_plot, ticks
from benchrun.report.proof import CHAIN, FILES, SIGNATURES, WHOLE
from benchrun.run import commands as c
from benchrun.verify import verify

SPACE = {"h": "http://www.w3.org/1999/xhtml", "s": "http://www.w3.org/2000/svg"}
FORMAT = (Path(benchrun.record.__file__).parent / "FORMAT.md").read_text("utf-8")


def page(folders, to, verdicts=(), title=""):
    run_report(folders, to, verdicts, issue=Issue(title))
    text = to.read_text("utf-8")
    return text, html5lib.HTMLParser(strict=True).parse(text)


def words(element):
    return "".join(element.itertext())


def section(tree, title):
    for one in tree.iterfind(".//h:section", SPACE):
        if words(one.find("h:h2", SPACE)) == title:
            return one
    raise AssertionError(f"no section {title}")


@pytest.fixture(scope="module")
def shown(folder, tmp_path_factory):
    verdict = verify(folder).as_data()
    return page([folder], tmp_path_factory.mktemp("page") / "run.html", [verdict])


def test_the_page_is_valid_and_needs_nothing_else(shown):
    text, tree = shown
    assert not re.search(r"<script|javascript:|https?://|<link|<iframe|@import|url\(", text)
    assert "default-src 'none'" in text
    assert [one.get("src")[:5] for one in tree.iterfind(".//h:img", SPACE)] == ["data:"]
    targets = {one.get("id") for one in tree.iter() if one.get("id")}
    links = [one.get("href") for one in tree.iterfind(".//h:a", SPACE)]
    assert links
    assert all(link[0] == "#" and link[1:] in targets for link in links)


def test_the_head_answers_what_was_done_and_whether_to_trust_it(shown):
    head = words(shown[1].find(".//h:article", SPACE))
    assert "Of 3 parts: 2 done (hub L and hub R), 1 scrapped (hub S)." in head
    assert "The record is intact" in head
    assert "6 deviations, 2 corrections and 2 doubts" in head


def test_sections_stand_in_the_order_of_a_readers_questions(shown):
    titles = [words(one) for one in shown[1].iterfind(".//h:h2", SPACE)]
    assert titles == [
        "What was done, and the result",
        "Was it in limits",
        "What was out, and what was done about it",
        "By whose authority",
        "May it be trusted",
        "What was done to which parts",
        "Before the start, and tools",
        "Who signed for what",
        "Put back and follow-on",
        "Readings against their limits",
        "What was found",
        "Dwells and times away",
        "Coats and other rounds, part by part",
        "Deviations, corrections and doubts",
        "Photographs",
        "Lessons and notes",
        "Sums, with the numbers put in",
        "The work, entry by entry",
        "Every characteristic against its limits",
        "The procedure",
        "Proof",
    ]


def test_an_old_value_stands_struck_beside_the_new_one(shown):
    cells = [
        (words(cell.find("h:del", SPACE)), words(cell))
        for cell in section(shown[1], "Readings against their limits").iterfind(".//h:td", SPACE)
        if cell.find("h:del", SPACE) is not None
    ]
    assert ("61.96", "61.96 now 61.956") in cells


def test_what_is_outside_or_in_doubt_is_marked(shown):
    readings = section(shown[1], "Readings against their limits")
    found = {
        mark: {words(one) for one in readings.iterfind(".//h:td", SPACE) if mark in classes(one)}
        for mark in ("bad", "doubt")
    }
    assert found == {"bad": {"61.990", "outside"}, "doubt": {"61.978", "in doubt"}}


def classes(element):
    return (element.get("class") or "").split()


def marks(svg, name):
    return [one for one in svg.iter() if name in (one.get("class") or "").split()]


def axis(svg):
    """The scale of a drawing, from two of its ticks."""
    first, *_, last = marks(svg, "tick")
    v1, v2 = Decimal(first.get("data-v")), Decimal(last.get("data-v"))
    x1, x2 = Decimal(first.get("x")), Decimal(last.get("x"))
    return lambda x: v1 + (Decimal(x) - x1) * (v2 - v1) / (x2 - x1)


def test_plots_stand_where_the_numbers_are(folder, shown):
    svg = section(shown[1], "Readings against their limits").find(".//s:svg", SPACE)
    value_at = axis(svg)
    drawn = [(one.get("data-v"), one.get("cx")) for one in marks(svg, "dot") + marks(svg, "doubt")]
    drawn += [(one.get("data-v"), one.get("data-x")) for one in marks(svg, "out")]
    log = sorted(r.value for r in gather(folder).readings if r.source == "reading")
    assert sorted(value for value, _ in drawn) == log
    for value, x in drawn:
        assert abs(value_at(x) - Decimal(value)) < Decimal("0.0001")
    assert [one.get("data-v") for one in marks(svg, "was")] == ["61.96"]
    assert [one.get("data-v") for one in marks(svg, "out")] == ["61.990"]
    assert {one.get("data-v") for one in marks(svg, "limit")} == {"61.949", "61.979"}
    for limit in marks(svg, "limit"):
        x = re.match(r"M([\d.]+) ", limit.get("d"))[1]
        assert abs(value_at(x) - Decimal(limit.get("data-v"))) < Decimal("0.0001")


def test_dwells_are_drawn_as_long_as_they_were(folder, shown):
    svg = section(shown[1], "Dwells and times away").find(".//s:svg", SPACE)
    value_at = axis(svg)
    bars = marks(svg, "proven")
    assert [int(one.get("data-v")) for one in bars] == [d.proven for d in gather(folder).dwells]
    for bar in bars:
        end = Decimal(bar.get("x")) + Decimal(bar.get("width"))
        assert abs(value_at(end) - Decimal(bar.get("data-v"))) < 3000


def test_a_doubtful_dwell_shows_what_is_proven_and_what_is_possible():
    svg = spells_plot([Spell("tub", 432_000, 840_000, 600_000, 1_200_000, "perhaps early")], "t")
    assert re.findall(r'class="(proven|possible)" data-v="(\d+)"', svg) == [
        ("proven", "432000"),
        ("possible", "840000"),
    ]


def test_one_reading_without_limits_and_equal_readings_can_be_drawn():
    for points in ([Point(Decimal(0))], [Point(Decimal("5.0"))] * 2):
        svg = readings_plot([PlotLine("a", tuple(points))], "mm", "t")
        assert svg.count('class="dot"') == len(points)
    assert readings_plot([PlotLine("a", ())], "mm", "t") == ""


@pytest.mark.parametrize(
    ("low", "high"), [("61.947", "61.992"), ("-0.002", "0.002"), ("0", "131"), ("9e5", "3e6")]
)
def test_ticks_are_round_and_inside(low, high):
    found = list(ticks(Decimal(low), Decimal(high)))
    assert 3 <= len(found) <= 9
    assert all(Decimal(low) <= one <= Decimal(high) for one in found)
    assert "-0" not in {f"{one:f}" for one in found}
    steps = {b - a for a, b in pairwise(found)}
    assert len(steps) == 1
    assert steps.pop().normalize().as_tuple().digits in {(1,), (2,), (5,)}


def test_the_picture_is_the_one_in_the_log(shown):
    image = section(shown[1], "Photographs").find(".//h:img", SPACE)
    assert base64.b64decode(image.get("src").partition(",")[2]) == png()


def test_a_changed_picture_is_told_and_not_shown(folder, tmp_path):
    copy = tmp_path / folder.name
    shutil.copytree(folder, copy)
    next((copy / "photos").iterdir()).write_bytes(png(9, 9))
    _, tree = page([copy], tmp_path / "run.html", [verify(copy).as_data()])
    assert section(tree, "Photographs").find(".//h:img", SPACE) is None
    assert "THE FILE IS NOT THE ONE IN THE LOG" in words(section(tree, "Photographs"))
    assert "DAMAGED" in words(tree.find(".//h:header", SPACE))


def test_what_is_no_picture_is_named_and_not_shown(tmp_path):
    work = Worked(tmp_path, ["a"])
    work.photo(b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "drawing.svg")
    text, tree = page([work.folder], tmp_path / "run.html")
    assert tree.find(".//h:img", SPACE) is None
    assert "onload" not in text
    assert "not shown here" in words(section(tree, "Photographs"))


def test_a_picture_named_outside_its_folder_is_not_opened(tmp_path):
    work = Worked(tmp_path, ["a"])
    (tmp_path / "secret.png").write_bytes(png())
    for file in ("photos/../../../../secret.png", "/etc/hostname", "photos/", "../x"):
        work.send(c.KeepPhoto(file, "0" * 64, 1))
    (work.folder / "photos" / "link.png").symlink_to(tmp_path / "secret.png")
    work.send(c.KeepPhoto("photos/link.png", "0" * 64, 1))
    states = {photo.file: photo.state for photo in gather(work.folder).photos}
    assert set(states.values()) == {"outside"}


def test_a_page_that_nobody_checked_says_so(folder, tmp_path):
    _, tree = page([folder], tmp_path / "run.html")
    assert "Nobody checked the record" in words(tree.find(".//h:header", SPACE))


def test_the_stock_commands_are_those_of_the_format():
    for command in (CHAIN, SIGNATURES, WHOLE, FILES):
        assert command in FORMAT


HOSTILE = [
    "<script>alert(1)</script>",
    "</style><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "]]></table><!-- ",
    "&lt;b&gt; &amp; &#60;i&#62;",
    "`code` **bold** [link](javascript:alert(1)) | pipe",
    "$(touch x) %s {0} \\ end",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_harmless_in_every_field(text, tmp_path):
    quoted = "'" + text.replace("'", "''") + "'"
    tag = text.replace(",", " ")[:24].strip()
    work = Worked(tmp_path, [(tag, 1, text)], title=quoted, name=text[:40])
    work.do("wipe", reason=text)
    work.soak(minutes=3, reason=text)
    work.answer("go on", tag, reason=text)
    first = work.read(tag, "61.99", None)
    work.answer("go on", tag, reason=text)
    work.send(c.Correct(first, tag, text, typed="61.95", place="A"))
    work.photo(png(), f"{text.replace('/', '')}.png", text, [tag])
    work.send(c.KeepLesson(text, "bore"))
    work.send(c.KeepNote(text, "bore", (tag,)))
    work.send(c.Stop(text))
    verdict = {**verify(work.folder).as_data(), "faults": [text], "doubts": [text]}
    source, tree = page([work.folder], tmp_path / "run.html", [verdict], title=text)
    assert_harmless(source, tree)
    assert text in words(tree)
    for ending in ("txt", "md", "csv", "json"):
        run_report([work.folder], tmp_path / f"run.{ending}", [verdict], issue=Issue(text))
    markdown = (tmp_path / "run.md").read_text("utf-8")
    fenced = re.sub(r"```sh\n.*?```", "", markdown, flags=re.DOTALL)
    assert "<" not in re.sub(r"\\<", "", fenced)
    assert "](" not in re.sub(r"\\.", "", fenced)


ALLOWED = frozenset(
    {
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "main",
        "article",
        "header",
        "nav",
        "section",
    }
    | {
        "p",
        "h1",
        "h2",
        "h3",
        "dl",
        "dt",
        "dd",
        "div",
        "a",
        "del",
        "ul",
        "li",
        "pre",
        "small",
        "bdi",
    }
    | {"table", "caption", "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "img"}
    | {"svg", "text", "rect", "path", "circle", "g"}
)


def assert_harmless(source, tree):
    for one in tree.iter():
        name = one.tag.rpartition("}")[2] if isinstance(one.tag, str) else "comment"
        assert name in ALLOWED
        assert not [key for key in one.attrib if key.lower().startswith("on")]
    assert "\x1b" not in source
    assert source.count("<style>") == 1


def test_control_codes_and_overrides_never_reach_a_page(tmp_path):
    work = Worked(tmp_path, ["a"])
    work.send(c.KeepNote("bell \x07 escape \x1b[31m override \u202e nul"))
    for ending in ("html", "txt", "md"):
        to = tmp_path / f"run.{ending}"
        run_report([work.folder], to)
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e]", to.read_text("utf-8"))


def test_names_written_from_right_to_left_reorder_nothing_around_them(tmp_path):
    axle, arm = "ציר שמאלי 2", "محور أيمن"
    work = Worked(tmp_path, [(axle, 1, "יציקה 4-117"), arm, "hub"])
    work.do("wipe")
    _, tree = page([work.folder], tmp_path / "run.html")
    card = tree.find(".//h:dl", SPACE)
    said = next(one for one in card.iterfind("h:dd", SPACE) if "hub" in words(one))
    assert words(said) == f"{axle} (יציקה 4-117), {arm} and hub"
    assert [words(one) for one in said.iterfind("h:bdi", SPACE)] == [axle, "יציקה 4-117", arm]


def test_a_job_report_tells_the_runs_and_each_parts_life(folder, tmp_path):
    other = Worked(tmp_path, ["hub L", "arm"])
    verdicts = [verify(one).as_data() for one in (folder, other.folder)]
    _, tree = page([folder, other.folder], tmp_path / "job.html", verdicts, title="Trailer axle")
    assert words(tree.find(".//h:h1", SPACE)) == "Trailer axle"
    lives = [
        [words(cell) for cell in row.iterfind("h:td", SPACE)]
        for row in section(tree, "Part by part, over all runs").iterfind(".//h:tr", SPACE)
    ]
    assert [row[0] + "/" + row[3] for row in lives if row] == [
        "hub L/done",
        "/in work",
        "hub R/done",
        "hub S/scrapped",
        "arm/in work",
    ]
    assert len(tree.findall(".//h:article", SPACE)) == 4


def test_markdown_reads_as_text(folder, tmp_path):
    run_report([folder], tmp_path / "run.md", [verify(folder).as_data()])
    text = (tmp_path / "run.md").read_text("utf-8")
    prose = re.sub(r"```sh\n.*?```", "", text, flags=re.DOTALL)
    for said in (folder.name, "2026-03-02 08:00", "61.949 to 61.979 mm", "seat-look"):
        assert said in prose
    assert "\\-" not in prose
    assert "\\." not in prose.replace("\\. ", "")


def test_text_keeps_to_its_width_and_says_the_same(folder, tmp_path):
    run_report([folder], tmp_path / "run.txt", [verify(folder).as_data()])
    text = (tmp_path / "run.txt").read_text("utf-8")
    commands = CHAIN + SIGNATURES + WHOLE + FILES
    for line in text.splitlines():
        assert len(line) <= 100 or line.strip() in commands
    flat = " ".join(text.split())
    for said in (
        "The record is intact",
        "[was 61.96] 61.956",
        "two digits swapped",
        "Found: crack.",
    ):
        assert said in flat


def test_a_run_of_many_parts_says_them_all(tmp_path):
    parts = [f"stay {number}" for number in range(1, 7)]
    work = Worked(tmp_path, parts)
    work.do("wipe")
    _, tree = page([work.folder], tmp_path / "run.html")
    rows = section(tree, "What was done to which parts").findall(".//h:tbody/h:tr", SPACE)
    assert [words(row[0]) for row in rows] == parts
    assert "all 6 parts" in words(section(tree, "The work, entry by entry"))


def test_a_large_batch_is_drawn_in_pieces_of_one_scale(tmp_path):
    parts = [f"stay {number}" for number in range(1, 7)]
    work = Worked(tmp_path, parts)
    work.do("wipe")
    work.soak(*parts[:4])
    work.soak(*parts[4:])
    for round_, part in product(range(5), parts):
        work.read(part, f"61.95{round_}")
        work.read(part, f"61.97{round_}")
        work.send(c.Put((part,), work.seen, "bore", "once more"))
    _, tree = page([work.folder], tmp_path / "run.html")
    drawings = section(tree, "Readings against their limits").findall(".//s:svg", SPACE)
    assert [len(marks(one, "band")) for one in drawings] == [24, 6]
    ticks_of = [[(t.get("data-v"), t.get("x")) for t in marks(d, "tick")] for d in drawings]
    assert ticks_of[0] == ticks_of[1]
    drawn = sorted(one.get("data-v") for d in drawings for one in marks(d, "dot"))
    assert drawn == sorted(r.value for r in gather(work.folder).readings)
