"""The installed program in a pty of 80×24 by the machine's own clocks, its moments kept as text."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Sequence
from pathlib import Path

import pyte
from patience import PATIENCE_S
from quick_screen import QuickScreen

MOMENTS = Path(__file__).with_name("moments")
_TIMES = (
    (re.compile(r"\b\d\d:\d\d\b"), "hh:mm"),
    (re.compile(r"\+?\b\d+:\d\d\b"), "m:ss"),
    (re.compile(r"\b\d+ s\b(?! to \d| at most| past|\))"), "n s"),
    (re.compile(r"\b\d+ s(?= past)"), "n s"),
)


def timeless(text: str) -> str:
    """A page without what the second gave: figures, clock times, the pointer on its scale."""
    rows = []
    for row in text.splitlines():
        said = re.sub(r"[▀▄█]{2}[▀▄█ ]*", "[figures]  ", row)
        if "├" in said or re.search(r"▼[─━]", said):
            said = re.sub(r"[├─━┃▼]{8,}", "[scale]", said)
        for pattern, words in _TIMES:
            said = pattern.sub(words, said)
        rows.append(said.rstrip())
    merged = [
        row for at, row in enumerate(rows) if not (_figures(row) and at and _only(rows[at - 1]))
    ]
    return "\n".join(merged).rstrip() + "\n"


def _figures(row: str) -> bool:
    return "[figures]" in row and not row.replace("[figures]", "").strip()


def _only(row: str) -> bool:
    return "[figures]" in row


class RealTerminal:
    """The program in a pty; what it draws is read by pyte, its bells are counted."""

    def __init__(self, command: Sequence[str], environ: dict[str, str]) -> None:
        self.command = list(command)
        self.environ = environ
        self.keys = 0
        self.bells = 0
        self._start()

    def _start(self) -> None:
        self.screen = QuickScreen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.said = b""
        self.fd, other = pty.openpty()
        fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        env = {**os.environ, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none"}
        env = {k: v for k, v in env.items() if k not in ("LINES", "COLUMNS")} | self.environ
        self.child = subprocess.Popen(
            self.command, stdin=other, stdout=other, stderr=other, env=env, start_new_session=True
        )
        os.close(other)

    @property
    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(row.rstrip() for row in self.screen.display) + "\n"

    def read(self, wait_s: float) -> None:
        """Take in what was drawn, and count the bells."""
        if not select.select([self.fd], [], [], wait_s)[0]:
            return
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            return
        self.said += data
        # A bell that ends a title or another private string is none.
        self.bells += re.sub(rb"\x1b\][^\x07]*\x07", b"", data).count(b"\x07")
        self.stream.feed(data.replace(b"\x1b[>1u", b"").replace(b"\x1b[<u", b""))

    def see(self, words: str, most_s: float = PATIENCE_S) -> str:
        """Wait until words stand on the screen."""
        until = time.monotonic() + most_s
        while words not in self.text:
            assert time.monotonic() < until, f"{words!r} did not come:\n{self.text}"
            self.read(0.05)
        return self.text

    def settled(self) -> str:
        """The page when nothing was drawn for a while; each second draws a little."""
        until = time.monotonic() + 3
        while time.monotonic() < until:
            before = len(self.said)
            self.read(0.3)
            if len(self.said) == before:
                break
        return self.text

    def hear(self, words: str, most_s: float = PATIENCE_S) -> None:
        """Wait until words were printed, whatever stands on the screen now."""
        until = time.monotonic() + most_s
        while words.encode() not in self.said.replace(b"\r\n", b"\n"):
            assert time.monotonic() < until, f"{words!r} was not said:\n{self.said.decode()}"
            self.read(0.05)

    def press(self, keys: str) -> None:
        """Press keys, unhurried: Enter is deaf for half a second after its meaning changed."""
        for key in keys:
            until = time.monotonic() + 0.65
            while time.monotonic() < until:
                self.read(0.05)
            os.write(self.fd, key.replace("\n", "\r").encode())
            self.keys += 1

    def kill_and_start(self) -> None:
        """Kill the program as a power cut does, and start it again."""
        os.killpg(self.child.pid, signal.SIGKILL)
        self.child.wait()
        os.close(self.fd)
        self._start()

    def close(self) -> None:
        """End the program."""
        if self.child.poll() is None:
            os.killpg(self.child.pid, signal.SIGKILL)
            self.child.wait()
        os.close(self.fd)


class Moments:
    """Compares moments with those that are kept; `BENCHRUN_WRITE_PAGES=1` writes them anew."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.wrong: list[str] = []

    def keep(self, moment: str, terminal: RealTerminal) -> None:
        """Compare one moment, once the page is drawn whole."""
        text = terminal.settled()
        path = MOMENTS / f"{self.name}-{moment}.txt"
        found = timeless(text)
        if os.environ.get("BENCHRUN_WRITE_PAGES"):
            path.write_text(found)
        elif not path.exists() or path.read_text() != found:
            kept = path.read_text() if path.exists() else "nothing\n"
            self.wrong.append(f"--- {path.name} should be\n{kept}--- and is\n{found}")

    def check(self) -> None:
        """Tell every moment that is otherwise."""
        assert not self.wrong, "\n".join(self.wrong)
