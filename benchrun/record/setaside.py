"""Leavings of a log, kept beside it: torn fragments, and files that a disk fault ended.

Nothing is thrown away. Each is hashed, so that an entry can name it.
"""

import hashlib
import os
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrun.record.durable import write_file

_TORN: Final = re.compile(r"torn-([0-9]{1,6})\.bin", re.ASCII)
_FAILED: Final = re.compile(r".+\.failed-([0-9]{1,6})", re.ASCII)


@dataclass(frozen=True, slots=True)
class SetAside:
    """A file kept beside the log.

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
        data = path.read_bytes()
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
    """Describe the file that was ended last, as `next_failed` named it."""
    return _look(folder / f"{log_name}.failed-{_last_failed(folder, log_name)}")


def next_failed(folder: Path, log_name: str) -> Path:
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
