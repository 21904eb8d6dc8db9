"""Pages drawn on paper of any size without a terminal: the screens as they are, never put up."""

import asyncio
import re
from collections.abc import Iterable

from textual._context import active_app

from benchrun.screen.page import Page
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.text_line import Paper


def without_numbers(text: str) -> str:
    """A page without what comes as it may: numbers of entries, and where the shop lies."""
    text = re.sub(r"^ +/\S+$", "  /where/it/lies", text, flags=re.MULTILINE)
    text = re.sub(r"(\d\d:\d\d) +\d+  ", r"\1  N  ", text)
    return re.sub(r"\b(entry|entries) \d+", r"\1 N", text)


class PaperScreen(RunScreen):
    """The run screen on paper of any size instead of a terminal."""

    paper = Paper()
    in_front = True

    def hear(self) -> None:
        """Take what the clocks call for now; nothing rings."""
        calls = self.bench.calls(self.now(), self.run_in_hand())
        self.alarm_book.hear(calls.alarms if calls else (), self.now())

    def paint(self) -> None:
        """Draw the page as a terminal of the paper's size would show it."""
        with self._one_moment():
            self.drawn = self._page(self.paper)
        self._steady.saw(self._does())
        self._called.saw(self._calls())


class DrawnRun:
    """A run on its screen that is on no terminal; keys are pressed, pages are drawn.

    Args:
        bench: The shop and its clock.
        session: The run.
    """

    def __init__(self, bench, session, *, resumed: bool = False) -> None:
        active_app.set(bench.app)
        self.bench = bench
        self.session = session
        self.screen = PaperScreen(bench.app, session, resumed=resumed)
        self.screen.paint()

    def press(self, *keys: str) -> None:
        """Press keys, unhurried."""
        asyncio.run(self._press(keys))

    async def _press(self, keys: Iterable[str]) -> None:
        active_app.set(self.bench.app)
        for key in keys:
            self.bench.clock.wait(600)
            await self.screen.press(key)
            self.screen.hear()
            self.screen.paint()

    def wait(self, ms: int) -> None:
        """Let time pass."""
        self.bench.clock.wait(ms)
        self.session.tick()
        self.screen.hear()
        self.screen.paint()

    def page(self, width: int, height: int) -> Page:
        """The page as it stands, on paper of a size."""
        self.screen.paper = Paper(width, height, self.bench.look.ascii)
        self.screen.paint()
        return self.screen.drawn
