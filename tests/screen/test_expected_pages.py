"""The main pages as they stand in a terminal, kept as plain text and compared.

After a change that is meant, `BENCHRUN_WRITE_PAGES=1 pytest tests/screen/test_expected_pages.py`
writes them anew; look at the difference before keeping it.
"""

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from screen_terminal import WORD, Terminal

HERE = Path(__file__).parent
EXPECTED = HERE / "expected"
PROCEDURE = HERE / "procedures" / "every-state.yaml"
SIZES = [(80, 24), (120, 40), (200, 50)]


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder whose name is always as long, because one page shows it."""
    path = Path(tempfile.mkdtemp(prefix="bench-"))
    yield path
    shutil.rmtree(path)


class Walk:
    """Walks one terminal from page to page and compares each."""

    def __init__(self, terminal: Terminal) -> None:
        self.terminal = terminal
        self.wrong: list[str] = []

    def press(self, keys: str, see: str = "") -> None:
        """Press keys, unhurried, until words stand on the screen."""
        for key in keys:
            self.terminal.pass_time(600)
            self.terminal.type(key)
        if see:
            self.terminal.see(see)

    def wait(self, ms: int, see: str) -> None:
        """Let time pass until words stand on the screen."""
        self.terminal.pass_time(ms)
        self.terminal.see(see)

    def compare(self, name: str) -> None:
        """Compare the page with the one that is kept."""
        width, height = self.terminal.size
        path = EXPECTED / f"{name}-{width}x{height}.txt"
        found = _without_chance(self.terminal.text)
        if os.environ.get("BENCHRUN_WRITE_PAGES"):
            path.write_text(found)
        elif not path.exists() or path.read_text() != found:
            self.wrong.append(f"--- {path.name} should be\n{path.read_text()}--- and is\n{found}")


def _without_chance(text: str) -> str:
    """The page without what chance gave: the folder's name and the run's tag."""
    text = re.sub(r"bench-[a-z0-9_]{8}", "bench-folder00", text)
    return re.sub(r"every-state-[a-z0-9]{4}\b", "every-state-t3st", text)


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_one_run_from_board_to_end(folder, size):
    terminal = Terminal(folder, size=size, start=str(PROCEDURE), own=str(PROCEDURE))
    walk = Walk(terminal)
    try:
        terminal.see("Before you begin")
        walk.compare("before")
        while "The batch" not in terminal.text:
            walk.press("1" if "Who works" in terminal.text else "\n")
        walk.compare("batch")
        walk.press("4\n", "1 of 9")
        _sort(walk)
        _etch(walk)
        _coat(walk)
        _measure(walk)
    finally:
        terminal.close()
    assert not walk.wrong, "\n".join(walk.wrong)


def _sort(walk: Walk) -> None:
    """Look at the parts; one of them is set aside."""
    walk.compare("first-step")
    walk.press("0", "Water thins")
    walk.compare("why")
    walk.press("\n\n", "2 of 9")
    walk.compare("inspect")
    walk.press(".4", "1 of 4 chosen")
    walk.compare("choose")
    walk.press("\n3", "Found: not sure")
    walk.compare("question")
    walk.press("1", "2 of 9")
    walk.press("1", "3 of 9")
    walk.compare("put-in")


def _etch(walk: Walk) -> None:
    """Etch, tend, come late, answer for it."""
    walk.press("\n", "next in 2:00")
    walk.wait(5 * 60_000, "0 silence")
    walk.compare("tending-due")
    walk.press("\n", "tended")
    walk.compare("mid-dwell")
    walk.wait(16 * 60_000, "LATE")
    walk.compare("late")
    walk.press("\n", "Late:")
    walk.compare("out-of-time")
    walk.press("2", "A reason")
    walk.compare("reason")
    walk.press("1", "4 of 9")


def _coat(walk: Walk) -> None:
    """Two coats, with an evening between them."""
    walk.press("\n\n\n", "on the rail")
    walk.press("*", "Write down")
    walk.compare("write")
    walk.press("9", "ON THE CLOCK")
    walk.compare("board")
    walk.wait(130 * 60_000, "0 silence")
    walk.press("\n", "Resumed")
    walk.compare("resume")
    walk.press("\n\n\n", "on the rail")
    walk.wait(121 * 60_000, "0 silence")
    walk.press("\n", "reading 1 of 4")


def _measure(walk: Walk) -> None:
    """Measure, once beyond the limit; work out; sign; close."""
    walk.press("61.990", "over the upper limit")
    walk.compare("reading")
    walk.press("\n", "over the upper limit")
    walk.compare("out-of-limit")
    walk.press("1", "reading 1 of 4")
    for _ in range(12):
        walk.press("61.96\n", "Recorded")
    walk.press("/1", "in all")
    walk.compare("parts")
    walk.press("--\n", "9 of 9")
    walk.compare("hold")
    walk.press("\n", "Who signs?")
    walk.compare("who-signs")
    walk.press("1", "passphrase")
    walk.press(WORD)
    walk.compare("sign")
    walk.press("\n", "closing needs a reason")
    walk.press("+\n", "Before you sign, line 1 of 2")
    walk.compare("close-line")
    walk.press("1", "line 2 of 2")
    walk.press("1", "Why close without it")
    walk.press("3", "done or passed on")
    walk.compare("close")
    walk.press(WORD)
    walk.press("\n", "signed and sealed")
    walk.compare("finished")


HOSTILE = "[b]x[/] [@click=app.quit]y[/] a[/]b"


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_forty_parts_with_long_titles_and_markup_in_them(folder, size):
    path = folder / "hostile.yaml"
    text = PROCEDURE.read_text()
    text = text.replace("title: Small axle parts", f'title: "Small {HOSTILE}, and a title that is')
    text = text.replace("hose trailer\nrev", 'long enough to be cut"\nrev')
    path.write_text(text.replace("Wipe every part dry.", f"Wipe every part dry {HOSTILE}."))
    terminal = Terminal(folder, size=size, start=str(path), own=str(path))
    walk = Walk(terminal)
    try:
        terminal.see("Before you begin")
        while "The batch" not in terminal.text:
            walk.press("1" if "Who works" in terminal.text else "\n")
        walk.press("40\n", "1 of 9")
        walk.compare("forty-first-step")
        walk.press(".0740", "2 of 40 chosen")
        walk.compare("forty-choose")
        walk.press("\n\n", "arm 1–6/8–39")
        walk.compare("forty-two-ahead")
        walk.press("/1", "40 in all")
        walk.compare("forty-parts")
    finally:
        terminal.close()
    assert not walk.wrong, "\n".join(walk.wrong)
