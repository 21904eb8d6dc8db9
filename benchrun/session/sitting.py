"""All that a face may ask of a run that is open in its window, written there or read along."""

from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.folder import RunFolder
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.state import Run
from benchrun.session.books import Books
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person


@dataclass(frozen=True, slots=True)
class Kept:
    """A command that was taken: its entries are on the disk."""

    entries: tuple[e.Entry, ...]


Reply = Kept | Refusal


class Sitting(Protocol):
    """A run that is open in a window.

    What is handed out is immutable, so that a face may read it at any time.
    """

    @property
    def shop(self) -> Shop:
        """Where."""
        ...

    @property
    def folder(self) -> RunFolder:
        """Where it is kept."""
        ...

    @property
    def procedure(self) -> Procedure:
        """The procedure that it follows."""
        ...

    @property
    def run(self) -> Run:
        """The run as it stands."""
        ...

    @property
    def entries(self) -> Sequence[e.Entry]:
        """Everything that was kept, in order."""
        ...

    @property
    def hand(self) -> Hand:
        """Who works now."""
        ...

    @property
    def person(self) -> Person:
        """Who works now, with the key."""
        ...

    @property
    def books(self) -> Books:
        """The shop's books, which follow the log of the window that writes it."""
        ...

    @property
    def has_signed(self) -> bool:
        """Whether somebody has signed in this sitting."""
        ...

    @property
    def left(self) -> bool:
        """Whether the run was let go of here."""
        ...

    def hand_over(self, person: Person) -> None:
        """Let somebody else go on."""
        ...

    def now(self) -> Moment:
        """The moment now."""
        ...

    def send(self, command: Command) -> "Future[Reply]":
        """Give a command."""
        ...

    def sign(self, command: c.Do | c.Close, passphrase: str) -> "Future[Reply]":
        """Give a command that is signed in its own next line."""
        ...

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
        """Copy a picture into the run's folder; the command that names it is still to be given."""
        ...

    def tick(self) -> "Future[None]":
        """Let a second pass."""
        ...

    def leave(self) -> None:
        """Let go of the run. Leaving twice is harmless."""
        ...
