"""One person behind a signature: the line, the words, the principal, the key and the role agree."""

import json
from dataclasses import replace

import pytest

from benchrun.account.gather import gather
from benchrun.procedure.load import load_bytes
from benchrun.record.chain import read_log
from benchrun.record.clock import VirtualClock
from benchrun.record.keys import make_key
from benchrun.record.line import encode
from benchrun.record.register import Register
from benchrun.record.seals import sign_data
from benchrun.record.signers import Signer, read_signers, write_signers
from benchrun.record.sshsig import SIGN
from benchrun.record.writer import LogWriter
from benchrun.report.front import Issue, front_sheet
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.signing_keys import change_known, enrol, new_key, new_shop, person_key, retire
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: look-at-it
title: Look at it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - do: Wipe the part.
        id: wipe
      - hold: Release the part.
        id: release
        role: checker
        signs: I looked at it.
"""


class Bench:
    """A shop with two people and a run whose hold is due."""

    def __init__(self, path):
        self.clock = VirtualClock("2026-03-10T08:00:00.000Z")
        self.shop = new_shop(path / "shop", "Shed", self.clock.now())
        self.ada = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="one")
        self.ben = enrol(self.shop, "Ben Mill", self.clock.now(), passphrase="two")
        self.clock.wait(60_000)
        procedure = load_bytes(PROCEDURE, "look.yaml")
        self.session = begin(self.shop, procedure, [PartSpec("a")], self.ada, self.clock)
        assert isinstance(self.session.send(c.Do("wipe", ("a",), 1)).result(), Kept)

    @property
    def folder(self):
        return self.session.folder

    def hold(self, word="one"):
        command = c.Do("release", ("a",), self.session.run.n - 1)
        return self.session.sign(command, word).result()

    def verdict(self):
        self.session.leave()
        return verify(self.folder.path)


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.session.leave()


def signed_by_another(bench, by_of_sign):
    """What ada stated, signed with ben's key in a line that names ada or ben."""
    bench.session.leave()
    with LogWriter.open(bench.folder.path) as writer:
        stated = next(line for line in _donor(bench) if line.data.get("says"))
        bench.clock.wait(1000)
        writer.append(bench.clock.now(), bench.ada.id, "do", stated.data)
        key = person_key(bench.ben).unlock("two")
        data = sign_data(writer, key, "ben-mill@shed") | {"parts": ["a"]}
        writer.append(bench.clock.now(), by_of_sign, "sign", data)
    row = read_signers(bench.shop.signers).of("ben-mill@shed")
    bench.folder.write_signers(bench.folder.read_signers().add(row[0]))


def _donor(bench):
    """The lines of another run of the same procedure in which ada signed the hold herself."""
    procedure = load_bytes(PROCEDURE, "look.yaml")
    other = begin(bench.shop, procedure, [PartSpec("a")], bench.ada, bench.clock)
    other.send(c.Do("wipe", ("a",), 1)).result()
    other.sign(c.Do("release", ("a",), 2), "one").result()
    other.leave()
    return read_log(other.folder.log).lines


def test_a_hold_that_its_person_signs_is_whole_and_its_key_is_known(bench):
    assert isinstance(bench.hold(), Kept)
    verdict = bench.verdict()
    assert verdict.faults == []
    assert verdict.doubts == ["the run is not closed"]
    assert verdict.keeping.known == {"ada-brook@shed": True, "station@shed": True}
    assert ", known to the shop" in verdict.text()


def authority(sheet):
    """The rows on a front that say who signed, as texts."""
    (section,) = [one for one in sheet.sections if one.title == "By whose authority"]
    return [[cell.text for cell in row] for row in section.blocks[0].rows]


def test_the_front_of_a_report_names_signers_by_the_key_and_the_head_of_the_shop(bench):
    bench.hold()
    verdict = bench.verdict()
    sheet = front_sheet([gather(bench.folder.path, verdict.as_data())], Issue())
    (signed,) = authority(sheet)
    assert signed[0] == "Ada Brook, checker"
    assert signed[3].endswith("key known to the shop")
    head = dict(sheet.card.rows)["Head of the shop"]
    assert head == Register(bench.shop.path).read().short_head


def test_the_front_of_a_report_says_where_name_and_key_are_not_one_persons(bench):
    signed_by_another(bench, "ada-brook")
    facts = gather(bench.folder.path, verify(bench.folder.path).as_data())
    keys = [row[3] for row in authority(front_sheet([facts], Issue()))]
    assert "signature of ben-mill@shed does NOT hold" in keys


