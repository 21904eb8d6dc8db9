"""The run that carried another procedure out is held against its own log, where that is at hand."""

import shutil
from dataclasses import replace

import pytest

from benchrun.carried_runs import runs_that_carried_out
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.entries import CarriedPart, Given, PartSpec
from benchrun.session import Kept, begin, closing_statement
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

WORD = "six words nobody else would guess"
CHECK = """\
procedure: crack-check
title: Look for cracks (invented, for tests)
revision: 2
scope: Invented, for tests only.
changes: {1: First., 2: Second.}
batch: {part: arm}
stages:
  - stage: Look
    steps: [{reading: Measure the crack., id: depth, unit: mm}]
"""
OVERHAUL = """\
procedure: arm-overhaul
title: Overhaul an arm (invented, for tests)
revision: 1
scope: Invented, for tests only.
changes: {1: First.}
batch: {part: arm}
stages:
  - stage: All
    steps:
      - {carry out: crack-check, revision: 2, id: check, values: {depth: mm}}
      - {do: Hang the arm up., id: hang}
"""


class Shop:
    """A shop in which one run carries a procedure out for another."""

    def __init__(self, place, depth="1.5"):
        self.clock = VirtualClock("2026-03-02T08:00:00.000Z", name="bench")
        self.shop = new_shop(place / "shop", "Invented Shop", self.clock.now())
        self.ann = enrol(self.shop, "Ann Ode", self.clock.now(), passphrase=WORD)
        for name, text in (("crack-check", CHECK), ("arm-overhaul", OVERHAUL)):
            (place / f"{name}.yaml").write_text(text, "utf-8")
        self.place = place
        self.other = self.begun("crack-check")
        self.send(self.other, c.Do("depth", ("arm 1",), self.seen(self.other), typed=depth))
        close = c.Close({}, closing_statement(self.other.hand))
        assert isinstance(self.other.sign(close, WORD).result(), Kept)

    def begun(self, name):
        procedure = load(self.place / f"{name}.yaml")
        return begin(self.shop, procedure, [PartSpec("arm 1")], self.ann, self.clock)

    @staticmethod
    def seen(session):
        return session.run.n - 1

    def send(self, session, command):
        reply = session.send(command).result()
        assert isinstance(reply, Kept), reply
        self.clock.wait(60_000)

    def overhauled(self, change=lambda carried: carried):
        """The folder of a run in which the other one is named."""
        session = self.begun("arm-overhaul")
        step = session.run.route.steps["check"]
        (carried,) = runs_that_carried_out(self.shop, step, ("arm 1",))
        seen = self.seen(session)
        self.send(session, c.Do("check", ("arm 1",), seen, carried=change(carried)))
        return session.folder.path


def told(verdict):
    return [text for text in (*verdict.faults, *verdict.doubts) if "carried a procedure" in text]


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


def test_a_run_beside_its_log_is_whole_and_in_no_doubt(shop):
    verdict = verify(shop.overhauled())
    assert verdict.whole
    assert told(verdict) == []


def test_without_the_other_run_its_head_is_in_doubt(shop):
    folder = shop.overhauled()
    shutil.move(shop.other.folder.path, shop.place / "elsewhere")
    verdict = verify(folder)
    assert verdict.whole
    (doubt,) = told(verdict)
    assert "is not at hand: its head was held against no log" in doubt


def test_a_damaged_log_of_the_other_run_is_a_doubt_here_and_a_fault_there(shop):
    folder = shop.overhauled()
    log = shop.other.folder.path / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b'"1.5"', b'"1.4"', 1))
    verdict = verify(folder)
    assert verdict.whole
    (doubt,) = told(verdict)
    assert "cannot be read" in doubt
    assert not verify(shop.other.folder.path).whole


def test_another_run_in_its_place_is_a_fault(shop, tmp_path):
    folder = shop.overhauled()
    (tmp_path / "second").mkdir()
    another = Shop(tmp_path / "second", depth="1.4").other.folder.path
    shutil.rmtree(shop.other.folder.path)
    shutil.copytree(another, shop.other.folder.path)
    verdict = verify(folder)
    assert not verdict.whole
    assert told(verdict)[0].endswith("has another last line than this entry says")


def test_another_result_than_that_run_came_to_is_a_fault(shop):
    flatter = {"arm 1": CarriedPart("done", {"depth": Given("", "0.5", "mm")})}
    verdict = verify(shop.overhauled(lambda carried: replace(carried, parts=flatter)))
    assert not verdict.whole
    assert told(verdict)[0].endswith("came to something else than this entry says")
