"""A terminal for tests: the program under a pty, what it draws read by pyte."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path

import pyte
from patience import PATIENCE_S
from quick_screen import QuickScreen

from benchrun.moment import utc_ms
from benchrun.record.clock import VirtualClock
from benchrun.signing_keys import enrol, new_shop

CHILD = Path(__file__).with_name("screen_child.py")
BEGINS = "2026-11-25T14:02:00.000Z"
WORD = "1234"
ASK = b"\x1b[6n"
_HEARD = b"\x1b]7700;"


class Terminal:
    """The program in a terminal of a given size."""

    def __init__(
        self,
        folder: Path,
        *,
        size: tuple[int, int] = (80, 24),
        answers: str = "",
        **options: str,
    ) -> None:
        self.answers, self.asked = bool(answers), 0
        self.wall, self.up = utc_ms(BEGINS), 3_600_000
        self.clock = folder / "clock"
        self.path = folder / "shop"
        if not self.path.exists():
            now = VirtualClock(BEGINS).now()
            shop = new_shop(self.path, "Ropewalk shop", now)
            for name in ("Ada Brook", "Bea Mill"):
                enrol(shop, name, now, passphrase=WORD)
        self.pass_time(0)
        self.screen = QuickScreen(*size)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""
        self.size = size
        self.typed = 0
        self.options = options
        self._spawn()

    def _spawn(self) -> None:
        environ = {**os.environ, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none"}
        for told in ("LINES", "COLUMNS"):  # the size is the terminal's, not the tester's
            environ.pop(told, None)
        environ.update({k: v for k, v in self.options.items() if k.isupper()})
        args = [f"{k}={v}" for k, v in self.options.items() if not k.isupper()]
        self.fd, other = pty.openpty()
        rows = struct.pack("HHHH", self.size[1], self.size[0], 0, 0)
        fcntl.ioctl(other, termios.TIOCSWINSZ, rows)
        self.modes = termios.tcgetattr(other)
        command = [sys.executable, str(CHILD), str(self.path), str(self.clock), *args]
        self.child = subprocess.Popen(
            command, stdin=other, stdout=other, stderr=other, env=environ, start_new_session=True
        )
        self.other = other

    def pass_time(self, ms: int) -> None:
        """Let the program's clock go on."""
        self.wall += ms
        self.up += ms
        new = self.clock.with_suffix(".new")
        new.write_text(f"{self.wall} {self.up}")
        new.replace(self.clock)

    @property
    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(row.rstrip() for row in self.screen.display) + "\n"

    def read(self, wait_s: float = 0.02, most: int = 65536) -> bool:
        """Take in what the program has drawn; whether there was anything."""
        ready, _, _ = select.select([self.fd], [], [], wait_s)
        if not ready:
            return False
        try:
            data = os.read(self.fd, most)
        except OSError:
            return False
        self.raw += data
        if self.answers:
            for _ in range(data.count(ASK)):
                self.asked += 1
                os.write(self.fd, b"\x1b[1;1R")
        # pyte knows neither of these private sequences and would print their end.
        self.stream.feed(data.replace(b"\x1b[>1u", b"").replace(b"\x1b[<u", b""))
        return bool(data)

    def until(
        self, holds: Callable[[str], bool], what: str = "", wait_s: float = PATIENCE_S
    ) -> str:
        """Wait until something stands on the screen."""
        ends = time.monotonic() + wait_s
        while time.monotonic() < ends:
            if holds(self.text):
                while self.read(0.03):
                    pass
                if holds(self.text):
                    return self.text
            self.read(0.05)
        raise AssertionError(f"{what or 'it'} did not come; on the screen:\n{self.text}")

    def see(self, words: str) -> str:
        """Wait until words stand on the screen."""
        return self.until(lambda text: words in text, repr(words))

    def type(self, text: str) -> None:
        """Type on the keypad, and wait until the program has dealt with every key."""
        self.typed += len(text)
        os.write(self.fd, text.replace("\n", "\r").encode())
        ends = time.monotonic() + PATIENCE_S
        while self.heard() < self.typed and self.child.poll() is None:
            self.read(0.01)
            assert time.monotonic() < ends, f"{text!r} was not dealt with:\n{self.text}"

    def send(self, raw: bytes) -> None:
        """Send bytes as a terminal does for a key of its own."""
        os.write(self.fd, raw)

    def heard(self) -> int:
        """How many keys the program has dealt with, and drawn what came of them."""
        at = self.raw.rfind(_HEARD)
        end = self.raw.find(b"\x07", at)
        return int(self.raw[at + len(_HEARD) : end]) if 0 <= at < end else 0

    def signal(self, number: int) -> None:
        """Send the program a signal."""
        self.child.send_signal(number)

    def wait(self, wait_s: float = PATIENCE_S) -> int:
        """Wait for the program's end and say how it ended."""
        ends = time.monotonic() + wait_s
        while self.child.poll() is None and time.monotonic() < ends:
            self.read(0.02)
        while self.read(0.02):
            pass
        assert self.child.returncode is not None, f"it does not end:\n{self.text}"
        return self.child.returncode

    def close(self) -> None:
        """End the program if it still runs."""
        if self.child.poll() is None:
            self.child.kill()
            self.child.wait()
        self.hang_up()

    def hang_up(self) -> None:
        """Take the terminal away, as when its window is closed or the line drops."""
        for fd in (self.fd, self.other):
            if fd >= 0:
                os.close(fd)
        self.fd = self.other = -1
