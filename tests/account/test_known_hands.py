"""Who entered something was proved by a key, or only chosen on the screen; the log tells which."""

from dataclasses import replace

import pytest

from benchrun.account.gather import gather
from benchrun.account.known_hands import KnownHands
from benchrun.account.record_text import show
from benchrun.load_run import read_kept
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.report.command import report_content
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin, take_up
from benchrun.signing_keys import enrol, new_shop

PAGE = b"""\
procedure: wipe
title: Wipe (invented, for tests)
revision: 1
scope: Invented, for tests only.
changes: {1: first}
batch: {part: arm}
stages:
  - stage: Wipe
    steps:
      - {do: Wipe., id: wipe}
      - {hold: Show it., id: shown, signs: It is clean.}
      - {do: Dry., id: dry}
      - {do: Oil., id: oil}
      - {do: Wrap., id: wrap}
      - {do: Label., id: label}
"""


@pytest.fixture
def worked(tmp_path):
    clock = VirtualClock("2026-03-10T08:00:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    bo = enrol(shop, "Bo Reed", clock.now(), passphrase="two")
    session = begin(shop, load_bytes(PAGE, "wipe.yaml"), [PartSpec("arm")], ada, clock)

    def do(step):
        command = c.Do(step, ("arm",), session.run.n - 1)
        clock.wait(60_000)
        if step == "shown":
            session.sign(command, "one").result()
        else:
            session.send(command).result()

    do("wipe")
    do("shown")
    do("dry")
    session.hand_over(bo)
    do("oil")
    session.hand_over(ada)
    do("wrap")
    session.leave()
    session = take_up(shop, session.folder, ada, clock)
    do("label")
    folder = session.folder
    session.leave()
    return folder


def known(folder):
    _, entries = read_kept(folder)
    hands = KnownHands()
    for entry in entries:
        hands.take(entry)
    steps = {getattr(one.data, "step", "") or one.kind: one.n for one in entries}
    return {name: n in hands.proofs for name, n in steps.items()}


def test_a_signature_proves_its_statement_and_what_follows_until_another_takes_over(worked):
    found = known(worked)
    proved = {name for name, is_so in found.items() if is_so}
    assert proved == {"shown", "sign", "dry"}


def test_the_record_and_the_report_say_how_each_was_known(worked):
    told = show(worked)
    spells = [line for line in told.splitlines() if line.startswith("-- ") and "UTC" not in line]
    assert spells == [
        "-- ada-brook, chosen on the screen",
        "-- ada-brook, proved by a key in entry 4",
        "-- bo-reed, chosen on the screen",
        "-- ada-brook, chosen on the screen",
    ]
    facts = gather(worked.path)
    assert [act.step for act in facts.acts if act.proved] == ["shown", "dry"]
    html = report_content([worked.path], ".txt").decode()
    assert "Ada Brook, by key" in " ".join(html.split())


def test_hours_without_an_entry_end_what_a_key_proved(worked):
    _, entries = read_kept(worked)
    hands = KnownHands()
    for entry in entries:
        at = replace(entry.at, utc_ms=entry.at.utc_ms + 5 * 3_600_000 * (entry.n >= 5))
        hands.take(replace(entry, at=at))
    assert set(hands.proofs) == {3, 4}
