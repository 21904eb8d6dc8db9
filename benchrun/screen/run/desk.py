"""What the panes of a run may ask of the run screen."""

from typing import Protocol

from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.screen.desk import Desk
from benchrun.session import Session
from benchrun.shop.people import Person


class RunDesk(Desk, Protocol):
    """The run screen."""

    @property
    def session(self) -> Session:
        """The live run."""
        ...

    async def give(self, command: Command) -> bool:
        """Give a command; a reason or a second word that it lacks is asked for.

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

    def leave(self) -> None:
        """Go back to the board; the run goes on."""
        ...
