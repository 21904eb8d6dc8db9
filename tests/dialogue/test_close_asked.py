"""The close is asked line by line before the release, on paper and in the log with who and when."""

import pytest
from scripted_face import WORD, ScriptedRun, numbers

from benchrun.account.entry_words import EntryWords
from benchrun.account.walk import facts_of
from benchrun.dialogue.acts import act
from benchrun.dialogue.correction import correct
from benchrun.report.front import Issue, front_sheet
from benchrun.report.pages import lay_out
from benchrun.report.plain import as_text
from benchrun.run import commands as c
from benchrun.verify import verify

PROCEDURE = """\
procedure: small-job
title: A small job
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 12}
stages:
  - stage: All
    steps:
      - {do: Wipe the part clean., id: wipe}
close:
  restore: [Lid on the tub., Lock the cupboard.]
  follow on: [Fit the arms.]
  released by: restorer
"""


@pytest.fixture
def run(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text(PROCEDURE)
    run = ScriptedRun(tmp_path, path, ("a",), people=())
    run.drive(act(run.work))
    return run


def first_words(run):
    facts = facts_of(run.session.procedure, run.session.entries)
    return [para.text for para in front_sheet([facts], Issue()).words]


def test_each_line_is_asked_and_entered_before_the_signature(run):
    face = run.drive(act(run.work), "1", "1", "1", WORD)
    assert [one.title for one in face.asked[:3]] == [
        f"Before you sign, line {number} of 3" for number in (1, 2, 3)
    ]
    assert face.asked[0].said == "Put back: Lid on the tub"
    assert face.asked[2].said == "Follow-on: Fit the arms"
    assert face.asked[3].ticked[0].startswith("Put back: Lid on the tub: done (2026-11-25 14:02")
    assert face.asked[3].ticked[0].endswith(", Ada Brook)")
    assert run.kinds()[-5:] == ["tick", "tick", "tick", "do", "sign"]
    face = run.drive(act(run.work), WORD)  # nothing is asked again
    assert run.session.run.ended
    assert verify(run.session.folder.path).whole
    assert not any("Not done" in words for words in first_words(run))


def test_what_is_not_done_has_its_reason_and_stays_in_sight(run):
    face = run.drive(act(run.work), "1", "2", "the key is lost", "1", WORD)
    signed = face.asked[-1]
    assert signed.ticked[0].startswith("Put back: Lock the cupboard: NOT DONE, the key is lost (")
    assert [one.what for one in signed.remarks] == [
        "not done when asked, put back: Lock the cupboard (the key is lost)"
    ]
    face = run.drive(act(run.work), "2", WORD)  # asked once more before the close: still not done
    assert face.asked[0].said.startswith("Put back: Lock the cupboard: NOT DONE, the key is lost")
    assert verify(run.session.folder.path).whole
    assert "Not done at the close: Lock the cupboard (the key is lost)." in first_words(run)
    facts = facts_of(run.session.procedure, run.session.entries)
    text = as_text(lay_out([facts]))
    assert "put back and follow-on" in text.lower()
    assert "NOT DONE" in text.partition("May it be trusted".upper())[2]


def test_what_is_done_meanwhile_is_ticked_before_the_close(run):
    run.drive(act(run.work), "1", "2", "the key is lost", "1", WORD)
    run.drive(act(run.work), "1", WORD)
    assert run.session.run.ended
    facts = facts_of(run.session.procedure, run.session.entries)
    assert [(one.text, one.done) for one in facts.close_lines] == [
        ("Lid on the tub.", True),
        ("Lock the cupboard.", True),
        ("Fit the arms.", True),
    ]
    assert not any("Not done at" in words for words in first_words(run))


def test_the_line_before_can_be_ticked_again_and_what_was_ticked_stays(run):
    face = run.drive(act(run.work), "1", "3", "2", "the lid is bent", "-")
    assert numbers(face.asked[1])[3] == "The line before"
    assert run.kinds()[-2:] == ["tick", "tick"]
    face = run.drive(act(run.work), "-")
    assert face.asked[0].said == "Put back: Lock the cupboard"  # the first that is still open


def test_a_tick_that_was_wrong_is_corrected(run):
    run.drive(act(run.work), "1", "1", "-")
    face = run.drive(correct(run.work), "1", "2", "the key is lost")
    assert numbers(face.asked[0])[1] == "put back: Lock the cupboard, done"
    assert run.last("tick").reason == "the key is lost"


def test_the_text_of_a_run_tells_each_line(run):
    run.drive(act(run.work), "1", "2", "the key is lost", "1", WORD)
    wording = EntryWords(run.session.procedure, run.session.entries)
    told = [list(wording.words(one)) for one in run.session.entries if one.kind == "tick"]
    assert told == [
        ["put back, done: Lid on the tub."],
        ["not done when asked, put back: Lock the cupboard", "  reason: the key is lost"],
        ["follow-on, done or passed on: Fit the arms."],
    ]


def test_a_batch_of_scrap_counts_its_tools_and_ticks_its_close_before_the_signature(tmp_path):
    page = tmp_path / "job.yaml"
    needs = "needs: {tools: [{tool: drift, count: 2}], count back: yes}\nstages:"
    page.write_text(PROCEDURE.replace("stages:", needs))
    run = ScriptedRun(tmp_path, page, ("a", "b"), people=())
    seen = run.session.run.n - 1
    run.session.send(c.Put(("a", "b"), seen, "scrap", "cracked")).result()
    run.work.tidy()
    face = run.drive(act(run.work), "1", "left in the vice", "1", "1", "1", WORD)
    assert face.asked[0].title == "Count the tools back"
    assert face.asked[2].title == "Before you sign, line 1 of 3"
    signed = face.asked[-1]
    assert "missing: 1 × drift (left in the vice)" in [one.what for one in signed.remarks]
    assert run.kinds()[-6:] == ["count", "tick", "tick", "tick", "close", "sign"]
    assert run.session.run.ended
    assert verify(run.session.folder.path).whole
    facts = facts_of(run.session.procedure, run.session.entries)
    assert [(one.tool, one.back, one.missing) for one in facts.tools] == [("drift", 1, 1)]
    (counted,) = [one for one in run.session.entries if one.kind == "count"]
    wording = EntryWords(run.session.procedure, run.session.entries)
    assert list(wording.words(counted)) == [
        "tools back: 1 × drift",
        "  deviation: missing: 1 × drift",
        "  reason: left in the vice",
    ]


def test_a_count_that_was_wrong_is_put_right_before_the_close(tmp_path):
    page = tmp_path / "job.yaml"
    needs = "needs: {tools: [{tool: drift, count: 2}], count back: yes}\nstages:"
    page.write_text(PROCEDURE.replace("stages:", needs))
    run = ScriptedRun(tmp_path, page, ("a",), people=())
    run.drive(act(run.work))
    run.drive(act(run.work), "1", "still in the vice")
    face = run.drive(correct(run.work), "1", "2")
    assert numbers(face.asked[0])[1] == "tools counted back"
    assert facts_of(run.session.procedure, run.session.entries).tools[0].missing == 0
