"""The bench as a screen sees it: the clock, the bells, who works, and the way to another screen."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from benchrun.record.clock import Clock
from benchrun.screen.alarm import Alarm, Bells
from benchrun.screen.theme import Appearance

if TYPE_CHECKING:
    from textual.screen import Screen

    from benchrun.board import Board
    from benchrun.screen.user_settings import UserSettings
    from benchrun.shop.folder import Shop
    from benchrun.shop.people import Person


class Bench(Protocol):
    """All that a screen may ask of the app, so that no screen imports it.

    Attributes:
        look: How things are shown.
        clock: What tells the time.
        pulse: A clock in seconds that never runs back.
        bells: The alarms that stand.
        person: Who works, once that is known.
    """

    look: Appearance
    clock: Clock
    pulse: Callable[[], float]
    bells: Bells
    person: "Person | None"

    @property
    def user_settings(self) -> "UserSettings":
        """The keys and the alarm command that were chosen."""
        ...

    def tell_settings_faults(self) -> None:
        """Say what is wrong in the files of user settings."""
        ...

    def has_people(self, shop: "Shop") -> bool:
        """Whether anybody is known to work in a shop."""
        ...

    def ask_who(self) -> None:
        """Ask for a name and a key in a shop in which nobody is known."""
        ...

    def note(self, board: "Board") -> None:
        """Take note of what is open, so that its clocks can call from anywhere."""
        ...

    def alarms(self, but: str = "") -> list[Alarm]:
        """The alarms of the open runs, less those of the run named."""
        ...

    def ring(self, alarm: Alarm | None) -> None:
        """Ring for an alarm."""
        ...

    def open_screen(self, screen: "Screen[None]") -> None:
        """Lay a screen on top."""
        ...

    def replace_screen(self, screen: "Screen[None]") -> None:
        """Put a screen in the place of the one on top."""
        ...

    def exit(self) -> None:
        """Leave the program."""
        ...
