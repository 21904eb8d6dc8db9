"""Carrying a log over to a new file after its disk refused an fsync.

The old file stays beside the new one as `<name>.failed-<k>`. At no moment is there no log.
"""

import fcntl
import hashlib
import os
import shutil
from pathlib import Path

from benchrun.record.durable import sync_file, sync_folder, write_all
from benchrun.record.running import RunningDigests
from benchrun.record.setaside import next_failed


class MoveFailed(Exception):
    """The proven lines could not be read back as they were written."""


def move_log(old: int, path: Path, proven: RunningDigests, pending: bytes) -> int:
    """Write the proven lines and a pending one to a new file and put it in the old one's place.

    Args:
        old: The old file, open; it stays open.
        path: Its path.
        proven: What was proven of it.
        pending: The line that was not; may be empty.

    Returns:
        The new file, open and locked.

    Raises:
        OSError: The disk refused again. The old file still has its place.
        MoveFailed: What the old file gives back is not what was proven.
    """
    prefix = os.pread(old, proven.size, 0) if proven.size else b""
    while len(prefix) < proven.size and (more := os.pread(old, proven.size, len(prefix))):
        prefix += more[: proven.size - len(prefix)]
    if hashlib.sha512(prefix).digest() != proven.digest("sha512"):
        raise MoveFailed("the disk gives the proven entries back changed")
    draft = path.with_name(f"{path.name}.new")
    draft.unlink(missing_ok=True)
    fd = os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        write_all(fd, prefix + pending)
        sync_file(fd)
        _exchange(draft, path, next_failed(path.parent, path.name))
        sync_folder(path.parent)
    except BaseException:
        os.close(fd)
        draft.unlink(missing_ok=True)
        raise
    return fd


def _exchange(draft: Path, path: Path, aside: Path) -> None:
    _keep_old(path, aside)
    try:
        draft.replace(path)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise


def _keep_old(path: Path, aside: Path) -> None:
    try:
        aside.hardlink_to(path)
    except OSError:
        # No hard links here: a copy, as far as the failing disk gives one.
        try:
            shutil.copyfile(path, aside)
        except OSError:
            aside.touch()
