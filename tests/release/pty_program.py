"""The installed program in a terminal: what it draws, what its exit code is, how it leaves both."""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import termios
import time

import pyte
from patience import PATIENCE_S
from quick_screen import QuickScreen

_PLACED = re.compile(rb"\x1b\[(\d+);(\d+)H")
_HIDDEN = {"LINES", "COLUMNS", "NO_COLOR", "TMUX", "STY"}


class Program:
    """The program under a pty of 80 by 24."""

    def __init__(self, *command, **environ):
        self.fd, self.other = pty.openpty()
        fcntl.ioctl(self.other, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.before = termios.tcgetattr(self.other)
        known = {key: value for key, value in os.environ.items() if key not in _HIDDEN}
        given = {"TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none", **environ}
        env = known | {key: value for key, value in given.items() if value is not None}
        for key, value in given.items():
            if value is None:
                env.pop(key, None)
        # A shell that leads a session gets the terminal that it opens as its controlling one.
        shell = ["sh", "-c", 'exec "$@" <"$0" >"$0" 2>&1', os.ttyname(self.other)]
        words = [str(word) for word in command]
        self.child = subprocess.Popen([*shell, *words], env=env, start_new_session=True)
        self.screen = QuickScreen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""

    def read(self, wait_s=0.05):
        if not select.select([self.fd], [], [], wait_s)[0]:
            return False
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            return False
        self.raw += data
        self.stream.feed(data.replace(b"\x1b[>1u", b"").replace(b"\x1b[<u", b""))
        return bool(data)

    @property
    def text(self):
        return "\n".join(row.rstrip() for row in self.screen.display)

    def see(self, words, wait_s=PATIENCE_S, *, standing=False):
        """Wait for words, also for such as are gone again unless they have to be `standing`."""
        ends = time.monotonic() + wait_s
        while words not in self.text and (standing or words.encode() not in self.raw):
            assert time.monotonic() < ends, f"{words!r} did not come:\n{self.text}"
            assert self.read() or self.child.poll() is None, f"it ended:\n{self.text}"
        while self.read(0.2):
            pass

    def type(self, keys):
        os.write(self.fd, keys.encode())

    def ended(self, wait_s=PATIENCE_S):
        """Its exit code, as a shell gives it."""
        ends = time.monotonic() + wait_s
        while self.child.poll() is None:
            self.read()
            assert time.monotonic() < ends, f"it does not end:\n{self.text}"
        while self.read():
            pass
        code = self.child.returncode
        return code if code >= 0 else 128 - code

    def terminal_is_as_it_was(self):
        """Whether the modes are those from before, and the screen is given back."""
        modes = termios.tcgetattr(self.other) == self.before
        taken, given = self.raw.rfind(b"\x1b[?1049h"), self.raw.rfind(b"\x1b[?1049l")
        hidden, shown = self.raw.rfind(b"\x1b[?25l"), self.raw.rfind(b"\x1b[?25h")
        return modes and taken <= given and hidden <= shown

    def farthest(self):
        """The farthest row and column at which anything was drawn."""
        places = [(int(row), int(column)) for row, column in _PLACED.findall(self.raw)]
        return max(row for row, _ in places), max(column for _, column in places)

    def close(self):
        if self.child.poll() is None:
            self.child.kill()
            self.child.wait()
        for fd in (self.fd, self.other):
            os.close(fd)
