"""Whatever was corrected or taken back is told with what it was, by whom, when and why.

In every face and every report, by words alone: neither colour nor a struck style is needed.
"""

import csv
import datetime as dt
import io
import json
import re
import subprocess

import pytest

from benchrun.account.record_text import show
from benchrun.plain.run import PlainRun
from benchrun.plain.talk import Talk
from benchrun.procedure.load import load_bytes
from benchrun.record.chain import PRINTED_BY
from benchrun.record.clock import VirtualClock
from benchrun.report.command import run_report
from benchrun.report.front import Issue
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.screen.app import BenchApp
from benchrun.screen.log.pane import LogPane
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.theme import Appearance
from benchrun.session import Kept, begin
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: measure-it
title: Measure it (invented)
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: hub, at most: 3}
stages:
  - stage: All
    steps:
      - {reading: Measure the bore., id: bore, unit: mm, high: 25.4 mm, outside: [go on]}
      - {work out: Wall left., id: wall, formula: 30 mm - bore, unit: mm}
      - {inspect: Look for cracks., id: look, findings: {sound: go on, cracked: go on}}
      - {do: Wrap the hub., id: wrap}
      - {do: Label the hub., id: label}
"""


class Bench:
    """A run in which values were entered wrong and put right, and keys hit by mistake."""

    def __init__(self, path):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z")
        self.shop = new_shop(path / "shop", "Shop", self.clock.now())
        self.ann = enrol(self.shop, "Ann Bench", self.clock.now(), passphrase="one")
        self.bea = enrol(self.shop, "Bea Mill", self.clock.now(), passphrase="two")
        procedure = load_bytes(PROCEDURE, "measure.yaml")
        self.session = begin(self.shop, procedure, [e.PartSpec("hub")], self.ann, self.clock)

    @property
    def seen(self):
        return self.session.run.n - 1

    def give(self, command):
        self.clock.wait(60_000)
        reply = self.session.send(command).result()
        assert isinstance(reply, Kept), reply
        return reply.entries[0].n

    def do(self, step, **more):
        return self.give(c.Do(step, ("hub",), self.seen, **more))

    def correct(self, n, to="", finding="", reason=""):
        return self.give(c.Correct(n, "hub", reason, to, finding=finding))

    def settle(self):
        """Answer that what was done on the old finding stands."""
        (question,) = self.session.run.markers["hub"].questions
        code = question.answers[-1].code
        self.give(c.Settle(("hub",), self.seen, {"hub": question.id}, code, "it is a trial"))


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.session.leave()


def amended(bench):
    """Two corrections of one reading by two people, a finding put right, and a mis-tap."""
    bore = bench.do("bore", typed="25.34 mm")
    bench.do("wall")
    look = bench.do("look", finding="cracked")
    first = bench.correct(bore, "25.24 mm", reason="a digit was swapped")
    bench.session.hand_over(bench.bea)
    second = bench.correct(bore, "25.23 mm", reason="read again")
    found = bench.correct(look, finding="sound", reason="a scratch of the dye brush")
    bench.settle()
    wrap = bench.do("wrap")
    back = bench.give(c.Retract(wrap, bench.seen, "the wrong key"))
    bench.do("wrap")
    return bore, first, second, found, wrap, back


def words_of(text):
    """One line of text without line breaks and the escapes of Markdown, as an eye reads it."""
    return re.sub(r"\s+", " ", text.replace("\\", ""))


CHAIN = (
    "25.23 mm (was 25.24 mm; corrected by bea-mill, {second}, in entry 6: read again) "
    "(was 25.34 mm, inside; corrected by ann-bench, {first}, in entry 5: a digit was swapped)"
)
FOUND = (
    "sound (was cracked; corrected by bea-mill, {found}, in entry 7: a scratch of the dye brush)"
)
BACK = "UNDONE by bea-mill, {back}, in entry 11: the wrong key"


def told(template, when):
    stamps = {"first": "14:06", "second": "14:07", "found": "14:08", "back": "14:11"}
    return template.format(**{key: when(clock) for key, clock in stamps.items()})


def utc(clock):
    return f"2026-11-25 {clock} UTC"


def test_show_prints_each_value_with_all_that_it_was(bench):
    amended(bench)
    said = words_of(show(bench.session.folder))
    for template in (CHAIN, FOUND, BACK):
        assert told(template, utc) in said
    assert "entry 2 of hub corrected" in said or "entry 2" in said
    assert "corrected to 25.24 mm, was 25.34 mm" in said
    assert "corrected to 25.23 mm, was 25.24 mm" in said


def test_what_follows_from_a_corrected_value_is_told_the_same_way(bench):
    amended(bench)
    said = words_of(show(bench.session.folder))
    assert "hub: 4.77 mm (was 4.76 mm; follows from a correction by bea-mill" in said


def test_a_correction_that_was_taken_back_leaves_the_value_as_it_was(bench):
    bore = bench.do("bore", typed="25.34 mm")
    wrong = bench.correct(bore, "26.34 mm", reason="it was the other hub")
    bench.give(c.Retract(wrong, bench.seen, "it was this hub after all"))
    said = words_of(show(bench.session.folder))
    assert (
        "hub: 25.34 mm (corrected to 26.34 mm by ann-bench, 2026-11-25 14:04 UTC, in entry 3: it "
        "was the other hub; that was undone by ann-bench, 2026-11-25 14:05 UTC, in entry 4: "
        "it was this hub after all)"
    ) in said
    assert "UNDONE by ann-bench, 2026-11-25 14:05 UTC, in entry 4" in said


async def log_on_screen(bench, look, size):
    app = BenchApp(bench.shop.path, look=look, clock=bench.clock, pulse=lambda: 0.0)
    async with app.run_test(size=size):
        screen = RunScreen(app, bench.session, resumed=False)
        await app.push_screen(screen)
        screen.push(LogPane(screen, bench.session))
        screen.paint()
        return words_of("\n".join(row.text for row in screen.page_view.rows))


@pytest.mark.parametrize("size", [(80, 30), (120, 40)])
@pytest.mark.parametrize(
    "look",
    [
        Appearance(zone=dt.UTC),
        Appearance("mono", zone=dt.UTC),
        Appearance("mono", ascii=True, zone=dt.UTC),
    ],
)
async def test_the_log_on_the_screen_tells_it_in_words(bench, look, size):
    amended(bench)
    said = await log_on_screen(bench, look, size)
    for template in (FOUND, BACK):
        assert told(template, str) in said
    if size[1] == 40:
        assert told(CHAIN, str) in said


def test_the_plain_face_tells_it_when_looking_something_up(bench):
    bore = bench.do("bore", typed="25.34 mm")
    bench.correct(bore, "25.24 mm", reason="a digit was swapped")
    bench.do("wall")
    wrong = bench.do("look", finding="cracked")
    bench.give(c.Retract(wrong, bench.seen, "the wrong key"))
    out = io.StringIO()
    PlainRun(Talk(io.StringIO("/\n3\n\n-\n"), out, ascii_only=True), bench.session).carry_on()
    said = words_of(out.getvalue())
    assert "25.24 mm (was 25.34 mm, inside; corrected by ann-bench" in said
    assert re.search(r"UNDONE by ann-bench, \d\d:\d\d, in entry 6: the wrong key", said)


def reported(bench, tmp_path, ending):
    verdict = verify(bench.session.folder.path).as_data()
    path = tmp_path / f"record.{ending}"
    run_report([bench.session.folder.path], path, [verdict], issue=Issue(""))
    return path.read_text("utf-8")


@pytest.mark.parametrize("ending", ["html", "txt", "md"])
def test_the_reports_for_reading_give_both_values_who_when_and_why(bench, tmp_path, ending):
    amended(bench)
    said = words_of(reported(bench, tmp_path, ending))
    rows = {
        "html": r"<del>25.34 mm</del>|<s>25.34",
        "txt": r"\[was 25\.34 mm\] 25\.23 mm",
        "md": r"~~25\.34 mm~~|was 25\.34",
    }
    assert re.search(rows[ending], said), said
    for words in ("a digit was swapped", "read again", "a scratch of the dye brush", "Bea Mill"):
        assert words in said
    assert re.search(r"25\.24|25,24", said)
    assert "undone" in said
    assert "the wrong key" in said


def test_the_reports_for_machines_give_both_values_who_when_and_why(bench, tmp_path):
    amended(bench)
    rows = list(csv.DictReader(io.StringIO(reported(bench, tmp_path, "csv"))))
    bore = next(row for row in rows if row.get("step") == "bore")
    assert bore["correction"] == "read again"
    data = json.loads(reported(bench, tmp_path, "json"))
    text = json.dumps(data)
    for words in ("a digit was swapped", "read again", "the wrong key", "bea-mill"):
        assert words in text


@pytest.mark.parametrize("ending", ["html", "txt", "md"])
def test_a_report_of_a_correction_that_was_taken_back_gives_the_value_as_it_was(
    bench, tmp_path, ending
):
    bore = bench.do("bore", typed="25.34 mm")
    wrong = bench.correct(bore, "25.14 mm", reason="it was the other hub")
    bench.give(c.Retract(wrong, bench.seen, "it was this hub after all"))
    said = words_of(reported(bench, tmp_path, ending))
    readings = said.split("Corrections")[0]
    assert "25.34 mm" in readings
    assert "25.14 mm" not in readings
    assert "it was this hub after all" in said


async def plain_and_screen(bench):
    out = io.StringIO()
    typed = io.StringIO("/\n3\nread again\n-\n")
    PlainRun(Talk(typed, out, ascii_only=True), bench.session).carry_on()
    return words_of(out.getvalue()), await log_on_screen(bench, Appearance(zone=dt.UTC), (120, 40))


async def test_the_number_that_a_face_prints_leads_stock_tools_to_the_same_line(bench, tmp_path):
    second = amended(bench)[2]
    plain, screen = await plain_and_screen(bench)
    verified = verify(bench.session.folder.path).text()
    reports = {ending: reported(bench, tmp_path, ending) for ending in ("html", "txt", "md")}
    facts = json.loads(reported(bench, tmp_path, "json"))["runs"][0]
    rows = list(csv.DictReader(io.StringIO(reported(bench, tmp_path, "csv"))))
    printed = {
        "show": re.findall(r"in entry (\d+): read again", words_of(show(bench.session.folder))),
        "the plain face": re.findall(r"in entry (\d+): read again", plain),
        "the log on the screen": re.findall(r"in entry (\d+): read again", screen),
        "verify": re.findall(r"entry (\d+): [^:]*: entry \d+ corrected, read again", verified),
        "the table": re.findall(r"(?m)^ *(?:Entry:? *)?(\d+) .*2026-11-25 14:07", reports["txt"]),
        "the page": re.findall(r">(\d+)</td>(?:(?!</tr>).)*read again", reports["html"]),
        "markdown": re.findall(r"(?m)^\| (\d+) \|.*read again", reports["md"]),
        "csv": [row["corrected_by"] for row in rows if row["correction"] == "read again"],
        "json": [str(one["n"]) for one in facts["corrections"] if one["reason"] == "read again"],
    }
    log = bench.session.folder.log
    for face, numbers in printed.items():
        lines = [json.loads(sed(n, log)) for n in numbers]
        told = {(line["n"], line["data"]["reason"]) for line in lines}
        assert told == {(second, "read again")}, face


def sed(n, log):
    """The line of an entry, as the program says that it is printed."""
    command = ["sh", "-c", f"N={n}; {PRINTED_BY}"]
    done = subprocess.run(command, cwd=log.parent, capture_output=True, text=True, check=True)
    return done.stdout


@pytest.mark.parametrize("ending", ["txt", "md", "html"])
def test_no_report_speaks_of_lines_where_entries_are_meant(bench, tmp_path, ending):
    amended(bench)
    said = reported(bench, tmp_path, ending).split("How to check it with stock tools")[0]
    assert not re.search(r"\b[Ll]ines? \d", said)
    assert not re.search(r"\bLine\b", said)
