"""Verify decides each entry again: words may differ; what is asked and signed over may not."""

import copy

import pytest

from benchrun.procedure.load import load_bytes
from benchrun.record.chain import read_log
from benchrun.record.clock import VirtualClock
from benchrun.record.seals import sign_data
from benchrun.record.writer import LogWriter
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop, person_key
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


RELEASE = b"""\
procedure: wipe-and-release
title: Wipe and release
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
      - hold: Release the part.
        id: release
        signs: I looked at it.
"""


def released(tmp_path, change):
    """What verifying says of a run whose hold, signed over a skipped step, was stated changed."""
    clock = VirtualClock("2026-03-10T08:00:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    clock.wait(60_000)
    procedure = load_bytes(RELEASE, "release.yaml")
    both = [begin(shop, procedure, [PartSpec("a")], ada, clock) for _ in range(2)]
    for session in both:
        session.send(c.Skip("wipe", ("a",), 1, "it was clean")).result()
    model, other = both
    model.sign(c.Do("release", ("a",), 2), "one").result()
    (stated,) = (line.data for line in read_log(model.folder.log).lines if "says" in line.data)
    other.folder.write_signers(model.folder.read_signers())
    for session in both:
        session.leave()
    data = copy.deepcopy(stated)
    change(data)
    with LogWriter.open(other.folder.path) as writer:
        writer.append(clock.now(), ada.id, "do", data)
        key = person_key(ada).unlock("one")
        writer.append(clock.now(), ada.id, "sign", sign_data(writer, key, "ada-brook@shed"))
    return stated["remarks"], verify(other.folder.path)


def test_a_statement_as_the_program_makes_it_names_what_was_signed_over(tmp_path):
    remarks, verdict = released(tmp_path, lambda data: None)
    assert [(remark["of"], remark["parts"]) for remark in remarks] == [(2, ["a"])]
    assert verdict.whole, verdict.faults


def test_a_statement_that_leaves_out_what_was_signed_over_is_a_fault(tmp_path):
    _, verdict = released(tmp_path, lambda data: data.pop("remarks"))
    assert verdict.faults == [
        "entry 4: what was signed over lacks entry 2, a: step 1 skipped (it was clean)"
    ]


def test_what_was_signed_over_may_stand_in_the_words_of_another_program(tmp_path):
    def reword(data):
        data["remarks"][0]["what"] = "step 1 was not done: it was clean"

    _, verdict = released(tmp_path, reword)
    assert verdict.whole, verdict.faults


def test_what_was_signed_over_must_be_of_the_same_entry_and_parts(tmp_path):
    _, verdict = released(tmp_path, lambda data: data["remarks"][0].update(of=1))
    assert not verdict.whole
