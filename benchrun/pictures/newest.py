"""The newest picture of a watched folder, such as the one that a phone is kept in step with."""

import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.text import shown

ENDINGS: Final = frozenset(
    {".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".gif", ".tif", ".tiff", ".avif"}
)


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
