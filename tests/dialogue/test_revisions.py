"""What changed since the revision that a shop ran last, before the begin and on resuming."""

import pytest

from benchrun.dialogue.before_begin import before_rows
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.revisions import changed_words, last_run_of, later_words
from benchrun.procedure.load import load, load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop

FIRST = """\
procedure: wipe-it
title: Wipe it (invented)
revision: 1
status: checked
dated: 2026-03-01
scope: One part.
applies to: brackets of the trailer
changes: {1: First.}
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""
SECOND = FIRST.replace("revision: 1", "revision: 3").replace(
    "{1: First.}", "{1: First., 2: Wiped with a dry rag., 3: Twice.}"
)


@pytest.fixture
def clock():
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path, clock):
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    return shop


@pytest.fixture
def own(shop):
    path = shop.path / "procedures" / "wipe-it.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(FIRST)
    return path


def ran(shop, own, clock):
    from benchrun.shop.people import read_people

    (ada,) = read_people(shop)
    run = begin(shop, load(own), [PartSpec("a")], ada, clock)
    run.leave()
    return run


def told(shop, own, clock):
    new = NewRun(shop, load(own), clock.now, None)
    new.before = last_run_of(shop, "wipe-it")
    return [f"{row.label} {row.text}".strip() for row in before_rows(new)]


def test_the_page_before_the_begin_says_which_revision_it_is(shop, own, clock):
    rows = told(shop, own, clock)
    assert rows[0] == (
        "wipe-it, revision 1, checked, 2026-03-01, step by step. One part. "
        "Applies to: brackets of the trailer."
    )
    assert not any("changed since" in row for row in rows)


def test_what_changed_since_the_last_run_is_told_before_the_begin(shop, own, clock):
    ran(shop, own, clock)
    own.write_text(SECOND)
    rows = told(shop, own, clock)
    at = rows.index("changed since revision 1, run here last on 2026-03-10")
    assert rows[at + 1 : at + 3] == ["2: Wiped with a dry rag.", "3: Twice."]


def test_a_file_that_changed_without_a_new_revision_is_told(shop, own, clock):
    ran(shop, own, clock)
    own.write_text(FIRST.replace("One part.", "One part or more."))
    before = last_run_of(shop, "wipe-it")
    assert changed_words(load(own), before) == (
        "The file is not that of 2026-03-10, though its revision is the same.",
    )


def test_an_older_revision_than_the_last_one_is_told(shop, own, clock):
    own.write_text(SECOND)
    ran(shop, own, clock)
    before = last_run_of(shop, "wipe-it")
    assert changed_words(load_bytes(FIRST.encode(), "wipe.yaml"), before) == (
        "On 2026-03-10 this shop ran revision 3, which is newer.",
    )


def test_a_run_that_goes_on_is_told_of_a_newer_or_a_withdrawn_revision(shop, own, clock):
    run = ran(shop, own, clock)
    assert later_words(shop, run.procedure) == ()
    own.write_text(SECOND)
    assert later_words(shop, run.procedure) == (
        "Revision 3 exists; this run goes on by its copy of 1.",
        "2: Wiped with a dry rag.",
        "3: Twice.",
    )
    own.write_text(FIRST.replace("status: checked", "status: withdrawn"))
    assert later_words(shop, run.procedure) == (
        "The procedure of this run was withdrawn since. Ask before you go on.",
    )
