"""Terminals, pipes and disks that do not take or give what the program would."""

import json
import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from benchrun.cli import main

RUN = "2026-04-01-dye-penetrant-inspection-dyed"


@pytest.fixture(scope="module")
def printed(benchrun, root, tmp_path_factory):
    """What a command prints about a copy of the sample shop, as bytes; each is run once."""
    shop = shutil.copytree(root / "samples" / "shop", tmp_path_factory.mktemp("printed") / "shop")
    route = shop / "runs" / RUN / "procedure.yaml"

    @cache
    def command(words, charset):
        done = subprocess.run(
            [benchrun, "--shop", shop, *words.replace("FILE", str(route)).split()],
            env={**os.environ, "PYTHONIOENCODING": charset},
            capture_output=True,
        )
        assert (done.returncode, done.stderr) == (0, b"")
        return done.stdout

    return command


@pytest.mark.parametrize("charset", ["ascii", "latin-1", "utf-8"])
@pytest.mark.parametrize("command", [f"show {RUN}", "history --part hub-l", "check --route FILE"])
def test_a_terminal_that_lacks_letters_still_gets_the_whole_text(printed, charset, command):
    text = printed(command, charset).decode(charset)
    assert len(text.splitlines()) == len(printed(command, "utf-8").decode().splitlines())


def test_a_letter_that_the_terminal_lacks_is_spelled(printed):
    assert "hub-l: 21 °C (typed" in printed(f"show {RUN}", "latin-1").decode("latin-1")
    assert "hub-l: 21 deg C (typed" in printed(f"show {RUN}", "ascii").decode("ascii")


def test_everything_is_spelled_where_that_is_asked_for(printed):
    text = printed(f"--ascii show {RUN}", "utf-8").decode("ascii")
    assert "limits 15 to 35 deg C" in text


def test_data_for_other_programs_loses_nothing_on_any_terminal(printed):
    command = "history --part hub-l --json"
    assert json.loads(printed(command, "ascii")) == json.loads(printed(command, "utf-8"))


def test_bytes_that_are_no_text_are_answered_like_any_other_answer(benchrun):
    typed = b"\xff\xfe\n1\n" + b"\xff\xfe\n" * 2
    done = subprocess.run([benchrun, "--plain", "try"], input=typed, capture_output=True)
    assert b"Traceback" not in done.stderr
    said = done.stdout.decode()
    assert "No line says \ufffd\ufffd." in said
    assert said.endswith("This comes first; minus goes back.\nEnter goes on: \n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize("words", ["calc", "--plain try"])
def test_output_that_cannot_be_written_is_told_in_one_line(benchrun, words):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [benchrun, *words.split()],
            stdin=subprocess.DEVNULL,
            stdout=full,
            stderr=subprocess.PIPE,
        )
    assert done.returncode == 2
    assert done.stderr.decode().splitlines() == [
        "benchrun: the system refuses it, No space left on device"
    ]


def test_a_check_that_could_not_be_printed_is_not_called_not_whole(benchrun, root):
    with Path("/dev/full").open("w") as full:
        run = root / "samples" / "shop" / "runs" / RUN
        done = subprocess.run([benchrun, "verify", run], stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2


@pytest.mark.parametrize("closed", ["<&-", ">&-", "<&- >&- 2>&-"])
def test_closed_input_and_output_do_no_harm(benchrun, closed):
    done = subprocess.run(
        ["sh", "-c", f'"$0" --plain try {closed}', benchrun], capture_output=True, text=True
    )
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == (0 if "2>" in closed else 1)


def test_a_fault_of_the_program_is_one_line_and_a_file(monkeypatch, tmp_path, capsys):
    def broken(*_):
        raise RuntimeError("a wheel came off")

    monkeypatch.setattr("benchrun.crash.fault_folder", lambda: tmp_path / "faults")
    monkeypatch.setattr("benchrun.shopmath.command.calc_text", broken)
    assert main(["calc"]) == 2
    told = capsys.readouterr().err
    assert told.startswith(
        "benchrun: a fault of the program itself (RuntimeError: a wheel came off"
    )
    assert told.count("\n") == 1
    written = tmp_path / "faults" / "fault.txt"
    assert str(written) in told
    assert "a wheel came off" in written.read_text()


def test_what_was_printed_before_the_system_refused_is_not_lost():
    program = (
        "import sys; from benchrun.cli import main, procedures\n"
        "def refused(args):\n"
        "    print('said before')\n"
        "    raise OSError(28, 'No space left on device', 'log.jsonl')\n"
        "procedures.schema = refused\n"
        "sys.exit(main(['schema']))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (2, "said before\n")
    assert done.stderr == "benchrun: the system refuses it, No space left on device: log.jsonl\n"
