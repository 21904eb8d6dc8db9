"""The board screen as its pane and its menus see it."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Protocol

from benchrun.board import Board, OpenRun
from benchrun.screen.lessons import Learned
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.shop.folder import Listed

if TYPE_CHECKING:
    from benchrun.dialogue.turns import Flow
    from benchrun.plan.words import PlannedRow
    from benchrun.shop.duties import Duty
    from benchrun.shop.hours import Hours


class BoardHost(PaneHost, Protocol):
    """The board screen."""

    @property
    def board(self) -> Board:
        """The open runs, as they were looked at last."""
        ...

    @property
    def lessons(self) -> Sequence[Learned]:
        """Lessons of the last days, the newest first."""
        ...

    @property
    def duties(self) -> "Sequence[Duty]":
        """The shop's duties, the late first."""
        ...

    async def converse(self, begin: "Callable[[], Flow]") -> None:
        """Carry a flow on, question by question."""
        ...

    async def read_duties(self) -> None:
        """Read the shop's books for its duties, unless that was done already."""
        ...

    @property
    def shop_title(self) -> str:
        """The shop's title."""
        ...

    @property
    def ready(self) -> "Mapping[str, Sequence[str]]":
        """For each procedure the parts whose turn it is by their routes."""
        ...

    @property
    def follow_on(self) -> "Mapping[str, Sequence[str]]":
        """For each procedure the parts without a route that it may follow on for."""
        ...

    @property
    def hours(self) -> "Hours":
        """When the shop is attended."""
        ...

    @property
    def planned(self) -> "Sequence[PlannedRow]":
        """The next rows of the plan of the evening; none without hours."""
        ...

    @property
    def notice(self) -> str:
        """The text that stands on the board all the time, or empty."""
        ...

    async def open_run(self, run: OpenRun) -> None:
        """Take up an open run."""
        ...

    async def begin(self, listed: Listed) -> None:
        """Begin a run of a procedure."""
        ...

    def menu(self, which: str) -> Pane:
        """The menu of `*` or of `/`."""
        ...

    async def ask_who(self) -> None:
        """Ask who works from here on."""
        ...

    async def open_books(self) -> None:
        """Lay the shop's books over the board."""
        ...

    async def open_thing(self, key: str, name: str) -> None:
        """Open the page of a part or a job.

        Args:
            key: parts or jobs.
            name: Its id.
        """
        ...

    async def quit(self) -> None:
        """Leave the program."""
        ...
