"""Terminals and inputs whose character set is not the program's own."""

import json
import os
import shutil
import subprocess

import pytest

RUN = "2026-04-01-dye-penetrant-inspection-dyed"


@pytest.fixture
def printed(benchrun, root, tmp_path):
    """What a command prints about a copy of the sample shop, as bytes."""
    shop = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    route = shop / "runs" / RUN / "procedure.yaml"

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
    done = subprocess.run([benchrun, "--plain", "try"], input=b"1\n\xff\xfe\n", capture_output=True)
    assert b"Traceback" not in done.stderr
    assert b"Type a number from 1" in done.stdout
