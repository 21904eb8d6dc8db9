"""Writing a log: a line is part of it when it is on the disk, and not before.

One write a line, its count checked, then fsync, under an exclusive lock on the file itself. What a
full disk refuses is cut back and may be tried again. A failed fsync ends the file, because the
next one would succeed without the bytes having been written: the proven lines and the pending one
go to a new file that takes its place. The writer is synchronous and knows no threads: whoever
uses it calls it from one.
"""

import errno
import fcntl
import hashlib
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, Self

from benchrun.errors import BenchrunError, disk_said
from benchrun.gc_pause import no_collecting
from benchrun.moment import Moment
from benchrun.plain_file import plain_fd
from benchrun.record.chain import ReadLog, read_open
from benchrun.record.digests import RunningDigests
from benchrun.record.durable import sync_file, sync_folder
from benchrun.record.glimpse import LOG_NAME
from benchrun.record.line import ZEROS, LineError, encode, shape
from benchrun.record.recovery import (
    MoveFailed,
    SetAside,
    drop_twins,
    keep_torn,
    last_failed,
    move_log,
    not_entered,
)
from benchrun.record.trouble import Locked, NotKept, RecordBroken
from benchrun.text import shown

RECOVERED: Final = "recovered"
"""The kind of entry that names files set aside; its data hold `files`, as `SetAside.as_data`."""


