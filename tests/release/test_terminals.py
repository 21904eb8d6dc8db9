"""Every way to end, every kind of terminal and locale: the exit code, and what is left behind."""

import json
import os
import shutil
import signal
import subprocess

import pytest
from patience import PATIENCE_S
from pty_program import Program

FACES = {
    "screen": ([], "BEGIN"),
    "plain": (["--plain"], "only Enter leaves"),
    "watch": (["board", "--watch"], "etch"),
}
LOCALES = {
    "C": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "C.UTF-8": {"LC_ALL": "C.UTF-8"},
    "latin": {"LC_ALL": "C", "PYTHONIOENCODING": "latin-1"},
    "none": {"LC_ALL": None, "LANG": None, "LC_CTYPE": None},
}
TERMS = (
    "xterm-256color",
    "xterm",
    "screen",
    "screen-256color",
    "tmux-256color",
    "linux",
    "vt100",
    "dumb",
)


@pytest.fixture
def shop(root, tmp_path):
    shop = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    for key in (shop / "keys").iterdir():
        key.chmod(0o600)
    return shop


@pytest.fixture
def opened(benchrun, shop):
    """Opens the program in a terminal of its own."""
    programs = []

    def opens(*words, **environ):
        programs.append(Program(benchrun, "--shop", shop, *words, **environ))
        return programs[-1]

    yield opens
    for program in programs:
        program.close()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("face", FACES)
def test_a_signal_ends_it_with_its_customary_code_and_gives_the_terminal_back(opened, face, number):
    words, sign = FACES[face]
    program = opened(*words)
    program.see(sign)
    program.child.send_signal(number)
    assert program.ended() == 128 + number
    assert program.terminal_is_as_it_was()
    assert b"Traceback" not in program.raw


def test_a_run_that_a_signal_ends_is_left_sealed(opened, shop):
    (log,) = (shop / "runs").glob("*brush-coats*/log.jsonl")
    before = len(log.read_bytes().splitlines())
    program = opened("--plain", "run", log.parent.name)
    program.see("Enter goes on:")  # behind what has become late since
    program.child.send_signal(signal.SIGTERM)
    assert program.ended() == 143
    last = [json.loads(line) for line in log.read_bytes().splitlines()][before:]
    assert [(one["kind"], one["data"].get("why")) for one in (last[0], last[-1])] == [
        ("seal", "resume"),
        ("seal", "suspend"),
    ]


def test_ctrl_c_breaks_a_command_off_with_130(opened):
    program = opened("people", "add", "Bea Mill")
    program.see("passphrase")
    program.type("\x03")
    assert program.ended() == 130
    assert program.terminal_is_as_it_was()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["people"], 0),
        (["ready", "dry-blasting", "--parts", "2"], None),
        (["show", "no-such-run"], 2),
        (["--no-such"], 2),
        (["verify", "2026-04-03-dry-blasting-sand"], 0),
    ],
)
def test_commands_leave_the_terminal_as_it_was_and_say_how_it_went(opened, words, code):
    program = opened(*words)
    ended = program.ended()
    assert ended == code if code is not None else ended in {0, 1}
    assert program.terminal_is_as_it_was()


def test_what_is_wanting_ends_with_1(opened, shop):
    (log,) = (shop / "runs").glob("*dry-blasting*/log.jsonl")
    log.write_bytes(log.read_bytes().replace(b"sand", b"dust", 1))
    program = opened("verify", log.parent.name)
    assert program.ended() == 1


@pytest.mark.parametrize("term", TERMS)
def test_it_works_and_is_left_on_every_kind_of_terminal(opened, term):
    program = opened(TERM=term)
    if term == "dumb":
        program.see("only Enter leaves")
        program.type("\n")
        program.see("clocks")
        program.type("\n" * 12)  # one for each clock that is heard, and one to leave
    else:
        program.see("BEGIN")
        program.child.send_signal(signal.SIGTERM)
    assert program.ended() in {0, 143}
    assert program.terminal_is_as_it_was()


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("face", ["screen", "plain"])
def test_it_works_in_every_locale(opened, face, locale):
    words, sign = FACES[face]
    program = opened(*words, **LOCALES[locale])
    program.see(sign)
    program.child.send_signal(signal.SIGTERM)
    assert program.ended() == 143
    assert b"Traceback" not in program.raw
    assert program.terminal_is_as_it_was()


def test_the_size_is_the_terminals_own_whatever_a_shell_exported(opened):
    program = opened(COLUMNS="200", LINES="60")
    program.see("BEGIN")
    rows, columns = program.farthest()
    assert (rows, columns) <= (24, 80)
    assert columns <= 80
    program.child.send_signal(signal.SIGTERM)
    assert program.ended() == 143


def test_help_is_as_wide_as_the_terminal_whatever_a_shell_exported(opened):
    program = opened("-h", COLUMNS="300")
    assert program.ended() == 0
    assert max(map(len, program.raw.decode().splitlines())) <= 80


@pytest.mark.parametrize("face", ["screen", "plain"])
def test_a_terminal_that_goes_away_ends_it_as_a_hang_up_does(opened, face):
    words, sign = FACES[face]
    program = opened(*words)
    program.see(sign)
    os.close(program.fd)
    os.close(program.other)
    try:
        code = program.child.wait(PATIENCE_S)
    finally:
        program.fd, program.other = os.open("/dev/null", 0), os.open("/dev/null", 0)
    assert code in {129, -signal.SIGHUP}


def test_input_that_ends_at_the_first_question_is_no_success(benchrun, shop):
    done = subprocess.run(
        [benchrun, "--shop", shop, "--plain"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 2
    assert "the input ended at the first question" in done.stderr
    answered = subprocess.run(
        [benchrun, "--shop", shop, "--plain"], input="99\n", capture_output=True, text=True
    )
    assert (answered.returncode, answered.stderr) == (0, "")
