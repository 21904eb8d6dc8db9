"""Reading along: a run that another window writes, followed as its log grows.

Nothing is written, locked or sealed here; every act is refused with one line.
"""

import os
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.follow import ReadAlong
from benchrun.run import commands as c
from benchrun.run.commands import Command, Refusal
from benchrun.session.sitting import Reply, Sitting
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person

NOT_HERE: Final = "Nothing is recorded from here: another window writes this run."
READ_ONLY: Final = "Nothing is recorded from here: the run's log cannot be written."
LET_GO: Final = "Nothing is recorded from here yet: carry on here first."


class Along(Sitting):
    """A run that another window writes.

    Make one with `read_along`; end it with `leave`. Each `tick` reads what came, on a thread of its
    own, so that a long log never holds a face up.

    Attributes:
        read_only: Whether this user cannot write it at all; it is then never taken up from here.
        written: Whether another window still writes it, or nobody here can.
        fault: Why it can be followed no further, or empty.
    """

    def __init__(self, shop: Shop, folder: RunFolder, person: Person | None, clock: Clock) -> None:
        self._reading = ReadAlong(folder.log)
        lines = self._reading.more()
        procedure = kept_procedure(folder, lines[0].data if lines else {})
        super().__init__(shop, folder, procedure, person, clock)
        self.read_only = not os.access(folder.log, os.W_OK)
        self.written = True
        self.fault = ""
        for line in lines:
            self._take(entry_of(line))
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="along")
        self._tick: Future[None] | None = None

    def tick(self) -> "Future[None]":
        """Let a second pass: read what came, and look whether the other window still writes."""
        if self._tick is None or (self._tick.done() and not self.left):
            self._tick = self._thread.submit(self._follow)
        return self._tick

    def _follow(self) -> None:
        if self.fault:
            return
        try:
            # Asked first: when nobody writes, the last line is there to be read.
            written = self._reading.written()
            for line in self._reading.more():
                self._take(entry_of(line))
            self.written = written or self.read_only
        except (BenchrunError, ValueError) as error:
            self.fault = str(error)

    def send(self, command: Command) -> "Future[Reply]":
        """Refuse a command."""
        del command
        return self._refused()

    def sign(self, command: c.Do | c.Close, passphrase: str) -> "Future[Reply]":
        """Refuse to sign."""
        del command, passphrase
        return self._refused()

    def _refused(self) -> "Future[Reply]":
        future: Future[Reply] = Future()
        future.set_result(Refusal(self.refusal))
        return future

    @property
    def refusal(self) -> str:
        """Why nothing can be done here, in one line."""
        if self.read_only:
            return READ_ONLY
        return NOT_HERE if self.written else LET_GO

    def copy_photo(
        self,
        source: Path | None = None,
        step: str = "",
        parts: tuple[str, ...] = (),
        *,
        any_age: bool = False,
        keep_position: bool = False,
        unsure: bool = False,
    ) -> c.KeepPhoto:
        """Refuse to copy a picture."""
        raise BenchrunError(self.refusal)

    def leave(self) -> None:
        """Read no further. Leaving twice is harmless."""
        self.left = True
        self._thread.shutdown()
        self._reading.close()


def read_along(shop: Shop, folder: RunFolder, person: Person | None, clock: Clock) -> Along:
    """Read along with an open run.

    Args:
        shop: Where.
        folder: The run.
        person: Who reads, and may take it up when the other window lets go.
        clock: What tells the time.

    Raises:
        BenchrunError: The log is damaged, or the copy of its procedure is.
    """
    try:
        return Along(shop, folder, person, clock)
    except ValueError as error:
        raise BenchrunError(
            f"the log of {folder.run} does not fit its procedure: {error}"
        ) from None
