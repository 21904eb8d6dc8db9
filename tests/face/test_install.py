"""The README's commands, as printed, in a folder of their own."""

import re
import shutil
import subprocess
import time
import uuid
from pathlib import Path

import pytest
from patience import PATIENCE_S

ROOT = Path(__file__).resolve().parent.parent.parent
LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv", "__pycache__", ".*_cache", ".hypothesis", "*.egg-info", "build", "dist"
)


def printed(word):
    """The command of the README that holds a word."""
    readme = (ROOT / "README.md").read_text()
    (found,) = [
        line.strip() for line in re.findall(r"^ {4}(.+)$", readme, re.MULTILINE) if word in line
    ]
    return found


class Window:
    """A window of a tmux server of its own."""

    def __init__(self, folder: Path, command: str) -> None:
        self._server = ["tmux", "-L", f"benchrun-{uuid.uuid4().hex[:8]}", "-f", "/dev/null"]
        size = ["-x", "80", "-y", "24"]
        self._run("new-session", "-d", *size, "-c", str(folder), f"{command}; sleep 600")

    def _run(self, *args: str) -> str:
        done = subprocess.run([*self._server, *args], capture_output=True, text=True, check=True)
        return done.stdout

    def text(self) -> str:
        return self._run("capture-pane", "-p")

    def press(self, *keys: str) -> None:
        self._run("send-keys", *keys)

    def see(self, words: str, wait_s: float = PATIENCE_S) -> str:
        ends = time.monotonic() + wait_s
        while time.monotonic() < ends:
            text = self.text()
            if words in text:
                return text
            time.sleep(0.1)
        raise AssertionError(f"{words!r} did not come:\n{self.text()}")

    def close(self) -> None:
        subprocess.run([*self._server, "kill-server"], capture_output=True)


@pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux")
def test_the_main_command_reaches_a_usable_board_in_a_terminal(tmp_path):
    folder = tmp_path / "fresh"
    shutil.copytree(ROOT, folder, ignore=LEFT_OUT)
    window = Window(folder, printed("benchrun try"))
    try:
        window.see("BEGIN", 2 * PATIENCE_S)  # it is installed first
        board = window.see("digit choose")
        assert max(len(line) for line in board.splitlines()) <= 80
        window.press("1")
        window.see("Resumed: last entry")
    finally:
        window.close()
    assert (folder / ".venv" / "bin" / "benchrun").exists()
    inside = next((folder / ".venv").glob("lib/python3*/site-packages/benchrun/shipped"))
    assert (inside / "procedures" / "hub-bearing-removal.yaml").is_file()
    assert (inside / "samples" / "answers" / "hub-bearing-removal.yaml").is_file()


def test_the_test_command_is_the_one_that_the_checks_run():
    command = printed("pytest")
    assert command == (
        "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/pytest"
    )
    checks = (ROOT / ".ci" / "run").read_text()
    assert "install --quiet -e '.[test]'" in checks
    assert re.search(r"^pytest$", checks, re.MULTILINE)
