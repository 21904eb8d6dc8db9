"""Folders for shops that are thrown away, keys and all, also those that a kill left behind."""

import fcntl
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

_EMPTY_S: Final = 60.0  # one that is empty may just be made, by a program that will lock it


@contextmanager
def throwaway(kind: str) -> Iterator[Path]:
    """A folder that nobody else can read, taken away when it is left.

    Before it is made, those of that kind are taken away whose program was killed: a living one
    holds a lock on its folder.

    Args:
        kind: What it is for, one word; it stands in its name.
    """
    prefix = f"benchrun-{kind}-"
    _sweep(Path(tempfile.gettempdir()), prefix)
    with tempfile.TemporaryDirectory(prefix=prefix) as made:
        lock = _opened(Path(made))
        try:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield Path(made)
        finally:
            os.close(lock)


def _opened(folder: Path) -> int:
    flags = os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW | getattr(os, "O_DIRECTORY", 0)
    return os.open(folder, flags)


def _sweep(temporary: Path, prefix: str) -> None:
    for path in temporary.glob(f"{prefix}*"):
        with suppress(OSError):
            _sweep_one(path)


def _sweep_one(path: Path) -> None:
    lock = _opened(path)
    try:
        state = os.fstat(lock)
        private = stat.S_IMODE(state.st_mode) & 0o077 == 0 and state.st_uid == os.getuid()
        fresh = time.time() - state.st_mtime < _EMPTY_S and not any(path.iterdir())
        if private and not fresh:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(path, ignore_errors=True)
    finally:
        os.close(lock)
