"""Leavings of a log, kept beside it: torn fragments, and files that a disk fault ended.

Nothing is thrown away. Each is hashed, so that an entry can name it. A log whose disk refused an
fsync goes on in a new file; at no moment is there no log.
"""

import fcntl
import hashlib
import os
import re
import shutil
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import read_plain
from benchrun.record.digests import RunningDigests
from benchrun.record.durable import DRAFT, sync_file, sync_folder, write_all, write_file

_TORN: Final = re.compile(r"torn-([0-9]{1,6})\.bin", re.ASCII)
_COPY: Final = re.compile(r".+-([0-9a-f]{8})\.[^.]+", re.ASCII)
_FAILED: Final = re.compile(r".+\.failed-([0-9]{1,6})", re.ASCII)


@lean_dataclass(frozen=True, slots=True)
class SetAside:
    """A file kept beside the log, which an entry names with its digest.

    Attributes:
        file: Its name in the run's folder.
        sha256: Its digest (hex), None where the disk does not give it back.
        size: Its length in bytes, None likewise.
    """

    file: str
    sha256: str | None
    size: int | None

    @property
    def torn(self) -> bool:
        """Whether it is a torn fragment; else it is a file that a failed fsync ended."""
        return _TORN.fullmatch(self.file) is not None

    def as_data(self) -> dict[str, str | int | None]:
        """The form that an entry of kind `recovered` lists in its `files`."""
        return {"file": self.file, "sha256": self.sha256, "bytes": self.size}


def _look(path: Path) -> SetAside:
    try:
        data = read_plain(path)
    except OSError:
        return SetAside(path.name, None, None)
    return SetAside(path.name, hashlib.sha256(data).hexdigest(), len(data))


def _numbered(folder: Path) -> Iterable[Path]:
    names = (path.name for path in folder.iterdir())
    kept = (name for name in names if _TORN.fullmatch(name) or _FAILED.fullmatch(name))
    return (folder / name for name in sorted(kept))


def keep_torn(folder: Path, fragment: bytes) -> SetAside:
    """Keep a torn fragment as `torn-<k>.bin`; one that is kept already is not kept twice.

    Raises:
        NotKept: The disk refused.
    """
    taken = [path for path in _numbered(folder) if _TORN.fullmatch(path.name)]
    digest = hashlib.sha256(fragment).hexdigest()
    for path in taken:
        aside = _look(path)
        if aside.sha256 == digest:
            return aside
    number = 1 + max((_number(path.name) for path in taken), default=0)
    path = folder / f"torn-{number}.bin"
    write_file(path, fragment, mode=0o444, replace=False)
    return SetAside(path.name, digest, len(fragment))


def last_failed(folder: Path, log_name: str) -> SetAside:
    """Describe the file that was ended last, as `move_log` named it."""
    return _look(folder / f"{log_name}.failed-{_last_failed(folder, log_name)}")


def _next_failed(folder: Path, log_name: str) -> Path:
    """The name that the next file ended by a disk fault gets."""
    return folder / f"{log_name}.failed-{_last_failed(folder, log_name) + 1}"


def _last_failed(folder: Path, log_name: str) -> int:
    stem = f"{log_name}.failed-"
    return max((_number(p.name) for p in _numbered(folder) if p.name.startswith(stem)), default=0)


def _number(name: str) -> int:
    matched = _TORN.fullmatch(name) or _FAILED.fullmatch(name)
    return int(matched[1]) if matched else 0


def not_entered(folder: Path, named: set[str]) -> list[SetAside]:
    """List the files set aside that no entry names yet."""
    return [_look(path) for path in _numbered(folder) if path.name not in named]


def drop_twins(folder: Path, log: os.stat_result) -> None:
    """Take away second names of the log itself, left by a kill while it was being moved."""
    for path in _numbered(folder):
        stat = path.stat()
        if (stat.st_dev, stat.st_ino) == (log.st_dev, log.st_ino):
            path.unlink()


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
    draft = path.with_name(f".{path.name}.new{DRAFT}")
    draft.unlink(missing_ok=True)
    fd = os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        write_all(fd, prefix + pending)
        sync_file(fd)
        _exchange(draft, path, _next_failed(path.parent, path.name))
        sync_folder(path.parent)
    except BaseException:
        os.close(fd)
        with suppress(OSError):
            draft.unlink(missing_ok=True)
        raise
    return fd


def _exchange(draft: Path, path: Path, aside: Path) -> None:
    _keep_old(path, aside)
    try:
        draft.replace(path)
    except BaseException:
        with suppress(OSError):
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


def sweep(folder: Path, photos: Path, named: set[str]) -> list[str]:
    """Take away what a cut left that nothing names: files half written, pictures never entered.

    To be done under the lock of the log, before anything is written.

    Args:
        folder: The run's folder.
        photos: The folder of its pictures.
        named: The pictures that entries name, from the run's folder.

    Returns:
        The pictures that were taken away.
    """
    swept = []
    for path in (*_files(folder), *_files(photos)):
        name = path.relative_to(folder).as_posix()
        if path.name.startswith(".") and path.name.endswith(DRAFT):
            path.unlink()
        elif path.parent == photos and name not in named and _is_copy(path):
            path.unlink()
            swept.append(name)
    return swept


def _files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [path for path in sorted(folder.iterdir()) if path.is_file() and not path.is_symlink()]


def _is_copy(path: Path) -> bool:
    """Whether a picture has the name that its copy gets: the beginning of its digest is in it."""
    matched = _COPY.fullmatch(path.name)
    digest = _look(path).sha256 if matched is not None else None
    return matched is not None and digest is not None and digest.startswith(matched[1])
