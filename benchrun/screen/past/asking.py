"""A question put to the index: it is asked beside, and how far the reading has come is shown."""

import asyncio
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, Generic, TypeVar

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.shop.folder import Shop
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.history.index import History, Refreshed

T = TypeVar("T")
_BAR: Final = 40
_TOLD: Final = 3  # damaged runs that are named on an answer


@lean_dataclass(frozen=True, slots=True)
class Past(Generic[T]):
    """An answer with how the index stood when it was given."""

    answer: T
    index: "Refreshed"


class _Left(Exception):
    """Nobody waits for the answer any more."""


class AskPane(Pane, Generic[T]):
    """Reads on what is new in the logs, asks, and leaves its place to the answer.

    What was read is kept, so that a question left early is no work lost.

    Args:
        host: The screen.
        shop: The shop.
        title: What is asked.
        ask: Asks the index; it is called beside, in a thread.
        show: Makes the pane of the answer.
        anew: Throw the index away first.
    """

    def __init__(
        self,
        host: PaneHost,
        shop: Shop,
        title: str,
        ask: "Callable[[History], T]",
        show: Callable[[Past[T]], Pane],
        *,
        anew: bool = False,
    ) -> None:
        super().__init__(host)
        self._shop = shop
        self._title = title
        self._ask = ask
        self._show = show
        self._anew = anew
        self._done, self._whole = 0, 0
        self._fault = ""
        self._left = threading.Event()
        self._task: asyncio.Task[None] | None = None

    def begin(self) -> None:
        """Lay it on the host and set the question going."""
        self.host.push(self)
        self._task = asyncio.get_running_loop().create_task(self._go())

    async def _go(self) -> None:
        try:
            past = await asyncio.to_thread(self._asked)
        except BenchrunError as error:
            self._fault = error.message
        except _Left:
            return
        except asyncio.CancelledError:
            self._left.set()  # the program ends: the thread must not keep it
            raise
        else:
            if not self._left.is_set():
                self.host.pop(self)
                self.host.push(self._show(past))
        self.host.paint()

    def _asked(self) -> Past[T]:
        from benchrun.history.index import History

        with History(self._shop.path) as history:
            read = history.rebuild if self._anew else history.refresh
            done = read(self._progress)
            return Past(self._ask(history), done)

    def _progress(self, done: int, whole: int) -> None:
        self._done, self._whole = done, whole
        if self._left.is_set():
            raise _Left

    def page(self, paper: Paper) -> Page:
        """How far the reading has come, or why there is no answer."""
        head = [paper.line(" ", (paper.fitted(self._title, paper.width - 2), Role.STRONG))]
        rows = paper.paragraph(self._fault, first="   ") if self._fault else self._reading(paper)
        return self.laid(paper, [block(head), block(rows)], [Hint("-", "back", first=True)])

    def _reading(self, paper: Paper) -> list[TextLine]:
        if not self._whole:
            return paper.paragraph(
                "Looking for what is new in the logs.", first="   ", role=Role.QUIET
            )
        made = min(_BAR, _BAR * self._done // self._whole)
        bar = (
            (paper.signs.thick * made, Role.ACCENT),
            (paper.signs.thin * (_BAR - made), Role.QUIET),
        )
        words = f"  {self._done} of {count(self._whole, 'run')}"
        told = "Read once and kept; next time only what is new is read. Leaving loses nothing."
        if self._done == self._whole:
            told = "All are read; they are being put in order."
        return [
            paper.line("   ", *bar, words),
            paper.line(),
            *paper.paragraph(told, first="   ", role=Role.QUIET),
        ]

    async def key(self, key: str) -> None:
        """Leave the question."""
        if key in ("-", keys.BACK, keys.ENTER):
            self._left.set()
            await self.leave()


def skipped_rows(paper: Paper, index: "Refreshed") -> list[TextLine]:
    """The damaged runs that are in no answer, each in a line; none is passed over in silence."""
    named = list(index.skipped.items())
    rows: list[TextLine] = []
    for name, text in named[:_TOLD]:
        said = f"{name}: {text.removeprefix(name).strip()}"
        rows += paper.paragraph(said, first=" skipped, damaged  ", lead=Role.ACCENT, most=2)
    if len(named) > _TOLD:
        more = f"and {count(len(named) - _TOLD, 'more damaged run')}: Look up, Past runs, The index"
        rows += paper.paragraph(more, role=Role.QUIET)
    return [*rows, paper.line()] if rows else []
