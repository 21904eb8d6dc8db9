"""Figures: out of the books at the begin, else asked before the step that needs them, and kept."""

from pathlib import Path

import pytest
from scripted_face import ScriptedFace

from benchrun.account.entry_words import EntryWords
from benchrun.dialogue.acts import act
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.correction import correct
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.prompts import Confirm, Form
from benchrun.dialogue.work import Work
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.session import begin
from benchrun.shop.parts import read_jobs
from benchrun.shop.people import read_people
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = """\
procedure: cylinder
title: Cylinder
revision: 1
status: checked
scope: Invented.
batch: {part: cylinder, at most: 6}
figures:
  bore_low: {ask: Lower limit of the bore., unit: mm, plausible: 15 mm to 40 mm}
  slack: {ask: Slack that is allowed., unit: mm, without: go on}
stages:
  - stage: All
    steps:
      - {do: Wipe it., id: wipe}
      - {reading: Measure the bore., id: bore, unit: mm, low: bore_low, outside: scrap}
      - {reading: Measure the slack., id: slack-read, unit: mm, high: slack, outside: scrap}
"""
JOBS = """\
jobs:
  - {id: trailer, name: hose trailer}
  - {id: pump, name: hand pump}
parts:
  - {id: cyl-1, name: cylinder, job: trailer}
"""
KEPT = """\
jobs:
  - id: trailer
    name: hose trailer
    figures:
      - {figure: bore_low, value: 19.00 mm, document: old manual, page: 3}
      - {figure: bore_low, value: 19.05 mm, document: manual, page: 4-12, by: ada, on: 2026-03-02}
parts:
  - {id: cyl-1, name: cylinder, job: trailer}
"""


class Bench:
    """A shop with jobs, in which one run is begun."""

    def __init__(self, folder: Path) -> None:
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="1234")
        self.book(JOBS)
        (folder / "cylinder.yaml").write_text(PROCEDURE)
        self.procedure = load(folder / "cylinder.yaml")
        self.face = ScriptedFace(None, [])

    def book(self, text: str) -> None:
        (self.shop.path / "parts.yaml").write_text(text)

    def ask(self, *answers: str) -> NewRun:
        new = NewRun(self.shop, self.procedure, self.clock.now, read_people(self.shop)[0])
        self.face = ScriptedFace(None, ["", *answers])
        converse(new.ask(), self.face)
        assert self.face.left == []
        return new

    def begin(self, *answers: str) -> Work:
        new = self.ask(*answers)
        session = begin(
            self.shop,
            self.procedure,
            new.parts,
            new.person,
            self.clock,
            figures=new.figures,
            job=new.job,
        )
        return Work(session)

    def act(self, work: Work, *answers: str) -> ScriptedFace:
        self.face = ScriptedFace(work.session, list(answers))
        converse(act(work), self.face)
        assert self.face.left == []
        work.tidy()
        return self.face


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def kinds_of(work: Work) -> list[str]:
    return [entry.kind for entry in work.session.entries if entry.kind != "seal"]


def test_the_job_of_the_parts_is_known_and_its_newest_figure_is_taken_and_shown(bench) -> None:
    bench.book(KEPT)
    new = bench.ask("cyl-1", "")
    assert new.job == "trailer"
    (spec,) = new.figures
    assert (spec.number, spec.document, spec.page) == ("19.05", "manual", "4-12")
    assert (spec.book, spec.who, spec.day) == ("job trailer", "ada", "2026-03-02")
    shown = [row.text for row in bench.face.asked[-1].rows()]
    assert "bore_low, Lower limit of the bore: 19.05 mm" in shown
    assert "Slack that is allowed." in shown


def test_where_the_parts_tell_no_job_it_is_asked(bench) -> None:
    assert bench.ask("2", "2").job == "pump"
    assert bench.ask("2", "3").job == ""


def test_a_figure_is_asked_before_the_step_that_needs_it_and_kept_in_the_book(bench) -> None:
    work = bench.begin("cyl-1")
    bench.act(work)
    face = bench.act(work, "19.05\nworkshop manual\n4-12", "1")
    assert isinstance(face.asked[0], Form)
    assert kinds_of(work) == ["open", "do", "figure"]
    assert work.session.run.figures["bore_low"].number is not None
    (line,) = read_jobs(bench.shop).named("trailer").figures
    assert (line.name, line.value, line.document, line.page) == (
        "bore_low",
        "19.05 mm",
        "workshop manual",
        "4-12",
    )
    assert line.by == read_people(bench.shop)[0].id
    assert bench.ask("hub", "2", "1", "").figures[0].number == "19.05"


def test_what_is_not_plausible_is_warned_of_and_taken(bench) -> None:
    work = bench.begin("cyl-1")
    bench.act(work)
    face = bench.act(work, "1905", "", "2")
    assert isinstance(face.asked[1], Confirm)
    assert "outside what is plausible" in face.asked[1].said
    assert work.session.entries[-1].data.figure.odd


def test_a_needed_figure_cannot_be_left_empty_and_an_odd_text_is_asked_again(bench) -> None:
    work = bench.begin("cyl-1")
    bench.act(work)
    face = bench.act(work, "", "19 kN", "-")
    assert "cannot go on without it" in face.said[0]
    assert kinds_of(work) == ["open", "do"]


def test_the_run_may_go_on_without_a_figure_that_may_lack(bench) -> None:
    bench.book(KEPT)
    work = bench.begin("cyl-1", "")
    bench.act(work)
    bench.act(work, "19.10")
    face = bench.act(work, "", "")
    assert "not judged" in face.asked[1].said
    bench.act(work, "5")
    assert work.session.run.markers["cyl-1"].questions == ()
    assert kinds_of(work) == ["open", "do", "do", "figure", "do"]


def test_a_later_change_of_the_book_changes_no_open_run(bench) -> None:
    bench.book(KEPT)
    work = bench.begin("cyl-1", "")
    bench.book(KEPT.replace("19.05 mm", "25 mm"))
    bench.act(work)
    bench.act(work, "19.10")
    entry = work.session.entries[-1].data
    assert entry.each["cyl-1"].verdict == "inside"
    assert entry.each["cyl-1"].low == "19.05"


def test_a_wrong_figure_is_corrected_once_for_all_parts(bench) -> None:
    bench.book(KEPT.replace("cyl-1,", "cyl-1, note: x,"))
    work = bench.begin("cyl-1, hub", "2", "")
    bench.act(work)
    bench.act(work, "19.10")
    face = ScriptedFace(work.session, ["2", "19.20 mm\nnew manual\n9", "1"])
    converse(correct(work), face)
    assert face.left == []
    lines = [option.words for option in face.asked[0].options]
    assert lines == ["cyl-1: 19.10 mm", "figure bore low: 19.05 mm"]
    entry = work.session.entries[-1].data
    assert (entry.part, entry.place) == ("", "bore_low")
    assert (entry.document, entry.page) == ("new manual", "9")
    asked = work.session.run.markers["cyl-1"].questions
    assert [question.today for question in asked] == ["outside"]
    told = "; ".join(
        EntryWords(work.session.procedure, work.session.entries).words(work.session.entries[0])
    )
    assert "19.20 mm (was 19.05 mm; corrected by" in told
    assert "by manual, page 4-12" in told
