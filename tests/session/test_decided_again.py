"""Verify decides each entry again: the words of a question may differ, what it asks may not."""

import copy

import pytest

from benchrun.procedure.load import load_bytes
from benchrun.record.chain import read_log
from benchrun.record.clock import VirtualClock
from benchrun.record.writer import LogWriter
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: bore-it
title: Bore it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 12.00 mm
        high: 12.05 mm
        outside: [set aside, scrap]
"""


@pytest.fixture
def benches(tmp_path):
    """Two runs in one shop, of which one measured a bore that is too large."""
    clock = VirtualClock("2026-03-10T08:00:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    clock.wait(60_000)
    procedure = load_bytes(PROCEDURE, "bore.yaml")
    measured, bare = (begin(shop, procedure, [PartSpec("a")], ada, clock) for _ in range(2))
    measured.send(c.Do("bore", ("a",), 1, typed="12.2")).result()
    measured.leave()
    bare.leave()
    return clock, ada, read_log(measured.folder.log).lines, bare.folder


def verified(benches, change):
    """The faults of the other run after the same reading was put into it with a change."""
    clock, ada, lines, folder = benches
    data = copy.deepcopy(next(line.data for line in lines if line.kind == "do"))
    change(data["each"]["a"]["asks"][0])
    with LogWriter.open(folder.path) as writer:
        data["each"]["a"]["asks"][0]["id"] = f"{writer.n}.0"
        writer.append(clock.now(), ada.id, "do", data)
    return [fault for fault in verify(folder.path).faults if "outcome" in fault]


def word_otherwise(question):
    question["says"] = "It is too large."
    for answer in question["answers"]:
        answer["text"] = "In other words"


def test_a_question_in_the_words_of_another_program_is_the_same_outcome(benches):
    assert verified(benches, word_otherwise) == []


def test_a_question_with_an_answer_left_out_is_another_outcome(benches):
    assert len(verified(benches, lambda question: question["answers"].pop())) == 1
