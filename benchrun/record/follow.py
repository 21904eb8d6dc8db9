"""Reading along with a log that another window is writing, or looking at it now and then."""

import fcntl
import hashlib
import io
import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Final, Self

from benchrun.errors import disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular, plain_fd
from benchrun.record.chain import Chain, raw_lines
from benchrun.record.line import ZEROS, Line
from benchrun.record.trouble import RecordBroken
from benchrun.text import shown

_LF: Final = 10


class ReadAlong:
    """Gives the lines of a log as they come, without a lock.

    The writer may replace the file after a disk fault; what was read is then proven to be the
    beginning of the new one.

    Args:
        path: The log.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._chain = Chain(path.name)
        self._fd = -1
        self._at = 0

    def more(self) -> list[Line]:
        """All whole lines that came since the last call.

        Raises:
            RecordBroken: The log is damaged, shorter than it was, or cannot be read.
        """
        try:
            return self._more()
        except OSError as error:
            raise _unread(self._path, error) from None

    def _more(self) -> list[Line]:
        fd = self._current()
        size = os.fstat(fd).st_size
        if size < self._at:
            raise RecordBroken(f"{shown(self._path.name, 200)} is shorter than it was")
        # Read past any buffer, so that what the writer cut back meanwhile is not seen again.
        new = io.BytesIO(os.pread(fd, size - self._at, self._at))
        lines = []
        for raw in raw_lines(new, self._path.name, self._chain.n):
            if raw[-1] != _LF:  # the writer is in the middle of it
                break
            lines.append(self._chain.take(raw))
            self._at += len(raw)
        return lines

    def written(self) -> bool:
        """Whether a writer holds the log now, in this process or another.

        Looking takes the lock for a moment where nobody has it; who opens a log waits longer.

        Raises:
            RecordBroken: The log cannot be read.
        """
        try:
            fd = self._current()
            fcntl.flock(fd, fcntl.LOCK_SH | fcntl.LOCK_NB)
            fcntl.flock(fd, fcntl.LOCK_UN)
        except BlockingIOError:
            return True
        except OSError as error:
            raise _unread(self._path, error) from None
        return False

    def _current(self) -> int:
        now = self._path.stat()
        if self._fd >= 0:
            mine = os.fstat(self._fd)
            if (mine.st_dev, mine.st_ino) == (now.st_dev, now.st_ino):
                return self._fd
            self.close()
        self._fd = plain_fd(self._path)
        return self._fd

    def close(self) -> None:
        """Let go of the file."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()


@lean_dataclass(frozen=True, slots=True)
class ReadTo:
    """How far a log was read.

    Attributes:
        n: How many lines that were.
        head: The digest of the last one.
        size, sha256: How many bytes they are, and their digest.
    """

    n: int = 0
    head: str = ZEROS
    size: int = 0
    sha256: bytes = hashlib.sha256().digest()


START: Final = ReadTo()
"""Nothing was read yet."""
_PIECE: Final = 1 << 14


class ReadOn:
    """Reads a log from where an earlier reading ended, and holds no line of it.

    What was read before is proven to be there still, every byte of it; only what came is taken
    apart. A log that is looked at again and again so costs what it grew by, in time and in memory.

    Args:
        path: The log.
        before: Where the earlier reading ended.

    Attributes:
        read_to: How far it is read now.
    """

    def __init__(self, path: Path, before: ReadTo = START) -> None:
        self._path = path
        self._before = before
        self.read_to = before

    def lines(self) -> Iterator[Line]:
        """Yield the whole lines that came; `read_to` holds once all of them were taken.

        Raises:
            RecordBroken: The log is damaged, does not begin with what was read before, or cannot
                be read.
        """
        try:
            with open_regular(self._path) as file:
                yield from self._lines(file)
        except OSError as error:
            raise _unread(self._path, error) from None

    def _lines(self, file: IO[bytes]) -> Iterator[Line]:
        running, size = self._same_beginning(file), self._before.size
        chain = Chain(self._path.name)
        chain.n, chain.head = self._before.n, self._before.head
        for raw in raw_lines(file, self._path.name, chain.n):
            if raw[-1] != _LF:  # the writer is in the middle of it
                break
            running.update(raw)
            size += len(raw)
            yield chain.take(raw)
        self.read_to = ReadTo(chain.n, chain.head, size, running.digest())

    def _same_beginning(self, file: IO[bytes]) -> "hashlib._Hash":
        running, left = hashlib.sha256(), self._before.size
        while left and (piece := file.read(min(left, _PIECE))):
            running.update(piece)
            left -= len(piece)
        if running.digest() != self._before.sha256:
            raise RecordBroken(f"{shown(self._path.name, 200)} is not as it was read before")
        return running


def _unread(path: Path, error: OSError) -> RecordBroken:
    return RecordBroken(f"{shown(str(path), 200)} cannot be read: {disk_said(error)}")
