"""Reading along: a run that another window writes, followed as its log grows.

Nothing is written, locked or sealed here; every act is refused with one line.
"""

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Final

from benchrun.enrol import hand_of
from benchrun.errors import BenchrunError
from benchrun.kept import entry_of, kept_procedure
from benchrun.moment import Moment
from benchrun.record.along import ReadAlong
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.fold import fold
from benchrun.run.state import Run
from benchrun.session.books import Books
from benchrun.session.sitting import Reply
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person

NOT_HERE: Final = "Nothing is recorded from here: another window writes this run."
LET_GO: Final = "Nothing is recorded from here yet: take the run up first."


class Along:
    """A run that another window writes.

    Make one with `read_along`; end it with `leave`. Each `tick` reads what came, on a thread of its
    own, so that a long log never holds a face up.

    Attributes:
        shop: Where.
        folder: Where it is kept.
        procedure: What it follows.
        run: The run as it stands by what was read.
        written: Whether another window still writes it.
        fault: Why it can be followed no further, or empty.
        left: Whether the reading was ended.
        has_signed: Never: nobody signs here.
        books: The shop's books; the other window lets them follow.
    """

    has_signed: Final = False

    def __init__(self, shop: Shop, folder: RunFolder, person: Person, clock: Clock) -> None:
        self.shop = shop
        self.folder = folder
        self.books = Books(shop, folder.run)
        self.written = True
        self.fault = ""
        self._person = person
        self._clock = clock
        self._entries: list[e.Entry] = []
        self._reading = ReadAlong(folder.log)
        lines = self._reading.more()
        self.procedure = kept_procedure(folder, lines[0].data if lines else {})
        self.run = Run(Course(self.procedure.route))
        for line in lines:
            self._take(entry_of(line))
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="along")
        self._tick: Future[None] | None = None
        self.left = False

    @property
    def entries(self) -> Sequence[e.Entry]:
        """Everything that was read, in order."""
        return self._entries

    @property
    def hand(self) -> Hand:
        """Who reads."""
        return hand_of(self._person)

    @property
    def person(self) -> Person:
        """Who reads."""
        return self._person

    def hand_over(self, person: Person) -> None:
        """Let somebody else read, who may then take the run up."""
        self._person = person

    def now(self) -> Moment:
        """The moment now."""
        return self._clock.now()

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
            self.written = written
        except (BenchrunError, ValueError) as error:
            self.fault = str(error)

    def _take(self, entry: e.Entry) -> None:
        self.run = fold(self.run, entry)
        self._entries.append(entry)

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
        """Refuse to copy a picture.

        Raises:
            BenchrunError: Always.
        """
        raise BenchrunError(self.refusal)

    def leave(self) -> None:
        """Read no further. Leaving twice is harmless."""
        self.left = True
        self._thread.shutdown()
        self._reading.close()


def read_along(shop: Shop, folder: RunFolder, person: Person, clock: Clock) -> Along:
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
