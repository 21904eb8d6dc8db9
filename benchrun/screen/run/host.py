"""What the panes of a run may ask of the run screen."""

from collections.abc import Callable, Sequence
from typing import Protocol

from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.screen.lessons import Learned
from benchrun.screen.page_api import PaneHost
from benchrun.session import Sitting
from benchrun.shop.people import Person
from benchrun.shop_use.instruments import Instruments


class RunHost(PaneHost, Protocol):
    """The run screen."""

    @property
    def session(self) -> Sitting:
        """The live run."""
        ...

    @property
    def instruments(self) -> Instruments:
        """Which instrument each reading is taken with."""
        ...

    def learned(self, step: str) -> Sequence[Learned]:
        """The lessons of past runs on a step, the newest first."""
        ...

    def took(self, step: str) -> str:
        """How long a step took in past runs, in words; empty where that is not known."""
        ...

    async def give(self, command: Command, after: Callable[[], None] | None = None) -> bool:
        """Give a command; a reason or a second word that it lacks is asked for.

        Args:
            command: What is to be done.
            after: What to do when it is kept, at once or after what was asked.

        Returns:
            Whether it was kept at once.
        """
        ...

    async def sign(self, command: c.Do | c.Close, passphrase: str, person: Person) -> bool:
        """Give a command that is signed by somebody.

        Returns:
            Whether it was kept.
        """
        ...

    async def open_books(self) -> None:
        """Open the shop's books above the run."""
        ...

    def home(self) -> None:
        """Go back to the step in hand, whatever is open above it."""
        ...

    def type_in(self, text: str) -> None:
        """Put text into the entry field of the step in hand, to be looked at and accepted."""
        ...

    def leave(self) -> None:
        """Go back to the board; the run goes on."""
        ...
