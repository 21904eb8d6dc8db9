"""The record of a closed run is found among past runs, checked, read, written and filed."""

import io
import math
import shutil

import pytest
from scripted_face import ScriptedRun, numbers

from benchrun.dialogue.conversation import converse
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.past_runs import past_runs
from benchrun.dialogue.prompts import Choose
from benchrun.plain.face import PlainFace
from benchrun.plain.talk import Talk
from benchrun.run import commands as c
from benchrun.verify import verify

WIPE = """\
procedure: wipe-it
title: Wipe it
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""
CLOSED_RUN, WRITE, CHECK, READ, COPY, BACK = "7", "1", "2", "3", "4", "-"


@pytest.fixture
def wiped(tmp_path):
    """A closed run of one part."""
    path = tmp_path / "wipe.yaml"
    path.write_text(WIPE)
    run = ScriptedRun(tmp_path, path, ["bracket"])
    run.session.send(c.Do("wipe", ("bracket",), run.session.run.n - 1)).result()
    run.session.sign(c.Close({}, "Ada Brook: done"), "1234").result()
    run.session.leave()
    return run


def pages(face) -> str:
    """The pages that were shown, as words."""
    rows = [row for one in face.asked if isinstance(one, PagePrompt) for row in one.rows()]
    return "\n".join(f"{row.label} {row.text}".strip() for row in rows)


def ask(wiped, *answers):
    """Go to the closed run and give answers there, then all the way back."""
    backs = [BACK] * 3
    return wiped.drive(past_runs(wiped.shop), CLOSED_RUN, "1", *answers, *backs)


def test_a_closed_run_is_offered_with_its_day_and_four_things_to_do(wiped):
    face = ask(wiped)
    titles = [one.title for one in face.asked if isinstance(one, Choose)]
    assert titles[:3] == ["Past runs", "Which closed run", wiped.session.folder.run]
    (line,) = numbers(face.asked[1]).values()
    assert line == "Wipe it"
    assert "closed 2026-11-25" in face.asked[1].options[0].beside
    assert list(numbers(face.asked[2]).values()) == [
        "Write it to hand over",
        "Check it",
        "Read it",
        "File a copy",
    ]


def test_an_intact_record_is_told_so_with_who_signed(wiped):
    told = pages(ask(wiped, CHECK, ""))
    assert "The record is intact" in told
    assert "signed by ada-brook@" in told
    assert f"head {verify(wiped.session.folder.path).keeping.head}" in told


def test_a_damaged_record_is_told_with_its_place_and_what_to_do(wiped):
    log = wiped.session.folder.log
    raw = log.read_bytes()
    log.write_bytes(raw.replace(b'"wipe"', b'"wine"', 1))
    told = pages(ask(wiped, CHECK, ""))
    assert "The record is DAMAGED" in told
    assert "fault entry " in told
    assert "Look for a copy that verifies whole." in told


def test_a_record_is_read_entry_by_entry(wiped):
    told = pages(ask(wiped, READ, ""))
    assert "Wipe the part" in told
    assert "closed" in told


def test_a_report_says_that_the_record_was_checked(wiped):
    face = ask(wiped, WRITE)
    (to,) = (wiped.shop.path / "reports").iterdir()
    assert f"Written to {to}." in face.said[0]
    assert "intact" in to.read_text()


def test_a_copy_verifies_and_a_place_that_is_taken_is_asked_again(wiped, tmp_path):
    stick = tmp_path / "stick"
    face = ask(wiped, COPY, str(stick))
    run = wiped.session.folder.run
    assert f"copied to {stick / run} and compared" in face.said[0]
    assert verify(stick / run, shop=wiped.shop.path).whole
    face = ask(wiped, COPY, str(stick), BACK)
    assert "is there already: name another folder" in face.said[0]
    shutil.rmtree(stick)
    face = ask(wiped, COPY, str(wiped.session.folder.path / "own"), BACK)
    assert "lies inside the run" in face.said[0]


def test_line_by_line_the_same_is_asked_and_a_table_has_a_line_for_each_row(wiped):
    said = io.StringIO()
    face = PlainFace()
    lines = ["2", "2", CLOSED_RUN, "1", CHECK, "", "", ""]
    face.talk = Talk(io.StringIO("\n".join(lines) + "\n"), said, listens_s=math.inf)
    converse(past_runs(wiped.shop), face)
    said = said.getvalue()
    assert "7 A closed run" in said
    assert "The record is intact" in said
    assert "Each line: begun, procedure, result, values." in said
    assert ", Wipe it, done, no values" in said
