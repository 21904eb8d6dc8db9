"""Folders for shops that are thrown away, keys and all, also those that a kill left behind."""

import fcntl
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from benchrun.plain_file import plain_fd
from benchrun.record.anchor import STATE_VARIABLE

MARK: Final = ".held"
"""The file in such a folder on which a living program holds a lock from when it appears."""

_STATE: Final = ".state"
_MEMORY: Final = Path("/dev/shm")  # noqa: S108  # each folder in it is made under a name of its own
_ROOM: Final = 64 << 20
_NAMED_BY: Final = ("TMPDIR", "TEMP", "TMP")


@contextmanager
def throwaway(kind: str) -> Iterator[Path]:
    """A folder that nobody else can read, taken away when it is left.

    Before it is made, those of that kind are taken away whose program was killed: a living one
    holds a lock on the mark in its folder. One without the mark is another program's, and stays.
    While it is used, what this machine saw of its shop's register is kept in it as well.

    Args:
        kind: What it is for, one word; it stands in its name.
    """
    prefix, usual, place = f"benchrun-{kind}-", Path(tempfile.gettempdir()), _place()
    for temporary in {usual, place}:
        _sweep(temporary, prefix)
    with tempfile.TemporaryDirectory(prefix=prefix, dir=place) as made:
        lock = _marked(Path(made))
        before = os.environ.get(STATE_VARIABLE)
        os.environ[STATE_VARIABLE] = str(Path(made) / _STATE)
        try:
            yield Path(made)
        finally:
            if before is None:
                del os.environ[STATE_VARIABLE]
            else:
                os.environ[STATE_VARIABLE] = before
            os.close(lock)


def _place() -> Path:
    """Where such folders lie: in memory, where writing waits for no disk, or where the user says.

    What is written is never wanted again, and is written as carefully as any other shop.
    """
    usual = Path(tempfile.gettempdir())
    if any(os.environ.get(name) for name in _NAMED_BY) or not os.access(_MEMORY, os.W_OK | os.X_OK):
        return usual
    there = os.statvfs(_MEMORY)
    return _MEMORY if there.f_bavail * there.f_frsize >= _ROOM else usual


def _marked(folder: Path) -> int:
    """Lay the mark into a folder: locked first, then named, so that nobody finds it unlocked."""
    draft = folder / f"{MARK}.draft"
    lock = os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX)
        draft.rename(folder / MARK)
    except BaseException:
        os.close(lock)
        raise
    return lock


def _sweep(temporary: Path, prefix: str) -> None:
    for path in temporary.glob(f"{prefix}*"):
        with suppress(OSError):
            _sweep_one(path)


def _sweep_one(path: Path) -> None:
    state = path.lstat()
    if not stat.S_ISDIR(state.st_mode) or state.st_uid != os.getuid():
        return
    if stat.S_IMODE(state.st_mode) & 0o077:
        return
    lock = plain_fd(path / MARK, os.O_RDWR)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        shutil.rmtree(path, ignore_errors=True)
    finally:
        os.close(lock)
