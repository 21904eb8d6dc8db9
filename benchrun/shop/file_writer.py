"""Writing the shop's files: one program at a time, each file in full or not at all."""

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.plain_file import read_plain
from benchrun.text import shown

LOCK_NAME: Final = ".lock"
_WAIT_S: Final = 5.0
_PAUSE_S: Final = 0.002
_HELD: ContextVar[frozenset[Path]] = ContextVar("_HELD", default=frozenset())


@contextmanager
def shop_lock(folder: Path) -> Iterator[None]:
    """Hold a shop's files for one change; other programs wait for their turn.

    Taking it again inside is harmless, so that one change may be made of several.

    Args:
        folder: The shop's folder.

    Raises:
        BenchrunError: Another program holds it for longer than a few seconds, or the folder
            cannot be written.
    """
    place, held = folder.resolve(), _HELD.get()
    if place in held:
        yield
        return
    try:
        number = os.open(place / LOCK_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    except OSError as error:
        raise _refused(folder, error) from None
    try:
        _take(number, folder)
        token = _HELD.set(held | {place})
        try:
            yield
        finally:
            _HELD.reset(token)
    finally:
        os.close(number)


def _take(number: int, folder: Path) -> None:
    end = time.monotonic() + _WAIT_S
    while True:
        try:
            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if time.monotonic() > end:
                raise BenchrunError(
                    f"another program is writing in the shop {shown(str(folder), 200)}: "
                    "try again when it is done"
                ) from None
            time.sleep(_PAUSE_S)
        except OSError as error:
            raise _refused(folder, error) from None
        else:
            return


def put_file(path: Path, content: bytes, before: bytes | None) -> None:
    """Put new contents in the place of the old, which stand until the new are on the disk.

    To be called within `shop_lock`; what a killed program left is written over.

    Args:
        path: The file; a link is followed, so that it stays one.
        content: What it shall hold.
        before: What it held when the change was worked out; None where there was no file.

    Raises:
        BenchrunError: Somebody else changed it meanwhile, or the disk refused.
    """
    target = path.resolve()
    draft = target.with_name(f".{target.name}.draft")
    try:
        _write(draft, content, target.stat().st_mode & 0o777 if before is not None else 0o644)
        # An editor takes no lock; this is the last moment at which its work can be seen.
        if (read_plain(target) if target.exists() else None) != before:
            raise BenchrunError(
                f"{shown(path.name, 80)} was changed by somebody else just now: try again"
            )
        draft.replace(target)
        _sync(target.parent)
    except OSError as error:
        raise _refused(path, error) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _write(draft: Path, content: bytes, mode: int) -> None:
    draft.unlink(missing_ok=True)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
    with os.fdopen(os.open(draft, flags, mode), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync(folder: Path) -> None:
    number = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def _refused(path: Path, error: OSError) -> BenchrunError:
    said = (error.strerror or type(error).__name__).lower()
    return BenchrunError(f"{shown(str(path), 200)} cannot be written: {said}")
