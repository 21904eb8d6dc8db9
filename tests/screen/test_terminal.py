"""The program in a real terminal: left as it was found, without colours where none are wanted."""

import signal
import subprocess
import sys
import termios

import pytest
from screen_terminal import Terminal


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


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_being_told_to_go_puts_the_terminal_back_and_seals_the_run(terminal, number):
    terminal.see("BEGIN")
    terminal.signal(number)
    assert terminal.wait() == 0
    assert restored(terminal)


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


@pytest.mark.parametrize(
    ("environ", "says"),
    [({"TERM": "dumb"}, "dumb"), ({"TERM": "xterm"}, "terminal")],
)
def test_where_no_screen_can_be_shown_one_line_says_so(tmp_path, benchrun, environ, says):
    done = subprocess.run(
        [benchrun, "--shop", str(tmp_path / "shop")],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        env={"PATH": "/usr/bin", **environ},
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
    assert "terminal" in done.stderr
    assert says in done.stderr or not sys.stdin.isatty()


def test_the_board_of_a_shop_with_nothing_open_comes_up_without_the_rules():
    program = (
        "import sys, benchrun.screen.app; "
        "heavy = {'benchrun.run', 'benchrun.session', 'benchrun.procedure', 'benchrun.history', "
        "'cryptography', 'pydantic', 'pint', 'ruamel'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"
