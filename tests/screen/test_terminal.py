"""The program in a real terminal: left as it was found, without colours where none are wanted."""

import json
import os
import pty
import signal
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from patience import PATIENCE_S
from screen_terminal import CHILD, Terminal

from benchrun.record.folder import run_folders

EVERY_STATE = CHILD.parent / "procedures" / "every-state.yaml"


@pytest.fixture
def terminal(tmp_path):
    one = Terminal(tmp_path)
    yield one
    one.close()


def restored(terminal: Terminal) -> bool:
    """Whether the terminal shows its own screen and cursor again, and reads lines again."""
    on, off = terminal.raw.rfind(b"\x1b[?1049h"), terminal.raw.rfind(b"\x1b[?1049l")
    cursor = terminal.raw.rfind(b"\x1b[?25h") > terminal.raw.rfind(b"\x1b[?25l")
    modes = termios.tcgetattr(terminal.other)
    return off > on and cursor and modes[3] == terminal.modes[3]


def test_leaving_puts_the_terminal_back(terminal):
    terminal.see("BEGIN")
    terminal.type(".")
    assert terminal.wait() == 0
    assert restored(terminal)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_being_told_to_go_puts_the_terminal_back_and_seals_the_run(terminal, number):
    terminal.see("BEGIN")
    terminal.signal(number)
    assert terminal.wait() == 128 + number
    assert restored(terminal)


def in_a_run(folder: Path, **options: str) -> tuple[Terminal, Path]:
    """A terminal in which a run was begun, and the run's log."""
    terminal = Terminal(folder, start=str(EVERY_STATE), **options)
    _begin(terminal)
    return terminal, next(iter(run_folders(terminal.path / "runs"))).log


def _begin(terminal: Terminal) -> None:
    """Read what must hold, say who works, check the one condition, take two parts."""
    terminal.see("Before you begin")
    while "Who works" not in terminal.text:
        terminal.pass_time(600)
        terminal.type("\n")
    for keys, see in (("1", "1 of 1"), ("\n", "The batch for"), ("2\n", "1 of 9")):
        for key in keys:
            terminal.pass_time(600)
            terminal.type(key)
        terminal.see(see)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_being_told_to_go_in_a_run_seals_its_log(tmp_path, number):
    terminal, log = in_a_run(tmp_path)
    try:
        terminal.signal(number)
        assert terminal.wait() == 128 + number
        assert restored(terminal)
    finally:
        terminal.close()
    assert '"kind":"seal"' in log.read_text().splitlines()[-1]


def test_a_fault_of_the_program_puts_the_terminal_back_and_is_told_in_a_line(tmp_path):
    state = tmp_path / "state"
    terminal, log = in_a_run(tmp_path, breaks="0", XDG_STATE_HOME=str(state))
    try:
        terminal.pass_time(600)
        terminal.send(b"0")
        assert terminal.wait() == 2
        assert restored(terminal)
        told = terminal.raw[terminal.raw.rfind(b"\x1b[?1049l") :].decode()
    finally:
        terminal.close()
    assert "a fault of the program itself (RuntimeError" in told
    assert "Traceback" not in told
    assert "passphrase" not in told
    written = (state / "benchrun" / "log" / "fault.txt").read_text()
    assert "Traceback" in written
    assert "invented for a test" in written
    assert '"kind":"seal"' in log.read_text().splitlines()[-1]


@pytest.mark.parametrize("numbers", [[signal.SIGHUP], []])
def test_a_terminal_that_is_gone_ends_the_program_and_the_run_is_sealed(tmp_path, numbers):
    terminal = Terminal(tmp_path, start=str(EVERY_STATE), own=str(EVERY_STATE))
    try:
        _begin(terminal)
        terminal.pass_time(600)
        terminal.type("\n")
        terminal.see("Recorded")
        terminal.hang_up()
        for number in numbers:
            terminal.signal(number)
        assert terminal.child.wait(PATIENCE_S) == 128 + signal.SIGHUP
    finally:
        terminal.close()
    (log,) = terminal.path.glob("runs/*/log.jsonl")
    assert json.loads(log.read_bytes().splitlines()[-1])["kind"] == "seal"


def test_no_color_sends_no_colour(tmp_path):
    terminal = Terminal(tmp_path, NO_COLOR="1", theme="mono")
    try:
        terminal.see("BEGIN")
        for code in (b"\x1b[38;", b"\x1b[48;", b";38;5;", b";48;5;", b"\x1b[31m", b"\x1b[33m"):
            assert code not in terminal.raw
    finally:
        terminal.close()


def test_the_terminal_theme_sends_no_colours_of_its_own(tmp_path):
    terminal = Terminal(tmp_path, theme="terminal")
    try:
        terminal.see("BEGIN")
        assert b"38;2;" not in terminal.raw
        assert b"48;2;" not in terminal.raw
    finally:
        terminal.close()


def test_keypad_sequences_of_a_terminal_that_tells_the_keypad_apart(terminal):
    terminal.see("BEGIN")
    terminal.pass_time(600)
    terminal.send(b"\x1b[57410u")
    terminal.see("Look up")
    terminal.send(b"\x1b[57412u")
    terminal.see("BEGIN")


@pytest.mark.parametrize("term", ["dumb", "xterm"])
def test_where_nothing_can_be_drawn_the_work_goes_on_line_by_line(tmp_path, benchrun, term):
    done = subprocess.run(
        [benchrun],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        env={"PATH": "/usr/bin", "TERM": term, "HOME": str(tmp_path)},
        check=False,
    )
    assert done.returncode == 2
    assert "the input ended at the first question" in done.stderr
    assert "What is the shop called" in done.stdout
    assert "\x1b" not in done.stdout
    assert not list(tmp_path.iterdir())


def test_a_screen_without_keys_is_refused_in_one_line(tmp_path, benchrun):
    near, far = pty.openpty()
    try:
        done = subprocess.run(
            [benchrun],
            stdin=subprocess.DEVNULL,
            stdout=far,
            stderr=subprocess.PIPE,
            text=True,
            env={"PATH": "/usr/bin", "TERM": "xterm", "HOME": str(tmp_path)},
            check=False,
        )
    finally:
        os.close(near)
        os.close(far)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "--plain" in done.stderr


def test_the_board_of_a_shop_with_nothing_open_comes_up_without_the_rules():
    program = (
        "import sys, benchrun.screen.app; "
        "heavy = {'benchrun.run', 'benchrun.session', 'benchrun.procedure', 'benchrun.history', "
        "'cryptography', 'pydantic', 'ruamel'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"
