"""What the screen sends, and how soon a key is answered, on a line of 9,600 baud."""

import os
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_terminal import Terminal
from shop_generator import GeneratedShop

from benchrun.moment import Moment

pytestmark = [pytest.mark.bench, pytest.mark.timeout(900)]
BYTES_A_S = 960
"""9,600 baud, ten bits a byte."""


class LineTerminal(Terminal):
    """A terminal at the end of a line, in real time, that answers as terminals do.

    Args:
        folder: Where the shop lies.
        now: The moment at which it begins.
        rate: Bytes a second that come over; 0 for all at once.
    """

    def __init__(self, folder: Path, now: Moment, rate: int) -> None:
        self.rate, self.begun, self.came, self.last = rate, time.monotonic(), 0, 0.0
        super().__init__(folder, answers="yes")
        self.wall, self.up = now.utc_ms, now.up_ms
        self.pass_time(0)

    def _spawn(self) -> None:
        super()._spawn()
        self.begun = self.last = time.monotonic()

    def tick(self) -> None:
        """Take in what came over by now, and let the program's clock go on with this one."""
        now = time.monotonic()
        self.pass_time(int((now - self.last) * 1000))
        self.last += int((now - self.last) * 1000) / 1000
        room = int((now - self.begun) * self.rate) - self.came if self.rate else 65536
        if room <= 0:
            self.begun, self.came = (self.begun, self.came) if self.rate else (now, 0)
            time.sleep(0.002)
            return
        before = len(self.raw)
        self.read(0.01, min(room, 65536))
        self.came += len(self.raw) - before
        if len(self.raw) == before and self.rate:
            self.begun, self.came = time.monotonic(), 0  # what was not used is gone

    def until(self, holds, what: str = "", wait_s: float = 200.0) -> float:
        began = time.monotonic()
        while not holds(self.text):
            self.tick()
            assert time.monotonic() - began < wait_s, f"{what} did not come:\n{self.text}"
        return time.monotonic() - began

    def watch(self, seconds: float) -> float:
        """Bytes a second over some seconds."""
        before, began = len(self.raw), time.monotonic()
        while time.monotonic() - began < seconds:
            self.tick()
        return (len(self.raw) - before) / (time.monotonic() - began)


@pytest.fixture(scope="module")
def twelve(tmp_path_factory):
    shop = GeneratedShop(tmp_path_factory.mktemp("twelve"))
    shop.open_runs(12)
    return shop


@pytest.fixture
def state(twelve, monkeypatch):
    monkeypatch.setenv("BENCHRUN_STATE", str(twelve.path.parent / "state"))


def test_a_key_at_9600_baud_on_a_board_of_twelve_runs(twelve, state):
    for rate in (0, BYTES_A_S):
        terminal = LineTerminal(twelve.path.parent, twelve.clock.now(), rate)
        try:
            terminal.until(lambda text: "ON THE CLOCK" in text and "being read" not in text)
            terminal.watch(6)
            ticking = terminal.watch(10)
            took = []
            for _ in range(3):
                os.write(terminal.fd, b"/")
                took.append(terminal.until(lambda text: "Look up" in text, "the menu"))
                terminal.watch(1)
                os.write(terminal.fd, b"\x1b")
                terminal.until(lambda text: "ON THE CLOCK" in text, "the board")
                terminal.watch(2)
        finally:
            terminal.close()
        print(
            f"\nbench line-{rate or 'free'} key={sorted(took)[1]:.2f} s ticking={ticking:.0f} B/s "
            f"(at most 2.5 s, 300 B/s)"
        )
