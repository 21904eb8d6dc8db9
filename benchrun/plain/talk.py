"""Speaking and listening line by line."""

import getpass
import math
import os
import select
import sys
import time
from collections.abc import Callable, Sequence
from typing import Final, TextIO

from benchrun.dialogue.first_aid import ASKED
from benchrun.plain.hearing import LISTENS_S
from benchrun.plain.spoken_words import spoken
from benchrun.text import heard_s, plain_ascii, shown

_DEAF_S: Final = 1.0
"""A signal that comes just before a wait, or to another thread, is heard when the wait ends."""

Speak = Callable[[], tuple[Sequence[str], float | None]]
"""Gives what is to be said now, and in how many seconds to ask again; None: never."""


class Gone(Exception):
    """Nobody answers any more: the input has ended."""


def nothing() -> tuple[Sequence[str], float | None]:
    """Nothing is to be said meanwhile."""
    return (), None


class _Lines:
    """Lines read from a file of the system, so that one may wait for the next a while only.

    What a file object of Python has read ahead would not show in `select`, so the bytes are read
    and held here. What is no file of the system never keeps one waiting.
    """

    def __init__(self, into: TextIO) -> None:
        self._into = into
        self._held = b""
        self._encoding = getattr(into, "encoding", None) or "utf-8"
        self.taken = False
        try:
            self._fd: int | None = into.fileno()
        except (OSError, ValueError):
            self._fd = None

    def next(self, seconds: float | None = None) -> str | None:
        """The next line; None when none came within so many seconds.

        Raises:
            Gone: The input has ended.
        """
        if self._fd is None:
            return self._ended(self._into.readline())
        until = math.inf if seconds is None else time.monotonic() + seconds
        while b"\n" not in self._held:
            left = max(0.0, until - time.monotonic())
            if not select.select([self._fd], [], [], min(left, _DEAF_S))[0]:
                if left <= _DEAF_S:
                    return None
                continue
            data = os.read(self._fd, 65536)
            if not data:
                line, self._held = self._held, b""
                return self._ended(line.decode(self._encoding, errors="replace"))
            self._held += data
        self.taken = True
        first, _, self._held = self._held.partition(b"\n")
        return first.decode(self._encoding, errors="replace").removesuffix("\r")

    def _ended(self, line: str) -> str:
        if not line:
            raise Gone
        self.taken = True
        return line


class Talk:
    """Prints lines and reads answers.

    Args:
        into: Where answers come from.
        out: Where lines go.
        ascii_only: Whether only ASCII characters may be printed.
        listens_s: For how many seconds one listens before a question; what takes longer is said
            piece by piece, with an Enter between.

    Attributes:
        speak: What is to be said while a question waits for its answer.
        first_aid: Says first aid, wherever it is asked for.
        said_s: About how many seconds it took to hear what was said since the last answer.
    """

    def __init__(
        self,
        into: TextIO | None = None,
        out: TextIO | None = None,
        *,
        ascii_only: bool = False,
        listens_s: float = LISTENS_S,
    ) -> None:
        self._into = into or sys.stdin
        self._lines = _Lines(self._into)
        self._out = out or sys.stdout
        self._ascii = ascii_only or not _can_print(self._out, "°–µ")
        self.first_aid: Callable[[], None] = lambda: None
        self.speak: Speak = nothing
        self.said_s = 0.0
        self.listens_s = listens_s

    @property
    def answered(self) -> bool:
        """Whether any line was read."""
        return self._lines.taken

    def line(self, text: str) -> str:
        """A line as it is printed: in words, without whatever a terminal could obey."""
        line = spoken(shown(text))
        return plain_ascii(line) if self._ascii else line

    def say(self, text: str = "") -> None:
        """Print one line."""
        line = self.line(text)
        self.said_s += heard_s([line])
        print(line, file=self._out, flush=True)

    def ask(self, prompt: str) -> str:
        """Print a prompt and read a line; what `speak` gives is said meanwhile.

        Raises:
            Gone: The input has ended.
        """
        return self.ask_while(prompt, self.speak)

    def ask_while(self, prompt: str, speak: Speak) -> str:
        """Print a prompt and read a line; what is to be said meanwhile is said, and rung for.

        Args:
            prompt: The prompt; it is printed again after anything that was said.
            speak: Gives what is to be said now, and in how many seconds to ask again; None: never.

        Raises:
            Gone: The input has ended.
        """
        line = self.line(prompt)
        answer, asked = None, False
        while answer is None:
            said, wait = speak()
            if said and asked:  # nobody typed: it speaks by itself
                print("\a" if self._out.isatty() else "", file=self._out)
            for one in said:
                self.say(one)
            if said or not asked:
                print(line, end=" ", file=self._out, flush=True)
            asked = True
            answer = self._lines.next(wait)
            if answer is not None and answer.strip() == ASKED:
                self.first_aid()
                answer, asked = None, False
        if not self._into.isatty():
            print(shown(answer.strip()), file=self._out, flush=True)
        self.said_s = 0.0
        return answer.strip()

    def heard(self, seconds: float) -> str | None:
        """Wait for a line, for so long at most; None when none came.

        Raises:
            Gone: The input has ended.
        """
        answer = self._lines.next(seconds)
        if answer is not None and answer.strip() == ASKED:
            self.first_aid()
            return None
        return None if answer is None else answer.strip()

    def ask_secret(self, prompt: str) -> str:
        """Read a passphrase; it is not shown where that can be helped."""
        if self._into is sys.stdin and sys.stdin.isatty():
            try:
                return getpass.getpass(self.line(prompt) + " ")
            except EOFError:
                raise Gone from None
            finally:
                self.said_s = 0.0
        print(self.line(prompt), file=self._out, flush=True)
        self.said_s = 0.0
        return (self._lines.next() or "").rstrip("\n")


def _can_print(out: TextIO, text: str) -> bool:
    try:
        text.encode(getattr(out, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