class LogWriter:
    """The one writer of a log.

    Make one with `create` or `open`; close it, or use it in a `with`.

    Attributes:
        n: The number that the next line gets, which is how many there are.
        head: SHA-256 (hex) of the last line, 64 zeros before line 0.
        found: What was read when the log was opened: all lines that are kept.
        set_aside: Fragments and ended files kept beside the log that no entry of kind
            `recovered` names yet. Whoever opens the log enters them; entering takes them off.
    """

    def __init__(self, folder: Path, name: str, fd: int) -> None:
        self.folder = folder
        self.path = folder / name
        self.n = 0
        self.head = ZEROS
        self.found = ReadLog(name, ())
        self.set_aside: list[SetAside] = []
        self._fd = fd
        self._digests = RunningDigests("sha512")
        self._ended: str | None = None

    @classmethod
    def create(cls, folder: Path, name: str = LOG_NAME) -> Self:
        """Start a log without lines in a folder that has none.

        Raises:
            NotKept: There is one already, or the folder cannot be written.
        """
        path = folder / name
        try:
            fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
        except FileExistsError:
            raise NotKept(f"{shown(str(path), 200)} is there already", retry=False) from None
        except OSError as error:
            raise _cannot("started", path, error) from None
        writer = cls(folder, name, fd)
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            sync_file(fd)
            sync_folder(folder)
        except OSError as error:
            writer.close()
            raise _cannot("started", path, error) from None
        return writer

    @classmethod
    def open(
        cls,
        folder: Path,
        name: str = LOG_NAME,
        *,
        wait_ms: int = 0,
        check: Callable[[ReadLog], None] | None = None,
        known: ReadLog | None = None,
    ) -> Self:
        """Go on writing a log that is there. What it holds is in `found`.

        A torn last fragment is set aside into `torn-<k>.bin` and listed in `set_aside`.

        Args:
            folder: Where it lies.
            name: The file's name.
            wait_ms: How long to wait for another process to let go of it.
            check: Called with what was read, under the lock and before anything is written; what
                it raises leaves the folder as it is.
            known: The same log as it was read before, see `read_open`.

        Raises:
            Locked: Another process holds it.
            RecordBroken: It is damaged elsewhere than in a torn last fragment.
            NotKept: It cannot be opened or the disk refuses.
        """
        path = folder / name
        fd = _locked(path, wait_ms)
        writer = cls(folder, name, fd)
        try:
            with (
                no_collecting(),
                os.fdopen(fd, "rb", buffering=1 << 18, closefd=False) as file,
            ):
                writer.found = read_open(file, name, known)
            if check is not None:
                check(writer.found)
            writer._take_up(writer.found)
        except OSError as error:
            writer.close()
            raise _cannot("opened", path, error) from None
        except BaseException:
            writer.close()
            raise
        return writer

    def take_found(self) -> ReadLog:
        """Lines read when the log was opened; of a long one it fills memory, so it goes here."""
        found, self.found = self.found, ReadLog(self.found.name, ())
        return found

    def _take_up(self, log: ReadLog) -> None:
        drop_twins(self.folder, os.fstat(self._fd))
        self._digests.add_all([line.raw for line in log.lines[:-1]])
        if log.torn_tail is not None:
            keep_torn(self.folder, log.torn_tail)
            os.ftruncate(self._fd, sum(len(line.raw) for line in log.lines))
        if log.lines:
            self._prove_last(log.lines[-1].raw)
        else:
            sync_file(self._fd)
        self.n, self.head = len(log.lines), log.head
        self.set_aside = not_entered(self.folder, _named(log))

    def _prove_last(self, raw: bytes) -> None:
        """Write the last line again over itself and bring it to the disk.

        It may be in memory only, its writer having died before its fsync or of it; and an fsync
        alone would not write what an earlier one failed to. All lines before it are proven.
        """
        if os.pwrite(self._fd, raw, self._digests.size) != len(raw):
            raise OSError(errno.EIO, "the last line could not be written again")
        try:
            sync_file(self._fd)
        except OSError as error:
            self._move(raw, disk_said(error), cut=False)
        self._digests.add(raw)

    def append(self, at: Moment, by: str, kind: str, data: dict[str, Any]) -> bytes:
        """Keep one entry. When this returns, the entry is on the disk.

        Args:
            at: When.
            by: Who.
            kind: What kind, one word.
            data: What; text, integers, true, false, None, lists and dicts of these.

        Returns:
            The line as it was written, LF included.

        Raises:
            NotKept: The entry is not part of the log. With `retry` the same call may be made
                again when there is room; without it this writer has ended.
            BenchrunError: The entry holds what no line can hold; the log goes on without it.
        """
        if self._ended is not None:
            raise NotKept(self._ended, retry=False)
        raw = self._line(at, by, kind, data)
        self._check_undisturbed()
        self._put(raw)
        self.head = hashlib.sha256(raw).hexdigest()
        self.n += 1
        if kind == RECOVERED and self.set_aside:
            named = _files_of(data)
            self.set_aside = [aside for aside in self.set_aside if aside.file not in named]
        return raw

    def _line(self, at: Moment, by: str, kind: str, data: dict[str, Any]) -> bytes:
        value = {
            "n": self.n,
            "at": at.as_data(),
            "by": by,
            "kind": kind,
            "data": data,
            "prev": self.head,
        }
        try:
            raw = encode(value)
            shape(value, raw, "")  # never write what reading would refuse
        except LineError as error:
            raise BenchrunError(f"entry {self.n} is not kept: {error}") from None
        return raw

    def _check_undisturbed(self) -> None:
        try:
            now = os.fstat(self._fd)
        except OSError as error:
            raise self._end(f"the log cannot be reached: {disk_said(error)}") from None
        if now.st_nlink == 0:
            raise self._end("the file was deleted or replaced while it was open")
        if now.st_size != self._digests.size:
            raise self._end("something else wrote to the file while it was open")
        if away := self._away(now):
            raise NotKept(f"entry {self.n} is not kept: {away}", retry=True)

    def away(self) -> str:
        """Why the log is not at its place any more, in one sentence; empty while it is."""
        try:
            return self._away(os.fstat(self._fd))
        except OSError as error:
            return self._gone(error)

    def _away(self, mine: os.stat_result) -> str:
        try:
            there = self.path.stat()
        except OSError as error:
            return self._gone(error)
        if (there.st_dev, there.st_ino) != (mine.st_dev, mine.st_ino):
            return f"{shown(str(self.path), 200)} was replaced by another file while it was open"
        return ""

    def _gone(self, error: OSError) -> str:
        name = shown(str(self.path), 200)
        return f"{name} is gone from its place: {disk_said(error)}. Put its folder back"

    def placed(self, folder: Path) -> None:
        """Follow the folder of the log to the place where it was renamed to."""
        self.folder, self.path = folder, folder / self.path.name

    def _put(self, raw: bytes) -> None:
        """Write one line after the proven ones and prove it too."""
        try:
            count = os.pwrite(self._fd, raw, self._digests.size)
        except OSError as error:
            self._cut_back()
            raise self._refused(disk_said(error)) from None
        if count != len(raw):
            self._cut_back()
            raise self._refused(f"only {count} of {len(raw)} bytes went in")
        try:
            sync_file(self._fd)
        except OSError as error:
            self._move(raw, disk_said(error))
        self._digests.add(raw)

    def _refused(self, said: str) -> NotKept:
        if self._ended is not None:
            return NotKept(self._ended, retry=False)
        return NotKept(
            f"{shown(str(self.path), 200)}: entry {self.n} is not kept: {said}. "
            "Make room on the disk, then try again",
            retry=True,
        )

    def _cut_back(self) -> None:
        """Take a part of a line that went in off again."""
        try:
            os.ftruncate(self._fd, self._digests.size)
            sync_file(self._fd)
        except OSError as error:
            self._move(b"", disk_said(error))

    def _move(self, pending: bytes, said: str, *, cut: bool = True) -> None:
        """Carry the proven lines and the pending one to a new file in place of this one.

        Args:
            pending: The line whose fsync failed; may be empty.
            said: What the disk said.
            cut: Whether the pending line was never acknowledged and may be cut off the old file.

        Raises:
            NotKept: That failed as well. The writer has ended.
        """
        try:
            fd = move_log(self._fd, self.path, self._digests, pending)
        except (OSError, MoveFailed) as error:
            why = disk_said(error) if isinstance(error, OSError) else str(error)
            if cut:
                self._forget_pending()
            raise self._end(
                f"the disk failed ({said}) and a new file could not be made there ({why}). "
                "Copy the run's folder to a sound disk and go on there",
                opening=not cut,
            ) from None
        os.close(self._fd)
        self._fd = fd
        self.set_aside.append(last_failed(self.folder, self.path.name))

    def _forget_pending(self) -> None:
        # Best effort: the cut is not proven, but whoever reads the file next sees proven lines
        # only instead of one that is in memory and perhaps not on the disk.
        try:
            os.ftruncate(self._fd, self._digests.size)
        except OSError:
            return

    def _end(self, why: str, *, opening: bool = False) -> NotKept:
        name = shown(str(self.path), 200)
        if opening:
            self._ended = f"{name} cannot be opened: {why}"
        else:
            self._ended = f"{name}: entry {self.n} is not kept and the log is ended: {why}"
        return NotKept(self._ended, retry=False)

    def prefix_digest(self, algorithm: str = "sha512") -> bytes:
        """Digest all bytes of the file so far: what a signature in the next line is made over.

        Args:
            algorithm: `sha512`, the one that is kept up.
        """
        return self._digests.digest(algorithm)

    @property
    def size(self) -> int:
        """How many bytes are proven."""
        return self._digests.size

    def close(self) -> None:
        """Let go of the file and its lock. Closing twice is harmless."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1
            self._ended = f"{shown(str(self.path), 200)} is closed"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()


def _cannot(done: str, path: Path, error: OSError) -> NotKept:
    return NotKept(f"{shown(str(path), 200)} cannot be {done}: {disk_said(error)}", retry=False)


def _locked(path: Path, wait_ms: int) -> int:
    """Open a log and take its lock, minding that its writer may replace it meanwhile."""
    give_up = time.monotonic() + wait_ms / 1000
    while True:
        try:
            fd = plain_fd(path, os.O_RDWR)
        except FileNotFoundError:
            raise RecordBroken(f"{shown(str(path), 200)} is missing") from None
        except OSError as error:
            raise _cannot("opened", path, error) from None
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(fd).st_ino == path.stat().st_ino:
                return fd
        except BlockingIOError:
            if time.monotonic() >= give_up:
                os.close(fd)
                raise Locked(
                    f"{shown(str(path), 200)} is being written by another window; "
                    "read along there, or close it first"
                ) from None
            time.sleep(0.01)
        except OSError as error:
            os.close(fd)
            raise _cannot("opened", path, error) from None
        os.close(fd)


def _named(log: ReadLog) -> set[str]:
    """The files that entries of the log name as recovered."""
    return {name for line in log.lines if line.kind == RECOVERED for name in _files_of(line.data)}


def _files_of(data: dict[str, Any]) -> set[str]:
    files = data.get("files")
    if not isinstance(files, list | tuple):
        return set()
    return {str(item.get("file")) for item in files if isinstance(item, dict)}
