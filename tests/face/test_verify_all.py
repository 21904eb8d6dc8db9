"""`verify --all` and `verify --head`: the register against the runs, both ways, and its head."""

import json
import os
import shutil

import pytest

from benchrun.cli import main
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.record.keys import make_key
from benchrun.record.register import Register
from benchrun.record.signers import Signer, read_signers, write_signers
from benchrun.record.sshsig import SIGN
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin, closing_statement
from benchrun.shop.people import change_person
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import many

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""


class Yard:
    """A shop with two closed runs and one that is open."""

    def __init__(self, path):
        self.clock = VirtualClock("2026-03-10T08:00:00.000Z")
        self.shop = new_shop(path / "shop", "Shed", self.clock.now())
        self.ada = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="one")
        self.folders = [self.run(close) for close in (True, True, False)]
        self.head = Register(self.shop.path).read().short_head

    def run(self, close):
        self.clock.wait(5000)
        procedure = load_bytes(PROCEDURE, "wipe.yaml")
        session = begin(self.shop, procedure, [PartSpec("a")], self.ada, self.clock)
        session.send(c.Do("wipe", ("a",), 1)).result()
        if close:
            session.sign(c.Close({}, closing_statement(session.hand)), "one").result()
        session.leave()
        return session.folder


@pytest.fixture
def yard(tmp_path):
    return Yard(tmp_path)


@pytest.fixture
def verify(yard, capsys):
    def run(*words):
        code = main(["--shop", str(yard.shop.path), "verify", *words])
        return code, capsys.readouterr().out

    return run


def test_a_sound_shop_is_whole_and_its_head_is_printed(yard, verify):
    code, said = verify("--all")
    assert code == 0
    for folder in yard.folders:
        assert f"{folder.run}: intact" in said
    assert "the shop's register: intact" in said
    assert f"head of the shop {yard.head}" in said
    assert len(yard.head) == 19
    code, said = verify("--all", "--json")
    told = json.loads(said)
    assert [one["whole"] for one in told] == [True] * 4
    assert told[-1] == {
        "shop": True,
        "whole": True,
        "faults": [],
        "doubts": [],
        "notes": [],
        "entries": told[-1]["entries"],
        "head": yard.head,
    }


def test_a_missing_run_is_a_fault(yard, verify):
    shutil.rmtree(yard.folders[0].path)
    code, said = verify("--all")
    assert code == 1
    assert f"the run {yard.folders[0].run} is missing" in said


@pytest.mark.parametrize(("put", "words"), [(os.mkfifo, "it is a pipe"), (os.mkdir, "directory")])
def test_what_is_no_file_in_place_of_a_log_is_told_and_not_called_missing(yard, capsys, put, words):
    folder = yard.folders[0]
    folder.log.unlink()
    put(folder.log)
    code = main(["--shop", str(yard.shop.path), "verify", "--all"])
    out, err = capsys.readouterr()
    assert code == 2
    assert f"{folder.run}/log.jsonl cannot be read: " in err
    assert words in err
    assert "missing" not in out
    assert f"{yard.folders[1].run}: intact" in out


def test_a_link_to_nowhere_in_place_of_a_log_is_a_missing_run(yard, verify):
    yard.folders[0].log.unlink()
    yard.folders[0].log.symlink_to("/nowhere")
    code, said = verify("--all")
    assert code == 1
    assert f"the run {yard.folders[0].run} is missing" in said


def test_a_run_that_the_register_does_not_know_is_told(yard, verify):
    register = Register(yard.shop.path)
    raw = register.path.read_bytes().splitlines(keepends=True)
    run = yard.folders[2].run.encode()
    register.path.write_bytes(b"".join(line for line in raw if run not in line))
    code, said = verify("--all", "--json")
    told = {one.get("run"): one for one in json.loads(said)}
    assert code in {0, 1}
    assert "the shop's register does not know this run" in told[yard.folders[2].run]["doubts"]


def test_a_cut_register_is_told_by_the_head_that_was_noted(yard, verify):
    register = Register(yard.shop.path)
    raw = register.path.read_bytes().splitlines(keepends=True)
    code, said = verify("--head", yard.head.upper().replace("-", " "))
    assert code == 0
    assert f"the head {yard.head} is that of entry {len(raw) - 1}" in said
    register.path.write_bytes(b"".join(raw[:-1]))
    code, said = verify("--head", yard.head)
    assert code == 1
    assert "the register never had the head" in said


def test_a_head_stays_good_while_the_register_grows(yard, verify):
    yard.run(close=True)
    assert verify("--head", yard.head)[0] == 0


def test_a_head_that_is_too_short_and_nothing_to_check_are_refused(yard, verify):
    assert verify("--head", "12ab")[0] == 2
    assert verify()[0] == 2


def test_a_close_that_the_register_lacks_is_told(yard, verify):
    register = Register(yard.shop.path)
    raw = register.path.read_bytes().splitlines(keepends=True)
    last = max(n for n, line in enumerate(raw) if b'"kind":"closed"' in line)
    register.path.write_bytes(b"".join(raw[:last]))
    said = verify("--all", "--json")[1]
    told = {one.get("run"): one for one in json.loads(said)}
    text = "the shop's register does not say that this run was closed"
    assert text in told[yard.folders[1].run]["doubts"]


def test_a_key_and_a_role_from_nowhere_are_doubts(yard, verify, tmp_path):
    strange = make_key(tmp_path / "strange", None)
    rows = read_signers(yard.shop.signers)
    write_signers(yard.shop.signers, rows.add(Signer("ada-brook@shed", strange.public, (SIGN,))))
    change_person(yard.shop, "ada-brook", {"roles": ["restorer", "checker", "inspector"]})
    code, said = verify("--all")
    assert code == 0
    assert "no entry of the register put it there" in said
    assert "people.yaml gives ada-brook the roles restorer, checker and inspector" in said


def test_what_nobody_named_and_signers_who_signed_nothing_are_doubts_in_a_closed_run(yard, verify):
    folder = yard.folders[0]
    (folder.path / "stray.txt").write_text("x")
    (folder.path / "link").symlink_to("/etc")
    stranger = make_key(yard.shop.path / "other", None)
    folder.write_signers(folder.read_signers().add(Signer("cy@shed", stranger.public)))
    code, said = verify(folder.run)
    assert code == 0
    assert "stray.txt lies in the folder, and no entry names it" in said
    assert "link lies in the folder, and no entry names it" in said
    assert "signers holds cy@shed's key" in said


def test_many_runs_are_checked_in_processes_beside_and_come_out_as_one_by_one(
    yard, verify, monkeypatch
):
    damaged = yard.folders[1]
    damaged.log.write_bytes(damaged.log.read_bytes().replace(b'"wipe"', b'"wype"'))
    (yard.folders[0].path / "procedure.yaml").unlink()
    alone = verify("--all")
    assert alone[0] == 1
    monkeypatch.setattr(many, "FEW", 1)
    monkeypatch.setattr(many, "_AT_ONCE", 1)
    monkeypatch.setattr(many, "_cores", lambda: 2)
    assert verify("--all") == alone
    assert verify("--all", "--json")[0] == 1
