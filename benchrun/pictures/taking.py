"""A picture's file read for keeping: its copy without a position, unless that is asked for."""

import os
import stat
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.pictures.position import UNSURE, Looked, without_position
from benchrun.text import shown

_MOST: Final = 256 * 1024 * 1024


class MayTell(BenchrunError):
    """The copy of a picture may tell where it was taken, and nobody has agreed to that."""


def take_picture(source: Path, *, keep_position: bool = False, unsure: bool = False) -> Looked:
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
        return Looked(data, "kept as asked")
    looked = without_position(data)
    if looked.position in UNSURE and not unsure:
        name = shown(source.name, 80)
        raise MayTell(
            f"{name} may tell where it was taken: it cannot be looked into"
            if looked.position == "not looked for"
            else f"{name} may still tell where it was taken: a part cannot be looked into"
        )
    return looked


def _read(source: Path) -> bytes:
    """Read a regular file; a pipe is not waited for, and one that grows is read no further."""
    try:
        fd = os.open(source, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
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
    return data
