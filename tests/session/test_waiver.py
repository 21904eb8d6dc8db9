"""A hold that is waived: signed with a reason, whole, and told on the front of the record."""

import pytest

from benchrun.account.walk import facts_of
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.report.front import Issue, front_sheet
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, closing_statement, take_up
from benchrun.signing_keys import change_settings, enrol, new_shop
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: press-it
title: Press it (invented)
revision: 1
status: draft
scope: One part.
changes: {1: First.}
batch: {part: hub, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Press it out., id: press, critical: yes}
      - hold: Release the hub.
        id: release
        role: inspector
        signs: I looked at it.
        another person: yes
        may be waived: yes
"""


@pytest.fixture
def clock():
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path, clock):
    return new_shop(tmp_path / "shop", "Shed", clock.now())


@pytest.fixture
def ada(shop, clock):
    return enrol(shop, "Ada Brook", clock.now(), passphrase="one", roles=("inspector",))


def pressed(shop, ada, clock, parts=("a",)):
    """A run whose parts stand at the hold."""
    run = begin(shop, load_bytes(PROCEDURE, "press.yaml"), [PartSpec(p) for p in parts], ada, clock)
    for command in (c.Begin, c.Do):
        assert isinstance(run.send(command("press", parts, run.run.n - 1)).result(), Kept)
    return run


def close(run, opens="one"):
    reasons = {m.part: "left so" for m in run.run.each() if m.status.value == "in play"}
    closed = run.sign(c.Close(reasons, closing_statement(run.hand)), opens).result()
    assert isinstance(closed, Kept), closed
    run.leave()


def first_words(run):
    """The sentences at the top of the front of a run's record, the first one first."""
    facts = facts_of(run.procedure, run.entries)
    return [para.text for para in front_sheet([facts], Issue()).words]


def test_a_waiver_is_signed_and_the_front_says_not_released_first(shop, ada, clock):
    run = pressed(shop, ada, clock)
    waived = c.Do("release", ("a",), run.run.n - 1, reason="no inspector came", waives=True)
    reply = run.sign(waived, "one").result()
    assert isinstance(reply, Kept), reply
    close(run)
    verdict = verify(run.folder.path)
    assert verdict.whole, verdict.text()
    assert first_words(run)[0] == "Not released: a: Ada Brook waived step 2 (no inspector came)."
    facts = facts_of(run.procedure, run.entries)
    assert [(one.words, one.reason) for one in facts.deviations] == [
        ("waived", "no inspector came")
    ]


def test_a_hold_waived_before_the_release_is_told_on_the_front_with_its_reason(shop, ada, clock):
    bea = enrol(shop, "Bea Mill", clock.now(), passphrase="two", roles=("inspector",))
    looked = b"{hold: Look at it., id: look, role: inspector, signs: Seen., may be waived: yes}"
    two = PROCEDURE.replace(b"- hold: Release", b"- " + looked + b"\n      - hold: Release")
    run = begin(shop, load_bytes(two, "press.yaml"), [PartSpec("a")], ada, clock)
    for command in (c.Begin, c.Do):
        assert isinstance(run.send(command("press", ("a",), run.run.n - 1)).result(), Kept)
    waived = c.Do("look", ("a",), run.run.n - 1, reason="no lamp at hand", waives=True)
    run.hand_over(bea)
    assert isinstance(run.sign(waived, "two").result(), Kept)
    assert isinstance(run.sign(c.Do("release", ("a",), run.run.n - 1), "two").result(), Kept)
    close(run, "two")
    told = [words for words in first_words(run) if "waive" in words]
    assert told == [
        "Hold waived: a, Bea Mill: I waive step 2, Look at it. It was not met. "
        "Reason: no lamp at hand."
    ]
    assert not first_words(run)[0].startswith("Not released")


def test_without_its_release_a_closed_run_is_not_released(shop, ada, clock):
    run = pressed(shop, ada, clock, ("a", "b"))
    close(run)
    assert first_words(run)[0] == "Not released: a, b: not done."


def test_who_works_alone_releases_the_next_day_and_the_record_says_so(shop, ada, clock):
    shop = change_settings(shop, {"works alone": "yes"})
    run = pressed(shop, ada, clock)
    hold = c.Do("release", ("a",), run.run.n - 1)
    soon = run.sign(hold, "one").result()
    assert isinstance(soon, Refusal)
    assert "Let another person sign, or wait" in soon.text
    run.leave()
    clock.reboot(24 * 3_600_000)
    run = take_up(shop, run.folder, ada, clock)
    assert isinstance(run.sign(c.Do("release", ("a",), run.run.n - 1), "one").result(), Kept)
    close(run)
    assert verify(run.folder.path).whole
    assert not first_words(run)[0].startswith("Not released")
    facts = facts_of(run.procedure, run.entries)
    assert facts.deviations == []
    assert facts.signatures[0].flags == (
        "checked by who did the work, alone in the shop, on the next day",
    )
