"""Reads the bytes of a file that a person names, whatever it turns out to be."""

import os
import stat
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.text import shown

MOST_BYTES: Final = 512 * 1024


def approval_path(procedure: Path) -> Path:
    """Where the approval of a procedure's file lies: beside it."""
    return procedure.with_suffix(".approval")


def read_approval_beside(procedure: Path) -> bytes | None:
    """The bytes of the approval beside a procedure's file; None where there is none.

    Raises:
        BenchrunError: It cannot be opened.
    """
    path = approval_path(procedure)
    return read_file(path) if os.path.lexists(path) else None


def read_file(path: str | os.PathLike[str]) -> bytes:
    """The bytes of an ordinary file of a sensible size.

    Raises:
        BenchrunError: It is no such file, or cannot be opened.
    """
    name = shown(os.fspath(path))
    try:
        # Without waiting: opening a pipe would stand until somebody writes to it.
        number = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "the name holds a NUL"
        raise BenchrunError(f"{name}: cannot be opened: {reason}") from None
    try:
        state = os.fstat(number)
        if not stat.S_ISREG(state.st_mode):
            raise BenchrunError(f"{name}: is not an ordinary file: name a procedure's .yaml file")
        # Room for the most that is read, to be given back, takes ten times as long as the reading.
        content = os.read(number, min(state.st_size, MOST_BYTES) + 1)
        while len(content) <= MOST_BYTES and (more := os.read(number, 4096)):
            content += more
    except OSError as error:
        raise BenchrunError(f"{name}: cannot be read: {error.strerror}") from None
    finally:
        os.close(number)
    if len(content) > MOST_BYTES:
        raise BenchrunError(f"{name}: is larger than {MOST_BYTES // 1024} KiB: split it")
    return content
