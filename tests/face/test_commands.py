"""The command line, as a person and a script meet it."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

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


def call(benchrun, *args, **kwargs):
    done = subprocess.run(
        [benchrun, *map(str, args)],
        capture_output=True,
        text=True,
        timeout=60,
        stdin=subprocess.DEVNULL,
        **kwargs,
    )
    assert "Traceback" not in done.stderr
    return done


def own_shop(folder):
    """An environment in which no shop is named: the person's own is meant, which is not there."""
    known = {key: value for key, value in os.environ.items() if key != "BENCHRUN_SHOP"}
    return {**known, "XDG_DATA_HOME": str(folder / "data")}


def refused(benchrun, *args, **kwargs):
    done = call(benchrun, *args, **kwargs)
    assert done.returncode == 2, done.stdout + done.stderr
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    return lines[0]


@pytest.fixture
def tiny(tmp_path):
    (tmp_path / "tiny.yaml").write_text(TINY)
    (tmp_path / "tiny.answers.yaml").write_text(ANSWERS)
    return tmp_path


@pytest.fixture
def rehearsed(benchrun, tiny):
    out = tiny / "run"
    done = call(
        benchrun,
        "rehearse",
        tiny / "tiny.yaml",
        "--answers",
        tiny / "tiny.answers.yaml",
        "--out",
        out,
    )
    assert done.returncode == 0, done.stderr
    return out


def test_an_unknown_procedure_is_told_with_those_that_are_known(benchrun, tmp_path):
    said = refused(
        benchrun, "rehearse", "no-such", "--answers", tmp_path / "a.yaml", "--out", tmp_path / "o"
    )
    assert "no-such" in said
    assert "hub-bearing-removal" in said


def test_broken_yaml_is_told_with_its_place(benchrun, tiny):
    (tiny / "tiny.yaml").write_text(TINY.replace("batch: {part", "batch: {part: [", 1))
    said = refused(
        benchrun,
        "rehearse",
        tiny / "tiny.yaml",
        "--answers",
        tiny / "tiny.answers.yaml",
        "--out",
        tiny / "run",
    )
    assert "tiny.yaml:6:" in said


def test_without_a_terminal_the_board_is_told_line_by_line(benchrun, tmp_path):
    for args, asks in (
        ([], "What is the shop called"),
        (["try"], "Number, or only Enter to leave:"),
        (["run", "hub-bearing-removal"], "What is the shop called"),
    ):
        done = call(benchrun, *args, env=own_shop(tmp_path))
        assert done.returncode == 2, done.stderr  # nobody answers
        assert "the input ended at the first question" in done.stderr
        assert asks in done.stdout
        assert "\x1b" not in done.stdout


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


def test_a_run_that_another_window_holds_is_refused(benchrun, tmp_path, tiny):
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
    assert "intact" in call(benchrun, "verify", session.folder.path).stdout
    session.leave()
    take_up(shop, session.folder, person, clock).leave()


def test_a_rehearsal_verifies_and_shows(benchrun, rehearsed):
    done = call(benchrun, "verify", rehearsed)
    assert done.returncode == 0, done.stdout
    assert "intact" in done.stdout
    assert "rehearsal" in done.stdout
    text = call(benchrun, "show", rehearsed).stdout
    assert "1. Wipe the part clean." in text
    assert "a: no crack" in text
    assert "signed by rehearsal-first-hand@rehearsal" in text


def test_verify_as_json_can_be_read_by_a_program(benchrun, rehearsed):
    found = json.loads(call(benchrun, "verify", "--json", rehearsed).stdout)
    assert found[0]["whole"] is True
    assert found[0]["closed"] is True
    assert found[0]["signatures"] == 1


def test_verify_tells_a_changed_finding(benchrun, rehearsed):
    log = rehearsed / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b"no crack", b"No crack", 1))
    done = call(benchrun, "verify", rehearsed)
    assert done.returncode == 1
    assert "DAMAGED" in done.stdout
    assert "fault  entry " in done.stdout


