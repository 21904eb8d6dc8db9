"""All that a face may ask of a run that is open in its window, written there or read along."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from concurrent.futures import Future
from pathlib import Path
from typing import Final

from benchrun.account.signing_list import signing_list_of, statement_of
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.fold import fold
from benchrun.run.state import Run
from benchrun.session.books import Books
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.signing_keys import hand_of

UNNAMED: Final = "Say first who works: every entry is in somebody's name."


@lean_dataclass(frozen=True, slots=True)
class Kept:
    """A command that was taken: its entries are on the disk."""

    entries: tuple[e.Entry, ...]


Reply = Kept | Refusal


class Sitting(ABC):
    """A run that is open here; before anything was read of it, it has no entries.

    What is handed out is immutable, so that a face may read it at any time.

    Attributes:
        shop: Where.
        folder: Where it is kept.
        procedure: What it follows.
        run: The run as it stands.
        clock: What tells the time.
        books: The shop's books, which follow the log of whoever writes it.
        left: Whether it was let go of here.
        trouble: Why nothing can be kept at the moment, or empty.
        has_signed: Whether somebody has signed here: the first signature asks for who signs as
            well, later ones for the key alone.
        unlocked_ms: How long a key that was unlocked here stays so, for one person's sitting.
    """

    def __init__(
        self,
        shop: Shop,
        folder: RunFolder,
        procedure: Procedure,
        person: Person | None,
        clock: Clock,
    ) -> None:
        self.shop = shop
        self.folder = folder
        self.procedure = procedure
        self.run = Run(Course(procedure.route))
        self.clock = clock
        self.books = Books(shop, folder.run)
        self.left = False
        self.trouble = ""
        self.has_signed = False
        self.unlocked_ms = 0
        self._person = person
        self._entries: list[e.Entry] = []

    @property
    def entries(self) -> Sequence[e.Entry]:
        """Everything that was kept, in order."""
        return self._entries

    @property
    def hand(self) -> Hand:
        """Who is at it now.

        Raises:
            BenchrunError: Nobody is named yet.
        """
        if self._person is None:
            raise BenchrunError(UNNAMED)
        return hand_of(self._person)

    @property
    def person(self) -> Person | None:
        """Who is at it now, with the key; None until somebody is named."""
        return self._person

    def hand_over(self, person: Person | None) -> None:
        """Let somebody else go on; whatever is done from now on is in that name."""
        self._person = person

    def now(self) -> Moment:
        """The moment now."""
        return self.clock.now()

    def _take(self, entry: e.Entry) -> None:
        """Follow an entry that is on the disk."""
        self.run = fold(self.run, entry)
        self._entries.append(entry)

    @abstractmethod
    def send(self, command: Command) -> "Future[Reply]":
        """Give a command.

        Returns:
            What came of it, once it is on the disk or refused.
        """

    @abstractmethod
    def sign(self, command: c.Do | c.Close, passphrase: str) -> "Future[Reply]":
        """Give a command that is signed in its own next line: a hold, or the close of the run.

        The key is opened first, so that a wrong passphrase leaves nothing behind.
        """

    def unlocked(self, person: Person) -> bool:
        """Whether a person's key stands unlocked here, so that no passphrase is asked for."""
        del person
        return False

    def remarks(self, command: c.Do | c.Close) -> tuple[e.Remark, ...]:
        """The list under a signature: what the record holds of its parts; it walks the log."""
        if isinstance(command, c.Close):
            parts, says = self.run.parts, command.says
        else:
            parts, says = command.parts, statement_of(self.procedure.route.steps[command.step])
        return signing_list_of(self.procedure, tuple(self._entries), parts, says)

    @abstractmethod
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
        """Copy a picture into the run's folder; on the caller's thread, as it may be large.

        Args:
            source: The picture; None for the newest one of the shop's watched folder.
            step: The step that it belongs to.
            parts: The parts that it shows.
            any_age: Whether the newest one may be older than the run.
            keep_position: Whether the copy may tell where it was taken.
            unsure: Whether it is taken although it could not be looked into, or not in full.

        Returns:
            The command that names it in the log, still to be given.

        Raises:
            MayTell: It could not be looked into, and `unsure` is not said: ask.
            BenchrunError: There is no such picture, the disk refused, or nothing is kept here.
        """

    @abstractmethod
    def tick(self) -> "Future[None]":
        """Let a second pass."""

    @abstractmethod
    def leave(self) -> None:
        """Let go of the run. Leaving twice is harmless."""
