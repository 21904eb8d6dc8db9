"""Speaking and listening line by line."""

import getpass
import select
import sys
from collections.abc import Sequence
from typing import TextIO

from benchrun.text import plain_ascii, shown


class Gone(Exception):
    """Nobody answers any more: the input has ended."""


class Talk:
    """Prints lines and reads answers.

    Args:
        into: Where answers come from.
        out: Where lines go.
        ascii_only: Whether only ASCII characters may be printed.
    """

    def __init__(
        self, into: TextIO | None = None, out: TextIO | None = None, *, ascii_only: bool = False
    ) -> None:
        self._into = into or sys.stdin
        self._out = out or sys.stdout
        self._ascii = ascii_only or not _can_print(self._out, "°–µ")

    def say(self, text: str = "") -> None:
        """Print one line; whatever a terminal could obey is taken out of it."""
        line = shown(text)
        print(plain_ascii(line) if self._ascii else line, file=self._out, flush=True)

    def ask(self, prompt: str) -> str:
        """Print a prompt and read a line.

        Raises:
            Gone: The input has ended.
        """
        line = shown(prompt)
        print(plain_ascii(line) if self._ascii else line, end=" ", file=self._out, flush=True)
        answer = self._into.readline()
        if not answer:
            raise Gone
        if not self._into.isatty():
            self.say(answer.strip())
        return answer.strip()

    def heard(self, seconds: float) -> str | None:
        """Wait for a line, for so long at most; None when none came.

        Raises:
            Gone: The input has ended.
        """
        try:
            if not select.select([self._into], [], [], seconds)[0]:
                return None
        except (OSError, ValueError):
            pass  # what is read from is no file of the system: it never keeps one waiting
        answer = self._into.readline()
        if not answer:
            raise Gone
        return answer.strip()

    def ask_secret(self, prompt: str) -> str:
        """Read a passphrase; it is not shown where that can be helped."""
        if self._into is sys.stdin and sys.stdin.isatty():
            try:
                return getpass.getpass(shown(prompt) + " ")
            except EOFError:
                raise Gone from None
        print(shown(prompt), file=self._out, flush=True)
        answer = self._into.readline()
        if not answer:
            raise Gone
        return answer.rstrip("\n")

    def choose(self, prompt: str, choices: Sequence[str]) -> int | None:
        """Print numbered choices and read one; None when nothing is chosen."""
        for number, text in enumerate(choices, 1):
            self.say(f"  {number} {text}")
        answer = self.ask(prompt)
        if answer.isascii() and answer.isdigit() and 1 <= int(answer) <= len(choices):
            return int(answer) - 1
        if answer:
            self.say(f"Type a number from 1 to {len(choices)}, or only Enter to leave it.")
        return None


def _can_print(out: TextIO, text: str) -> bool:
    try:
        text.encode(getattr(out, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
