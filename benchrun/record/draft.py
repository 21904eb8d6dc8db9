"""A run that is being begun: laid out under a hidden name, and there in one step or not at all.

Everything that a run needs before its first entry, and its first sealed entries, are written in a
folder that no reader takes for a run. Renaming it makes it one. What a kill left before that is
taken away when the next run is begun.
"""

import errno
import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from benchrun.errors import disk_said
from benchrun.moment import Moment
from benchrun.record.durable import sync_folder
from benchrun.record.folder import RunFolder, free_run_name, lay_folder
from benchrun.record.signers import Signers
from benchrun.record.trouble import NotKept
from benchrun.record.writer import LogWriter
from benchrun.text import shown

_ENDING: Final = ".draft"


class DraftRun:
    """The folder of a run that is being begun.

    Args:
        runs: The folder that holds the shop's runs; made where it is missing.
        title: What the run is called, such as the procedure's id.
        at: When; gives the date in the name, in UTC.
        procedure: The bytes of the procedure.
        signers: Those whose keys the first entries need.
        approval: The bytes of the approval of the procedure; None where there is none.
        tag: The four letters at the end of the name; None for random ones.

    Attributes:
        run: The folder that it becomes.
        folder: Where it is until then.

    Raises:
        NotKept: The disk refused, or a run of that name is there.
    """

    def __init__(
        self,
        runs: Path,
        title: str,
        at: Moment,
        procedure: bytes,
        signers: Signers,
        *,
        approval: bytes | None = None,
        tag: str | None = None,
    ) -> None:
        self.run = RunFolder(runs / free_run_name(runs, title, at, tag))
        self.folder = RunFolder(runs / f".{self.run.run}{_ENDING}")
        self._lock = -1
        try:
            runs.mkdir(parents=True, exist_ok=True)
            with _alone(runs):
                _sweep(runs)
                self._refuse_taken(tag is None)
                self.folder.path.mkdir()
                self._lock = _held(self.folder.path)
        except OSError as error:
            raise NotKept(
                f"a run could not be begun in {shown(str(runs), 200)}: {disk_said(error)}",
                retry=True,
            ) from None
        try:
            lay_folder(self.folder, procedure, signers, approval)
        except BaseException:
            self.drop()
            raise

    def _refuse_taken(self, retry: bool) -> None:
        if os.path.lexists(self.run.path):
            raise NotKept(f"there is a run {self.run.run} already", retry=retry)

    def place(self, writer: LogWriter) -> None:
        """Make it the run: from here on it is there for every reader.

        Raises:
            NotKept: The disk refused; it is a draft still.
        """
        try:
            self._refuse_taken(retry=True)
            self.folder.path.rename(self.run.path)
            writer.placed(self.run.path)
            sync_folder(self.run.path.parent)
        except OSError as error:
            self.take_back(writer)
            raise NotKept(
                f"the run {self.run.run} could not be begun: {disk_said(error)}", retry=True
            ) from None

    def take_back(self, writer: LogWriter) -> None:
        """Make a run of which nobody was told a draft again, as far as the disk allows."""
        with suppress(OSError):
            if self.run.path.is_dir():
                self.run.path.rename(self.folder.path)
                writer.placed(self.folder.path)

    def drop(self) -> None:
        """Take the draft away; where the disk refuses, the next begin does."""
        shutil.rmtree(self.folder.path, ignore_errors=True)
        self.close()

    def close(self) -> None:
        """Let go of its lock. Closing twice is harmless."""
        if self._lock >= 0:
            os.close(self._lock)
            self._lock = -1


def _held(folder: Path) -> int:
    """A folder, open and locked, so that no other program takes it for one that was left."""
    number = os.open(folder, os.O_RDONLY | os.O_CLOEXEC | getattr(os, "O_DIRECTORY", 0))
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(number)
        raise
    except OSError as error:
        # Some network file systems lock no folders; then nothing is swept there either.
        if error.errno not in {errno.EBADF, errno.ENOTSUP, errno.ENOLCK, errno.EINVAL}:
            os.close(number)
            raise
    return number


@contextmanager
def _alone(runs: Path) -> Iterator[None]:
    """Hold the folder of the runs while drafts are swept and a new one is made and locked."""
    number = os.open(runs, os.O_RDONLY | os.O_CLOEXEC | getattr(os, "O_DIRECTORY", 0))
    try:
        with suppress(OSError):
            fcntl.flock(number, fcntl.LOCK_EX)
        yield
    finally:
        os.close(number)


def _sweep(runs: Path) -> None:
    """Take away the drafts that killed programs left; those that are being made are locked."""
    for path in runs.iterdir():
        if path.name.startswith(".") and path.name.endswith(_ENDING) and not path.is_symlink():
            _drop_if_left(path)


def _drop_if_left(path: Path) -> None:
    with suppress(OSError):
        number = os.open(path, os.O_RDONLY | os.O_CLOEXEC | getattr(os, "O_DIRECTORY", 0))
        try:
            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(path, ignore_errors=True)
        finally:
            os.close(number)
