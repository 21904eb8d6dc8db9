"""The command line, as a person and a script meet it."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from in_process import said
from patience import PATIENCE_S

TINY = """\
procedure: tiny
title: Wipe and look
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.
        id: wipe
      - inspect: Look for cracks.
        id: look
        findings: {no crack: go on, crack: scrap}
"""
ANSWERS = "rehearse: tiny\ninvented: yes\nparts: [a, b]\ngiven: {look: no crack}\n"


def refused(*words):
    code, out, err = said(*words)
    assert code == 2, out + err
    lines = err.strip().splitlines()
    assert len(lines) == 1, err
    return lines[0]


@pytest.fixture
def tiny(tmp_path):
    (tmp_path / "tiny.yaml").write_text(TINY)
    (tmp_path / "tiny.answers.yaml").write_text(ANSWERS)
    return tmp_path


def rehearse(tiny, out):
    return ("rehearse", tiny / "tiny.yaml", "--answers", tiny / "tiny.answers.yaml", "--out", out)


@pytest.fixture
def rehearsed(benchrun, tiny):
    """A rehearsal by the program as it is installed."""
    out = tiny / "run"
    subprocess.run(
        [benchrun, *rehearse(tiny, out)], check=True, capture_output=True, timeout=PATIENCE_S
    )
    return out


def test_an_unknown_procedure_is_told_with_those_that_are_known(tmp_path):
    told = refused("rehearse", "no-such", "--answers", tmp_path / "a.yaml", "--out", tmp_path / "o")
    assert "no-such" in told
    assert "hub-bearing-removal" in told


def test_broken_yaml_is_told_with_its_place(tiny):
    (tiny / "tiny.yaml").write_text(TINY.replace("batch: {part", "batch: {part: [", 1))
    assert "tiny.yaml:6:" in refused(*rehearse(tiny, tiny / "run"))


def test_without_a_terminal_the_board_is_told_line_by_line(monkeypatch, tmp_path):
    monkeypatch.delenv("BENCHRUN_SHOP")  # the person's own is meant, which is not there
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    for args, asks in (
        ([], "What is the shop called"),
        (["try"], "Number or words, only Enter leaves:"),
        (["run", "hub-bearing-removal"], "What is the shop called"),
    ):
        code, out, err = said(*args)
        assert code == 2, err  # nobody answers
        assert "the input ended at the first question" in err
        assert asks in out
        assert "\x1b" not in out


@pytest.mark.skipif(os.geteuid() == 0 and not Path("/proc/self").exists(), reason="needs /proc")
def test_a_shop_that_cannot_be_written_is_one_line(tmp_path):
    from benchrun.errors import BenchrunError
    from benchrun.record.clock import VirtualClock
    from benchrun.signing_keys import new_shop

    (tmp_path / "file").write_text("in the way")
    for place in (tmp_path / "file" / "shop", Path("/proc/self/shop")):
        with pytest.raises(BenchrunError, match="cannot be written") as caught:
            new_shop(place, "Shop", VirtualClock().now())
        assert "\n" not in caught.value.message


def test_a_run_that_another_window_holds_is_refused(tmp_path, tiny):
    from benchrun.errors import BenchrunError
    from benchrun.procedure.load import load
    from benchrun.record.clock import VirtualClock
    from benchrun.run.entries import PartSpec
    from benchrun.session import begin, take_up
    from benchrun.signing_keys import enrol, new_shop

    clock = VirtualClock()
    shop = new_shop(tmp_path / "shop", "Shop", clock.now())
    person = enrol(shop, "Somebody", clock.now(), passphrase="word")
    session = begin(shop, load(tiny / "tiny.yaml"), [PartSpec("a")], person, clock)
    with pytest.raises(BenchrunError, match="another window"):
        take_up(shop, session.folder, person, clock)
    assert "intact" in said("verify", session.folder.path)[1]
    session.leave()
    take_up(shop, session.folder, person, clock).leave()


def test_a_rehearsal_verifies_and_shows(rehearsed):
    code, out, _ = said("verify", rehearsed)
    assert code == 0, out
    assert "intact" in out
    assert "rehearsal" in out
    text = said("show", rehearsed)[1]
    assert "1. Wipe the part clean." in text
    assert "a: no crack" in text
    assert "signed by rehearsal-first-hand@rehearsal" in text


def test_verify_as_json_can_be_read_by_a_program(benchrun, rehearsed):
    done = subprocess.run([benchrun, "verify", "--json", rehearsed], capture_output=True)
    found = json.loads(done.stdout)
    assert found[0]["whole"] is True
    assert found[0]["closed"] is True
    assert found[0]["signatures"] == 1


def test_verify_tells_a_changed_finding(rehearsed):
    log = rehearsed / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b"no crack", b"No crack", 1))
    code, out, _ = said("verify", rehearsed)
    assert code == 1
    assert "DAMAGED" in out
    assert "fault  entry " in out


def test_verify_of_what_is_no_run_could_not_tell(tmp_path):
    assert "no run" in refused("verify", tmp_path / "nothing")


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("run hub-bearing-removl", "hub-bearing-removal"),
        ("ready wet-blastin", "wet-blasting"),
        ("calc torqu_setting", "torque_setting"),
        ("parts show hub-ll", "hub-l"),
        ("instruments change mic-0-52 note=spare", "mic-0-25"),
        ("supplies add name=etch amuont=5", "amount"),
        (
            "verify 2026-04-01-dye-penetrant-inspection-died",
            "2026-04-01-dye-penetrant-inspection-dyed",
        ),
        ("history --procedure hub-bearing-removal --reading seat-lo", "seat-low"),
    ],
)
def test_a_name_that_is_nearly_right_is_answered_with_the_right_one(root, tmp_path, words, meant):
    shop = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    assert f"did you mean '{meant}'?" in refused("--shop", shop, *words.split())


def test_a_run_that_cannot_be_read_keeps_no_other_from_being_checked(rehearsed, tmp_path):
    missing = tmp_path / "nothing"
    code, out, err = said("verify", missing, rehearsed)
    assert (code, out.count(": intact"), "no run" in err) == (2, 1, True)
    found = json.loads(said("verify", "--json", missing, rehearsed)[1])
    assert [one["whole"] for one in found] == [None, True]
    log = rehearsed / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b"no crack", b"No crack", 1))
    assert said("verify", missing, rehearsed)[0] == 1


def test_a_rehearsal_never_writes_over_a_folder_that_is_there(tiny, rehearsed):
    before = (rehearsed / "log.jsonl").read_bytes()
    assert "is there already" in refused(*rehearse(tiny, rehearsed))
    assert (rehearsed / "log.jsonl").read_bytes() == before


def test_entries_that_the_rules_refuse_are_told_by_line(tiny, tmp_path):
    """A log whose chain and seals are sound, but whose second act comes from nowhere."""
    from benchrun.procedure.load import load
    from benchrun.record.clock import VirtualClock
    from benchrun.run.entries import PartSpec
    from benchrun.session import begin
    from benchrun.signing_keys import enrol, new_shop

    clock = VirtualClock()
    shop = new_shop(tmp_path / "shop", "Shop", clock.now())
    person = enrol(shop, "Somebody", clock.now(), passphrase="word")
    session = begin(shop, load(tiny / "tiny.yaml"), [PartSpec("a")], person, clock)
    forged = {"step": "look", "parts": ["a"], "each": {"a": {"value": {"word": "no crack"}}}}
    session._writer.append(clock.now(), "somebody", "do", forged)
    session._thread.shutdown()
    session._writer.close()
    code, out, _ = said("verify", session.folder.path)
    assert code == 1
    assert "entry 2: the rules refuse this do" in out


def test_what_a_command_does_not_take_is_told_in_one_line_with_what_would_do(tmp_path):
    told = refused("instruments", "add", "gauge", "--range", "0 to 25 mm")
    assert "--range: a key of a row is written without hyphens, like 'range=...'" in told
    told = refused("vessels", "add", "tub", "--filled-with=bath")
    assert "'filled with=...'" in told
    assert "--loud is not taken here: known are --ascii," in refused("board", "--loud")
    told = refused("parts", "away", "hub")
    assert told == "benchrun: missing: --to; `benchrun parts away -h` tells what it takes"
    assert "'pink' will not do: known are dark, light," in refused("--theme", "pink")


def test_a_procedure_of_the_shop_is_checked_by_its_id_as_it_is_run(tiny):
    shop = tiny / "shop"
    said("shop", "new", shop)
    (shop / "procedures").mkdir(exist_ok=True)
    shutil.copy(tiny / "tiny.yaml", shop / "procedures")
    code, out, _ = said("--shop", shop, "check", "tiny")
    assert (code, out.splitlines()[-1][:17]) == (0, "1 file: no errors")
    assert "look" in said("--shop", shop, "check", "--route", "tiny")[1]
    assert "no procedure 'tinny'" in refused("--shop", shop, "check", "tinny")
    code, out, err = said("--shop", shop, "check", "tinny.yaml")
    assert code == 2
    assert "tinny.yaml: cannot be opened" in out + err


def test_help_names_every_command():
    text = said("--help")[1]
    for command in ("try", "run", "check", "rehearse", "verify", "show", "calc", "schema"):
        assert f"    {command} " in text


def test_the_readme_lists_the_commands_that_there_are(root):
    readme = (root / "README.md").read_text()
    text = said("--help")[1]
    listed = text[text.index("\ncommands:") :].splitlines()
    commands = [line.split()[0] for line in listed if re.match(r" {4}\w", line)]
    assert len(commands) >= 8
    for command in commands:
        assert f"`benchrun {command}" in readme, command
