"""The run screen as its panes see it."""

from collections.abc import Callable, Sequence
from typing import Protocol

from benchrun.dialogue.turns import Flow
from benchrun.dialogue.work import Work
from benchrun.screen.lessons import Learned
from benchrun.screen.page_api import PaneHost
from benchrun.session import Sitting


class RunHost(PaneHost, Protocol):
    """The run screen."""

    @property
    def session(self) -> Sitting:
        """The live run."""
        ...

    @property
    def work(self) -> Work:
        """The work in hand."""
        ...

    def learned(self, step: str) -> Sequence[Learned]:
        """The lessons of past runs on a step, the newest first."""
        ...

    def took(self, step: str) -> str:
        """How long a step took in past runs, in words; empty where that is not known."""
        ...

    @property
    def back_to(self) -> str:
        """The run from which an alarm led here; empty: none did."""
        ...

    async def converse(self, begin: Callable[[], Flow], first: str | None = None) -> None:
        """Carry a flow on, question by question; see `ScreenFlow`."""
        ...

    async def type_on(self, key: str) -> None:
        """Give a key to the page that lies on top."""
        ...

    def leave(self) -> None:
        """Go back to the board; the run goes on."""
        ...
