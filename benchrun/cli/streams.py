"""What is printed fits the terminal: letters that it does not know are spelled in ASCII."""

import codecs
import io
import sys
from typing import Final

from benchrun.text import plain_ascii

_SPELLED: Final = "benchrun-spelled"


def fit_streams(*, ascii_only: bool) -> None:
    """Make standard output print whatever comes, and standard input read whatever comes.

    Python ends with a traceback when a terminal's character set lacks a letter (`°` on an ASCII
    terminal) or when bytes are typed that are no text. Here the letter is spelled (`deg`), and the
    bytes become U+FFFD.

    Where there is no standard input at all, there is one that has ended.

    Args:
        ascii_only: Whether ASCII characters alone may be printed, whatever the terminal knows.
    """
    codecs.register_error(_SPELLED, _spell)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="ascii" if ascii_only else None, errors=_SPELLED)
    if not sys.stdin:
        sys.stdin = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")


def _spell(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text, start, end = error.object, error.start, error.end
    # How a letter is spelled depends on what stands beside it: `20 °C` is `20 deg C`.
    after = text[end : end + 1]
    after = after if after.isascii() else ""
    spelled = plain_ascii(text[start:end] + after).removesuffix(after)
    return spelled.lstrip(" ") if text[start - 1 : start] == " " else spelled, end
