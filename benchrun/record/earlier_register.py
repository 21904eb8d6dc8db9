"""Registers of a shop that were set aside because they did not hold, and the one that follows.

What was set aside stays beside the new register, whose first entry names it with its digest and
tells what was wrong. Heads and runs that it names go on counting; its keys and people do not.
"""

import fcntl
import hashlib
import json
import os
import re
from collections.abc import Iterator
from dataclasses import field
from pathlib import Path
from typing import Any, Final

from benchrun.errors import disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import plain_fd, read_plain
from benchrun.record.durable import DRAFT, sync_folder, write_file
from benchrun.record.line import ZEROS
from benchrun.record.trouble import Locked, NotKept
from benchrun.record.writer import LogWriter
from benchrun.text import shown

_NAME: Final = re.compile(r"register\.jsonl\.damaged-[0-9]{1,6}", re.ASCII)


@lean_dataclass(slots=True)
class EarlierRegisters:
    """All that registers set aside say, the first that was set aside first.

    Attributes:
        heads: SHA-256 (hex) of each of their lines, also of those behind damage.
        rows: Their lines as far as they can be read, each with the name of its file.
        faults: What is wrong with the files.
    """

    heads: set[str] = field(default_factory=set)
    rows: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    _seen: set[str] = field(default_factory=set)

    def add(self, shop: Path, data: dict[str, Any]) -> None:
        """Take the register that an entry names as set aside, and those that it names in turn."""
        name, digest = str(data["file"]), str(data.get("sha256", ""))
        if name in self._seen:
            return
        self._seen.add(name)
        try:
            raw = read_plain(shop / name) if _NAME.fullmatch(name) else b""
        except OSError as error:
            said = disk_said(error)
            self.faults.append(f"the register that was set aside as {name} cannot be read: {said}")
            return
        if hashlib.sha256(raw).hexdigest() != digest:
            self.faults.append(
                f"the register that was set aside as {shown(name, 80)} is not the one that was"
            )
            return
        self.heads.update(_heads(raw))
        rows = list(_rows(raw))
        for row in rows:
            if row["kind"] == "doubt" and "file" in row["data"]:
                self.add(shop, row["data"])
        self.rows += [(name, row) for row in rows]


def _heads(raw: bytes) -> Iterator[str]:
    for line in raw.split(b"\n")[:-1]:
        yield hashlib.sha256(line + b"\n").hexdigest()


def _rows(raw: bytes) -> Iterator[dict[str, Any]]:
    for line in raw.split(b"\n")[:-1]:
        try:
            row = json.loads(line)
        except ValueError:
            continue
        if isinstance(row, dict) and isinstance(row.get("data"), dict) and "kind" in row:
            yield row


@lean_dataclass(frozen=True, slots=True)
class SetAsideRegister:
    """A register that was copied to be set aside; it stands in its place until `follow`."""

    path: Path
    file: str
    sha256: str
    heads: tuple[str, ...]
    lock: int

    def as_data(self) -> dict[str, Any]:
        """The form in which the first entry of the register that follows names it."""
        head = self.heads[-1] if self.heads else ZEROS
        return {"file": self.file, "sha256": self.sha256, "head": head}

    def draft(self) -> LogWriter:
        """A new register under another name."""
        name = f".{self.path.name}{DRAFT}"
        (self.path.parent / name).unlink(missing_ok=True)
        return LogWriter.create(self.path.parent, name)

    def follow(self, writer: LogWriter) -> None:
        """Put the new register in place of this one, in one step."""
        writer.path.replace(self.path)
        sync_folder(self.path.parent)


def set_aside(path: Path) -> SetAsideRegister:
    """Copy a register that does not hold beside itself, and hold it against other windows.

    Raises:
        Locked: Another window writes it.
        NotKept: The disk refused.
    """
    try:
        lock = plain_fd(path, os.O_RDWR)
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        raw = read_plain(path)
    except BlockingIOError:
        raise Locked(f"{shown(str(path), 200)} is being written by another window") from None
    except OSError as error:
        said = disk_said(error)
        raise NotKept(f"{shown(str(path), 200)} cannot be read: {said}", retry=False) from None
    number = 1
    while os.path.lexists(aside := path.with_name(f"{path.name}.damaged-{number}")):
        number += 1
    write_file(aside, raw, replace=False)
    digest = hashlib.sha256(raw).hexdigest()
    return SetAsideRegister(path, aside.name, digest, tuple(_heads(raw)), lock)
