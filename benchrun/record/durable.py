"""Putting small files on the disk so that they are either there in full or not at all."""

import errno
import fcntl
import os
from contextlib import suppress
from pathlib import Path
from typing import Final

from benchrun.errors import disk_said
from benchrun.record.trouble import NotKept
from benchrun.text import shown

FULL_SYNC: Final[int | None] = getattr(fcntl, "F_FULLFSYNC", None)
"""macOS's command that empties the drive's own cache too, which its fsync does not; else None."""

DRAFT: Final = ".draft"
"""How the names of files end that are being written; they begin with a dot."""

_NO_FULL_SYNC: Final = frozenset({errno.ENOTSUP, errno.EINVAL, errno.ENOTTY})


def sync_file(fd: int) -> None:
    """Bring a file's bytes to the disk; on macOS through the drive's own cache as well.

    Raises:
        OSError: The disk did not take them. The file must not be trusted after that: on Linux the
            next fsync succeeds without the bytes having been written.
    """
    if FULL_SYNC is not None:
        try:
            fcntl.fcntl(fd, FULL_SYNC)
        except OSError as error:
            # Network and foreign file systems do not know it.
            if error.errno not in _NO_FULL_SYNC:
                raise
        else:
            return
    os.fsync(fd)


def sync_folder(folder: Path) -> None:
    """Bring a folder's list of names to the disk."""
    fd = os.open(folder, os.O_RDONLY | os.O_CLOEXEC | getattr(os, "O_DIRECTORY", 0))
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def write_all(fd: int, data: bytes) -> None:
    """Write all of the bytes, however many calls it takes."""
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(fd, rest) :]


def write_file(path: Path, data: bytes, *, mode: int = 0o644, replace: bool = True) -> None:
    """Write a whole file: it appears under its name only when its bytes are on the disk.

    Args:
        path: Where.
        data: What.
        mode: The file's permissions.
        replace: Whether a file of that name may be replaced.

    Raises:
        NotKept: The disk refused, or the name is taken; the old file, if any, stands untouched.
    """
    draft = path.with_name(f".{path.name}.{os.getpid()}{DRAFT}")
    try:
        _write_draft(draft, data, mode)
        if replace:
            draft.replace(path)
        else:
            _name_only_once(draft, path)
        sync_folder(path.parent)
    except FileExistsError:
        raise NotKept(f"{shown(str(path), 200)} is there already", retry=False) from None
    except OSError as error:
        raise NotKept(
            f"{shown(str(path), 200)} could not be written: {disk_said(error)}", retry=True
        ) from None
    finally:
        # Gone already where it got its name; one that stays is swept when the run is taken up.
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _write_draft(draft: Path, data: bytes, mode: int) -> None:
    draft.unlink(missing_ok=True)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
    fd = os.open(draft, flags, mode)
    try:
        write_all(fd, data)
        sync_file(fd)
    finally:
        os.close(fd)


def _name_only_once(draft: Path, path: Path) -> None:
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        if path.exists():
            raise FileExistsError(path) from None
        draft.rename(path)


def make_folder(path: Path) -> None:
    """Make one folder that must not be there yet, and bring its name to the disk.

    Raises:
        FileExistsError: It is there already.
        NotKept: The disk refused.
    """
    try:
        path.mkdir()
        sync_folder(path.parent)
    except FileExistsError:
        raise
    except OSError as error:
        raise NotKept(
            f"the folder {shown(str(path), 200)} could not be made: {disk_said(error)}", retry=True
        ) from None
