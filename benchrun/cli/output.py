"""Output that is no line for a person: bytes for a pipe, and how far a long work has come."""

import argparse
import sys
import time
from collections.abc import Callable

from benchrun.text import shown


def put_out(content: bytes) -> None:
    """Print a file's bytes as they are, whatever letters the terminal has."""
    sys.stdout.flush()
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None:
        sys.stdout.write(content.decode("utf-8", "replace"))
    else:
        buffer.write(content)
        buffer.flush()


def progress_on_terminal(args: argparse.Namespace, name: str) -> Callable[[int, int], None] | None:
    """Say on a terminal how far a check has come, once it takes longer than a second."""
    if args.json or not sys.stderr.isatty():
        return None
    begun, last = time.monotonic(), [-1]

    def say(done: int, whole: int) -> None:
        percent = 100 * done // max(1, whole)
        if percent != last[0] and time.monotonic() - begun > 1:
            last[0] = percent
            end = "\r\x1b[K" if percent == 100 else "\r"
            print(f"{shown(name, 60)}: {percent} % checked", end=end, file=sys.stderr, flush=True)

    return say