@pytest.mark.parametrize("by", ["ada-brook", "ben-mill"])
def test_a_hold_stated_in_one_name_and_signed_with_anothers_key_is_a_fault(bench, by):
    signed_by_another(bench, by)
    verdict = verify(bench.folder.path)
    assert not verdict.whole
    said = " ".join(verdict.faults)
    assert ("signed as ben-mill@shed" if by == "ada-brook" else "stated what ben-mill") in said
    assert "ben-mill@shed" not in verdict.keeping.signers


def test_a_line_by_nobody_known_is_a_fault_where_the_register_keeps_people(bench):
    bench.session.leave()
    with LogWriter.open(bench.folder.path) as writer:
        data = {"text": "I was here", "step": "", "parts": []}
        writer.append(bench.clock.now(), "nobody", "note", data)
    verdict = verify(bench.folder.path)
    assert any("nobody entered this, whom neither" in text for text in verdict.faults)


def test_somebody_who_joined_later_is_known_by_the_register(bench):
    bench.clock.wait(1000)
    late = enrol(bench.shop, "Cy Late", bench.clock.now(), passphrase="three")
    bench.session.hand_over(late)
    assert isinstance(bench.hold("three"), Kept)
    verdict = bench.verdict()
    assert (verdict.faults, verdict.doubts) == ([], ["the run is not closed"])


def test_a_key_that_came_from_nowhere_is_a_doubt_and_so_are_two_live_keys(bench, tmp_path):
    strange = make_key(tmp_path / "strange", "four")
    rows = read_signers(bench.shop.signers)
    since = bench.clock.now().utc_ms - 30_000
    row = Signer("ada-brook@shed", strange.public, (SIGN,), since)
    write_signers(bench.shop.signers, rows.add(row))
    bench.session.hand_over(replace(bench.ada, key=tmp_path / "strange"))
    assert isinstance(bench.hold("four"), Kept)
    verdict = bench.verdict()
    assert verdict.whole
    assert any("came from nowhere" in text for text in verdict.doubts)
    assert any("had 2 keys that were good at once" in text for text in verdict.doubts)


def test_a_key_of_nobody_in_the_shop_signs_nothing(bench, tmp_path):
    make_key(tmp_path / "strange", "four")
    before = bench.session.run.n
    bench.session.hand_over(replace(bench.ada, key=tmp_path / "strange"))
    reply = bench.hold("four")
    assert isinstance(reply, Refusal)
    assert "is not one of theirs by the shop's signers" in reply.text
    assert bench.session.run.n == before


def test_another_key_is_no_doubt_when_it_was_given_through_the_register(bench):
    bench.clock.wait(5000)
    fresh = new_key(bench.shop, bench.ada.id, bench.clock.now(), passphrase="five")
    bench.clock.wait(5000)
    bench.session.hand_over(fresh)
    assert isinstance(bench.hold("five"), Kept)
    verdict = bench.verdict()
    assert (verdict.faults, verdict.doubts) == ([], ["the run is not closed"])


def test_an_end_of_a_key_that_was_taken_out_of_signers_is_a_fault_by_the_register(bench):
    before = read_signers(bench.shop.signers)
    bench.clock.wait(5000)
    retire(bench.shop, bench.ada.id, bench.clock.now())
    write_signers(bench.shop.signers, before)
    bench.clock.wait(60_000)
    reply = bench.hold()
    assert isinstance(reply, Refusal)
    assert "had been ended by the shop's register" in reply.text


def test_a_role_that_the_register_did_not_give_is_a_doubt(bench, tmp_path):
    change_known(bench.shop, bench.ada.id, {"roles": ["restorer"]}, bench.clock.now())
    assert isinstance(bench.hold(), Kept)
    verdict = bench.verdict()
    assert verdict.whole
    assert any("a role that the shop's register did not give then" in t for t in verdict.doubts)


def test_the_register_is_sealed_line_by_line_and_no_line_can_be_changed_or_slipped_in(bench):
    bench.session.leave()
    register = Register(bench.shop.path)
    trusted = read_signers(bench.shop.signers)
    assert register.read().seal_findings(trusted) == []
    raw = register.path.read_bytes()
    lines = [json.loads(line) for line in raw.splitlines()]
    last = lines[-1]
    last["data"]["n"] = 1
    register.path.write_bytes(b"".join(encode(line) for line in lines))
    (told,) = register.read().seal_findings(trusted)
    assert "has a seal that does not hold" in told.text
    del last["data"]["sshsig"]
    register.path.write_bytes(b"".join(encode(line) for line in lines))
    (told,) = register.read().seal_findings(trusted)
    assert "has no seal" in told.text
