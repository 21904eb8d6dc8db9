"""The parts book follows a run, and a part that is scrapped, away or busy is not simply begun."""

import json

import pytest

from benchrun.account.deviations import BEGUN_ANYWAY
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.new_run import NewRun
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.report.command import run_report
from benchrun.run.commands import Do, Put, Retract
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.shop.parts import read_parts
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

JOB = """\
procedure: look-over
title: Look an arm over
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 4}
stages:
  - stage: All
    steps:
      - {do: Wipe the arm., id: wipe}
      - inspect: Look for cracks.
        id: cracks
        findings: {none seen: go on, crack: scrap}
      - {do: Oil the arm., id: oil}
"""
BOOK = """\
# ours
parts:
  - {id: arm-1, name: arm}
  - {id: arm-2, name: arm}
  - {id: arm-4, name: arm}
  - {id: arm-3, name: arm, away: [{sent: 2026-11-02, to: the plater, count: 1, due: 2026-11-20}]}
"""


class Shop:
    """A shop with three arms in its book."""

    def __init__(self, folder):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="parts")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        self.person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="1234")
        (self.shop.path / "parts.yaml").write_text(BOOK)
        self.file = folder / "look-over.yaml"
        self.file.write_text(JOB)

    def begin(self, *tags, tag="aaaa", more=None):
        specs = [PartSpec(one) for one in tags]
        procedure = load(self.file)
        return begin(self.shop, procedure, specs, self.person, self.clock, tag=tag, more=more or {})

    def row(self, name):
        return read_parts(self.shop).named(name)

    def give(self, session, command):
        reply = session.send(command).result()
        assert isinstance(reply, Kept), reply
        session.tick().result()
        return reply


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


def seen(session):
    return session.run.n - 1


def cracked(shop):
    session = shop.begin("arm 1", "arm 2")
    shop.give(session, Do("wipe", ("arm 1", "arm 2"), seen=seen(session)))
    shop.give(session, Put(("arm 1",), seen(session), "scrap", "cracked at the eye"))
    return session


def test_what_a_run_decides_stands_in_the_line_of_the_part_with_run_and_entry(shop):
    session = cracked(shop)
    row = shop.row("arm-1")
    entry = session.run.markers["arm 1"].last
    assert (row.decision, row.stands) == ("scrap", f"scrapped, entry {entry}: {session.folder.run}")
    assert shop.row("arm-2").stands == f"in work: {session.folder.run}"
    assert (shop.shop.path / "parts.yaml").read_text().startswith("# ours")


def test_a_judgement_that_is_taken_back_takes_the_decision_back(shop):
    session = cracked(shop)
    shop.give(session, Retract(session.run.n - 1, seen(session), "looked again"))
    row = shop.row("arm-1")
    assert (row.decision, row.stands) == ("", f"in work: {session.folder.run}")


def test_set_aside_and_done_stand_there_too(shop):
    session = shop.begin("arm 1", "arm 2")
    shop.give(session, Put(("arm 1",), seen(session), "aside", "a thread to chase"))
    for step in ("wipe", "cracks", "oil"):
        finding = "none seen" if step == "cracks" else ""
        shop.give(session, Do(step, ("arm 2",), seen=seen(session), finding=finding))
    assert shop.row("arm-1").stands.startswith("set aside, entry ")
    assert shop.row("arm-2").stands.startswith("done, entry ")


def asked(shop, *answers):
    class Face:
        said, titles, rows = [], [], []

        def __init__(self):
            self.answers = list(answers)

        def ask(self, prompt):
            self.titles.append(getattr(prompt, "title", ""))
            if hasattr(prompt, "rows"):
                self.rows += [row.text for row in prompt.rows()]
            return self.answers.pop(0)

        def say(self, words):
            self.said.append(words.text)

    new, face = NewRun(shop.shop, load(shop.file), shop.clock.now, shop.person), Face()
    face.said, face.titles, face.rows = [], [], []
    return new, face, converse(new.ask(), face)


@pytest.mark.parametrize("tag", ["arm 1", "arm 2", "arm 3"])
def test_a_scrapped_busy_or_absent_part_is_begun_with_a_reason_alone(shop, tag):
    session = cracked(shop)
    why = {
        "arm 1": f"scrapped (entry {session.run.markers['arm 1'].last}",
        "arm 2": f"in work in the open run {session.folder.run}",
        "arm 3": "away at the plater since 2026-11-02, due back 2026-11-20",
    }[tag]
    new, face, known = asked(shop, "", tag, "-")
    assert not known
    assert any(row.startswith(f"{tag}: {why}") for row in face.rows), face.rows
    new, face, known = asked(shop, "", tag, "", "-")
    assert (known, new.parts) == (False, ())
    new, face, known = asked(shop, "", tag, "", "a trial of the paint alone")
    assert known
    assert new.more[BEGUN_ANYWAY][tag]["reason"] == "a trial of the paint alone"


def test_a_sound_part_is_begun_without_a_word(shop):
    cracked(shop)
    new, face, known = asked(shop, "", "arm 4")
    assert (known, new.more, len(face.titles)) == (True, {}, 2)


@pytest.mark.parametrize(("answer", "there"), [("1", True), ("2", False), ("-", False)])
def test_a_part_that_the_book_does_not_know_is_added_if_wanted(shop, answer, there):
    new, _, known = asked(shop, "", "arm 9, arm 4", answer)
    assert known == (answer != "-")
    assert [spec.part for spec in new.parts] == (["arm 9", "arm 4"] if known else [])
    row = read_parts(shop.shop).find("arm-9")
    assert (row is not None) == there


def test_that_it_was_begun_anyway_is_a_deviation_in_the_record_of_the_run(shop, tmp_path):
    cracked(shop)
    new, _, _ = asked(shop, "", "arm 1", "", "a trial of the paint alone")
    session = shop.begin("arm 1", tag="bbbb", more=new.more)
    folder = session.folder.path
    session.leave()
    first = json.loads((folder / "log.jsonl").read_text().splitlines()[0])
    assert first["data"][BEGUN_ANYWAY]["arm 1"]["reason"] == "a trial of the paint alone"
    assert verify(folder, shop=shop.shop.path).faults == []
    to = tmp_path / "record.txt"
    run_report([folder], to)
    text = " ".join(to.read_text().split())
    assert "begun although scrapped" in text
    assert "paint alone" in text