def test_verify_of_what_is_no_run_could_not_tell(benchrun, tmp_path):
    assert "no run" in refused(benchrun, "verify", tmp_path / "nothing")


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
def test_a_name_that_is_nearly_right_is_answered_with_the_right_one(
    benchrun, root, tmp_path, words, meant
):
    shop = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    assert f"did you mean '{meant}'?" in refused(benchrun, "--shop", shop, *words.split())


def test_a_run_that_cannot_be_read_keeps_no_other_from_being_checked(benchrun, rehearsed, tmp_path):
    missing = tmp_path / "nothing"
    done = call(benchrun, "verify", missing, rehearsed)
    assert (done.returncode, done.stdout.count(": intact"), "no run" in done.stderr) == (2, 1, True)
    found = json.loads(call(benchrun, "verify", "--json", missing, rehearsed).stdout)
    assert [one["whole"] for one in found] == [None, True]
    log = rehearsed / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b"no crack", b"No crack", 1))
    assert call(benchrun, "verify", missing, rehearsed).returncode == 1


def test_a_rehearsal_never_writes_over_a_folder_that_is_there(benchrun, tiny, rehearsed):
    before = (rehearsed / "log.jsonl").read_bytes()
    said = refused(
        benchrun,
        "rehearse",
        tiny / "tiny.yaml",
        "--answers",
        tiny / "tiny.answers.yaml",
        "--out",
        rehearsed,
    )
    assert "is there already" in said
    assert (rehearsed / "log.jsonl").read_bytes() == before


def test_entries_that_the_rules_refuse_are_told_by_line(benchrun, tiny, tmp_path):
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
    done = call(benchrun, "verify", session.folder.path)
    assert done.returncode == 1
    assert "entry 2: the rules refuse this do" in done.stdout


def test_what_a_command_does_not_take_is_told_in_one_line_with_what_would_do(benchrun, tmp_path):
    said = refused(benchrun, "instruments", "add", "gauge", "--range", "0 to 25 mm")
    assert "--range: a key of a row is written without hyphens, like 'range=...'" in said
    said = refused(benchrun, "vessels", "add", "tub", "--filled-with=bath")
    assert "'filled with=...'" in said
    assert "--loud is not taken here: known are --ascii," in refused(benchrun, "board", "--loud")
    said = refused(benchrun, "parts", "away", "hub")
    assert said == "benchrun: missing: --to; `benchrun parts away -h` tells what it takes"
    assert "'pink' will not do: known are dark, light," in refused(benchrun, "--theme", "pink")


def test_a_procedure_of_the_shop_is_checked_by_its_id_as_it_is_run(benchrun, tiny):
    shop = tiny / "shop"
    call(benchrun, "shop", "new", shop)
    (shop / "procedures").mkdir(exist_ok=True)
    shutil.copy(tiny / "tiny.yaml", shop / "procedures")
    done = call(benchrun, "--shop", shop, "check", "tiny")
    assert (done.returncode, done.stdout.splitlines()[-1][:17]) == (0, "1 file: no errors")
    assert "look" in call(benchrun, "--shop", shop, "check", "--route", "tiny").stdout
    assert "no procedure 'tinny'" in refused(benchrun, "--shop", shop, "check", "tinny")
    done = call(benchrun, "--shop", shop, "check", "tinny.yaml")
    assert done.returncode == 2
    assert "tinny.yaml: cannot be opened" in done.stdout + done.stderr


def test_help_names_every_command(benchrun):
    text = call(benchrun, "--help").stdout
    for command in ("try", "run", "check", "rehearse", "verify", "show", "calc", "schema"):
        assert f"    {command} " in text


def test_the_readme_lists_the_commands_that_there_are(benchrun, root):
    readme = (root / "README.md").read_text()
    text = call(benchrun, "--help").stdout
    listed = text[text.index("\ncommands:") :].splitlines()
    commands = [line.split()[0] for line in listed if re.match(r" {4}\w", line)]
    assert len(commands) >= 8
    for command in commands:
        assert f"`benchrun {command}" in readme, command
