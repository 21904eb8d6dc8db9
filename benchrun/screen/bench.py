"""The bench as a screen sees it: clock, alarms, who works, and the way to another screen."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from benchrun.alarms.book import AlarmBook
from benchrun.moment import Moment
from benchrun.record.clock import Clock
from benchrun.screen.theme import Appearance

if TYPE_CHECKING:
    from textual.screen import Screen

    from benchrun.alarms.calls import Alarm, CallingRun, Calls
    from benchrun.board import Board, OpenRun
    from benchrun.screen.user_settings import UserSettings
    from benchrun.session import Sitting
    from benchrun.shop.folder import Shop
    from benchrun.shop.people import Person


class Bench(Protocol):
    """All that a screen may ask of the app, so that no screen imports it.

    Attributes:
        look: How things are shown.
        clock: What tells the time.
        pulse: A clock in seconds that never runs back.
        alarm_book: The alarms that stand.
        person: Who works, once that is known.
    """

    look: Appearance
    clock: Clock
    pulse: Callable[[], float]
    alarm_book: AlarmBook
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

    def note_left(self, run: "CallingRun") -> None:
        """Take note of a run as it was left; so its clocks call until the shop is looked at."""
        ...

    def calls(self, at: Moment, in_hand: "CallingRun | None" = None) -> "Calls | None":
        """The calls of the clocks of the open runs; None where none is read.

        Args:
            at: The moment.
            in_hand: The run that is carried out on the screen, as it stands there.
        """
        ...

    def ring(self, alarms: "Sequence[Alarm]") -> None:
        """Ring for some alarms; nothing is done for none."""
        ...

    def open_screen(self, screen: "Screen[None]") -> None:
        """Lay a screen on top."""
        ...

    def replace_screen(self, screen: "Screen[None]") -> None:
        """Put a screen in the place of the one on top."""
        ...

    def calling(self, in_hand: "CallingRun | None" = None) -> "Sequence[CallingRun]":
        """The open runs whose clocks may call, the one in hand first."""
        ...

    @property
    def shop(self) -> "Shop":
        """The shop."""
        ...

    @property
    def open_runs(self) -> "Sequence[OpenRun]":
        """The open runs, as they were looked at last."""
        ...

    def show_run(self, session: "Sitting", alarm: "Alarm | None", back_to: str) -> None:
        """Lay the screen of a run on top.

        Args:
            session: The run, live or read along.
            alarm: The alarm whose act is to be in hand, or None.
            back_to: The run that the way back leads to; empty: the board.
        """
        ...

    def bring_up(self, alarm: "Alarm") -> bool:
        """Bring up a run that is carried out below, its act for an alarm in hand; whether it is."""
        ...

    def draw_picture(self, path: Path, wait_s: float) -> bool:
        """Draw a picture on the terminal, until a key or for so long; whether it was drawn."""
        ...

    def end(self) -> None:
        """Seal every run, let go of it and leave the program."""
        ...
