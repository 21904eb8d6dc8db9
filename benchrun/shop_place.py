"""Taking a shop, or a closed run, somewhere else whole: a copy to keep, or to work there."""

import errno
import hashlib
import os
import shutil
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.record.findings import Grade
from benchrun.record.register import Register
from benchrun.record.signers import read_signers
from benchrun.record.trouble import RecordBroken
from benchrun.shop.file_writer import LOCK_NAME, shop_lock
from benchrun.shop.folder import Shop, exists
from benchrun.shop_repair import refuse_written
from benchrun.text import count, shown

BACK_UP: Final = "back up this whole folder, keys and all: benchrun shop copy DIR"
"""The words about a back-up, in one line."""

_INDEX: Final = "history.sqlite"
_SECRET: Final = 0o077


def copy_shop(shop: Shop, to: Path) -> tuple[str, bool]:
    """Copy a shop: books, runs, register, keys with their modes; the index of past runs is left.

    It is laid out beside, compared file by file, and put in place when it is whole.

    Args:
        shop: The shop; no window may be writing a run.
        to: A folder that is not there yet, or is empty.

    Returns:
        A line that says what was copied and checked, and whether the register holds.

    Raises:
        BenchrunError: Something is there, a run is being written, or the disk refused.
    """
    _refuse_place(shop, to)
    # Nobody writes what cannot be written, such as a back-up on a disk that is read alone.
    writable = os.access(shop.path, os.W_OK)
    with shop_lock(shop.path) if writable else nullcontext():
        refuse_written(shop)
        seen = _seen_whole(shop)
        many = _copied(shop.path, to)
    words, sound = _checked(to, seen=seen)
    return f"{count(many, 'file')} copied to {_name(to)} and compared; {words}", sound


def copy_run(run: Path, into: Path) -> str:
    """Copy the folder of a closed run into another folder, and compare the copy with it.

    Args:
        run: The run's folder.
        into: The folder that the copy is put in; it is made where it is not there.

    Returns:
        A line that says what was copied and how it is checked.

    Raises:
        BenchrunError: A folder of that name is there, it lies inside the run, or the disk refused.
    """
    to = into / run.name
    if os.path.lexists(to):
        raise BenchrunError(f"{_name(to)} is there already: name another folder")
    if to.resolve().is_relative_to(run.resolve()):
        raise BenchrunError(f"{_name(into)} lies inside the run: name a folder outside it")
    many = _copied(run, to)
    return f"{count(many, 'file')} copied to {_name(to)} and compared"


def move_shop(shop: Shop, to: Path) -> tuple[str, bool]:
    """Move a shop, to another disk too: what was copied is compared before the old one goes.

    Its arguments, what it answers and what it raises are those of `copy_shop`.
    """
    _refuse_place(shop, to)
    with shop_lock(shop.path):
        refuse_written(shop)
        seen = _seen_whole(shop)
        try:
            to.parent.mkdir(parents=True, exist_ok=True)
            shop.path.resolve().rename(to)
        except OSError as error:
            if error.errno != errno.EXDEV:
                raise _refused(to, error) from None
            _copied(shop.path, to)
            os.sync()
            _remove(shop.path)
    words, sound = _checked(to, seen=seen)
    return f"moved to {_name(to)}; {words}", sound


def _refuse_place(shop: Shop, to: Path) -> None:
    if exists(to) or (os.path.lexists(to) and not (to.is_dir() and not any(to.iterdir()))):
        raise BenchrunError(f"{_name(to)} is there already: name a folder that is not")
    if to.resolve().is_relative_to(shop.path.resolve()):
        raise BenchrunError(f"{_name(to)} lies inside the shop itself: name a folder outside it")


def _copied(source: Path, to: Path) -> int:
    """Copy a folder and compare the copy; answers the number of files."""
    draft = to.parent / f".{to.name}.draft"
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(source, draft, symlinks=True, ignore=_left_out)
        many = _compared(source, draft)
        if to.exists():
            to.rmdir()
        draft.rename(to)
    except (OSError, shutil.Error) as error:
        shutil.rmtree(draft, ignore_errors=True)
        raise _refused(to, error) from None
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise
    return many


def _left_out(_folder: str, names: list[str]) -> set[str]:
    return {
        name
        for name in names
        if name == LOCK_NAME or name.startswith(_INDEX) or name.endswith(".draft")
    }


def _compared(source: Path, copy: Path) -> int:
    """Hold every file of a copy against its source; answers their number."""
    many = 0
    for path in _files(copy):
        there = source / path.relative_to(copy)
        if path.is_symlink():
            same = path.readlink() == there.readlink()
        else:
            modes = path.stat().st_mode == there.stat().st_mode
            same = modes and _digest(path) == _digest(there)
        if not same:
            raise BenchrunError(f"the copy of {_name(there)} is not like it: try another disk")
        many += 1
    return many


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        if path.is_symlink() or path.is_file():
            yield path


def _digest(path: Path) -> bytes:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").digest()


def _remove(path: Path) -> None:
    try:
        shutil.rmtree(path)
    except OSError as error:
        raise BenchrunError(
            f"the shop was copied whole, but {_name(path)} could not be taken away: "
            f"{disk_said(error)}. Take it away by hand"
        ) from None


def _seen_whole(shop: Shop) -> bool:
    """Whether the register has all that this machine saw of it."""
    try:
        return not Register(shop.path).read().set_back()
    except RecordBroken:
        return False


def _checked(to: Path, *, seen: bool) -> tuple[str, bool]:
    """The words about the keys and the register at the new place, and whether the register holds.

    Args:
        to: The new place.
        seen: Whether the register had all that this machine saw; it then knows the new place too.
    """
    loose = [key.name for key in (to / "keys").glob("*") if _open_to_others(key)]
    keys = f"keys that others can read: {', '.join(loose)}" if loose else "keys for you alone"
    try:
        register = Register(to).read()
        found = register.findings(read_signers(to / "signers"))
        faults = [one.text for one in found if one.grade is Grade.FAULT]
    except BenchrunError as error:
        faults = [error.message]
    if faults:
        return f"{keys}; the register does not hold: {shown(faults[0], 200)}", False
    if seen:
        register.keep_seen()
    return f"{keys}; the register holds, head {register.short_head or 'none yet'}", True


def _open_to_others(key: Path) -> bool:
    return key.suffix != ".pub" and key.is_file() and bool(key.stat().st_mode & _SECRET)


def _name(path: Path) -> str:
    return shown(str(path), 200)


def _refused(to: Path, error: OSError | shutil.Error) -> BenchrunError:
    said = disk_said(error) if isinstance(error, OSError) and error.strerror else str(error)
    return BenchrunError(f"{_name(to)} cannot be made: {shown(said, 200)}; nothing was changed")
