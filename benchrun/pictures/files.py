"""Pictures' files: the newest of a watched folder, and a copy for keeping without its position."""

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.pictures.position import UNSURE, StrippedPicture, without_position
from benchrun.text import shown

_MOST: Final = 256 * 1024 * 1024
# What every armoured private key begins with (RFC 7468; OpenSSH's PROTOCOL.key), and its body.
_PRIVATE: Final = re.compile(rb"-----BEGIN [A-Z0-9 ]*PRIVATE KEY|openssh-key-v1\x00")
ENDINGS: Final = frozenset(
    {".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".gif", ".tif", ".tiff", ".avif"}
)


class MayTell(BenchrunError):
    """The copy of a picture may tell where it was taken, and nobody has agreed to that."""


def take_picture(
    source: Path, *, keep_position: bool = False, unsure: bool = False
) -> StrippedPicture:
    """Read a picture for keeping, without the position that it may tell.

    Args:
        source: The picture; any file will do.
        keep_position: Whether the copy may tell where the picture was taken.
        unsure: Whether it is taken although it could not be looked into, or not in full.

    Raises:
        MayTell: It could not be looked into, and `unsure` is not said.
        BenchrunError: It cannot be read, is no regular file or is larger than 256 MiB.
    """
    data = _read(source)
    if keep_position:
        return StrippedPicture(data, "kept as asked")
    stripped = without_position(data)
    if stripped.position in UNSURE and not unsure:
        name = shown(source.name, 80)
        raise MayTell(
            f"{name} may tell where it was taken: it cannot be looked into"
            if stripped.position == "not looked for"
            else f"{name} may still tell where it was taken: a part cannot be looked into"
        )
    return stripped


def _read(source: Path) -> bytes:
    """Read a regular file; a pipe is not waited for, and one that grows is read no further."""
    try:
        real = _within_its_folder(source)
        fd = os.open(real, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK | os.O_NOFOLLOW)
    except (OSError, ValueError) as error:
        said = disk_said(error) if isinstance(error, OSError) else str(error)
        raise BenchrunError(f"{shown(str(source), 200)} cannot be read: {said}") from None
    try:
        if not stat.S_ISREG(os.fstat(fd).st_mode):
            raise BenchrunError(f"{shown(source.name, 80)} is no file: give a picture's file")
        with os.fdopen(fd, "rb", closefd=False) as opened:
            data = opened.read(_MOST + 1)
    except OSError as error:
        raise BenchrunError(
            f"{shown(str(source), 200)} cannot be read: {disk_said(error)}"
        ) from None
    finally:
        os.close(fd)
    if len(data) > _MOST:
        raise BenchrunError(f"{shown(source.name, 80)} is larger than 256 MiB")
    if _PRIVATE.search(data) is not None:
        raise BenchrunError(
            f"{shown(source.name, 80)} holds a private key, which a record is no place for: "
            "give a picture's file"
        )
    return data


def _within_its_folder(source: Path) -> Path:
    """The file itself; a link may only lead to another name in its own folder.

    Raises:
        BenchrunError: It leads elsewhere.
        OSError: It leads nowhere, or round.
    """
    if not source.is_symlink():
        return source
    try:
        real = source.resolve(strict=True)
    except RuntimeError as error:  # a link to itself
        raise OSError(str(error)) from None
    if real.parent != source.parent.resolve():
        raise BenchrunError(
            f"{shown(source.name, 80)} is a link that leads out of its folder: give the picture's "
            "own file"
        )
    return real


def newest_picture(folder: Path, since_ms: int | None = None) -> Path:
    """The newest picture in a folder, by the time at which its file was last written.

    Only regular files with the ending of a picture count; links, empty files and hidden ones, as a
    sync tool leaves while it copies, do not. Folders within the folder are not looked into.

    Args:
        folder: Where, such as a phone's sync folder.
        since_ms: The oldest that will do, milliseconds since 1970; None for any age.

    Raises:
        BenchrunError: The folder cannot be read, or has none that will do.
    """
    place = shown(str(folder), 200)
    try:
        found = max(_pictures(folder), default=None)
    except OSError as error:
        raise BenchrunError(
            f"the watched folder {place} cannot be read: {disk_said(error)}"
        ) from None
    if found is None:
        raise BenchrunError(f"there is no picture in {place}: wait for it, or name the file")
    written_ns, name = found
    if since_ms is not None and written_ns < since_ms * 1_000_000:
        raise BenchrunError(
            f"{shown(name, 80)}, the newest picture in {place}, is older than this run: wait for "
            "the new one, or take the newest whatever its age"
        )
    return folder / name


def _pictures(folder: Path) -> Iterator[tuple[int, str]]:
    for path in folder.iterdir():
        if path.suffix.lower() not in ENDINGS or path.name.startswith("."):
            continue
        try:
            found = path.lstat()
        except FileNotFoundError:
            continue  # moved away by the sync tool since the folder was listed
        if stat.S_ISREG(found.st_mode) and found.st_size:
            yield found.st_mtime_ns, path.name
