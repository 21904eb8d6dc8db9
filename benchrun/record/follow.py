"""Reading along with a log that another window is writing."""

import fcntl
import io
import os
from pathlib import Path
from typing import Self

from benchrun.errors import disk_said
from benchrun.plain_file import plain_fd
from benchrun.record.chain import Chain, raw_lines
from benchrun.record.line import Line
from benchrun.record.trouble import RecordBroken
from benchrun.text import shown


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
            raise self._unread(error) from None

    def _more(self) -> list[Line]:
        fd = self._current()
        size = os.fstat(fd).st_size
        if size < self._at:
            raise RecordBroken(f"{shown(self._path.name, 200)} is shorter than it was")
        # Read past any buffer, so that what the writer cut back meanwhile is not seen again.
        new = io.BytesIO(os.pread(fd, size - self._at, self._at))
        lines = []
        for raw in raw_lines(new, self._path.name, self._chain.n):
            if raw[-1] != 10:  # LF: the writer is in the middle of it
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
            raise self._unread(error) from None
        return False

    def _unread(self, error: OSError) -> RecordBroken:
        return RecordBroken(f"{shown(str(self._path), 200)} cannot be read: {disk_said(error)}")

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
