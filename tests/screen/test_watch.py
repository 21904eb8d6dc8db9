"""The watch in a second terminal: every clock large, in order; it rings, and writes nothing."""

import datetime as dt
import os
import pty
import select
import signal
import struct
import subprocess
import termios
import time
from fcntl import ioctl

import pyte
import pytest
from patience import PATIENCE_S
from quick_screen import QuickScreen

from benchrun.board import look
from benchrun.record.clock import SystemClock, VirtualClock
from benchrun.rehearse.sample import alive
from benchrun.screen.text_line import Paper
from benchrun.screen.theme import Appearance
from benchrun.screen.watch import watch_page

UTC = Appearance(zone=dt.UTC)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return alive(tmp_path_factory.mktemp("watch") / "shop", SystemClock().now())


def page(shop, width=80, height=24, *, ascii_only=False, wait_ms=0):
    now = SystemClock().now()
    board = look(shop, now)
    paper = Paper(width, height, ascii_only)
    return board, [row.text for row in watch_page(board, now, paper, shop.title, UTC)]


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60), (40, 12)])
def test_the_page_fits_the_terminal_and_begins_with_the_most_urgent(shop, size):
    board, rows = page(shop, *size)
    assert len(rows) == size[1]
    assert all(len(row) <= size[0] for row in rows)
    first = board.clocks_at(SystemClock().now())[0][2]
    text = "\n".join(rows)
    assert all(part.split("-")[0] in text for part in first.parts)


def test_in_ascii_nothing_else_is_drawn(shop):
    _, rows = page(shop, ascii_only=True)
    assert all(row.isascii() for row in rows)


def test_every_clock_of_the_shop_has_its_place_even_if_they_take_turns(shop):
    board, _ = page(shop)
    now = SystemClock().now()
    clocks = board.clocks_at(now)
    assert len(clocks) > 6
    seen = set()
    virtual = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=now.up_ms)
    for turn in range(12):
        moment = virtual.now()
        moment = type(now)(now.utc_ms, now.up_ms + turn * 5_000, now.boot, now.sync)
        text = "\n".join(
            row.text for row in watch_page(board, moment, Paper(80, 24), shop.title, UTC)
        )
        seen |= {one[2].key for one in clocks if f"step {one[2].step.number}" in text}
    windows = {one[2].key for one in clocks if one[2].kind.value == "begin"}
    assert windows <= seen


def files(shop):
    return {
        str(path): (path.stat().st_size, path.stat().st_mtime_ns)
        for path in sorted(shop.path.rglob("*"))
    }


class Child:
    """`benchrun board --watch` in a terminal of its own."""

    def __init__(self, shop, benchrun, *options):
        self.fd, other = pty.openpty()
        ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environ = {**os.environ, "TERM": "xterm-256color", "BENCHRUN_SCREEN": "/dev/null"}
        self.modes = termios.tcgetattr(other)
        self.child = subprocess.Popen(
            [benchrun, "--shop", str(shop.path), *options, "board", "--watch"],
            stdin=other,
            stdout=other,
            stderr=other,
            env=environ,
            start_new_session=True,
        )
        self.other = other
        self.screen = QuickScreen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""

    def until(self, holds, wait_s=PATIENCE_S):
        ends = time.monotonic() + wait_s
        while time.monotonic() < ends:
            if select.select([self.fd], [], [], 0.1)[0]:
                data = os.read(self.fd, 65536)
                self.raw += data
                self.stream.feed(data)
            if holds():
                return
        raise AssertionError("\n".join(self.screen.display))

    @property
    def text(self):
        return "\n".join(self.screen.display)

    def end(self, number):
        self.child.send_signal(number)
        code = self.child.wait(PATIENCE_S)
        while select.select([self.fd], [], [], 0.2)[0]:
            self.raw += os.read(self.fd, 65536)
        same = termios.tcgetattr(self.other) == self.modes
        os.close(self.other)
        os.close(self.fd)
        return code, same


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_it_stays_rings_writes_nothing_and_ends_with_the_code_of_its_signal(
    shop, benchrun, number, code
):
    before = files(shop)
    child = Child(shop, benchrun, "--ascii")
    child.until(lambda: "to go" in child.text or "LATE" in child.text or "left" in child.text)
    child.until(lambda: b"\a" in child.raw)
    os.write(child.fd, b"q\r1")  # no key means anything
    first = child.raw.count(b"\x1b[")
    child.until(lambda: child.raw.count(b"\x1b[") > first)  # the clocks go on
    assert child.child.poll() is None
    assert child.end(number) == (code, True)
    assert child.raw.endswith(b"\x1b[?1049l")
    assert files(shop) == before


def test_without_a_terminal_it_says_what_would_do(shop, benchrun):
    told = subprocess.run(
        [benchrun, "--shop", str(shop.path), "board", "--watch"], capture_output=True, text=True
    )
    assert told.returncode != 0
    assert "needs a terminal" in told.stderr
    assert "Traceback" not in told.stderr
