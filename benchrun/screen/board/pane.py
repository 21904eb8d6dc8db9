"""The board: clocks first, then what is under way, what is away, and what can be begun."""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from benchrun.board import OpenRun
from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen import keys
from benchrun.screen.board.blocks import (
    begin_block,
    clock_block,
    lessons_block,
    open_block,
    plan_block,
    running,
)
from benchrun.screen.board.duties import away_block, see_to_block
from benchrun.screen.board.host import BoardHost
from benchrun.screen.page import Block, Page, block
from benchrun.screen.page_api import Hint, Pane, headed
from benchrun.screen.text_line import Paper, Role
from benchrun.shop.folder import Listed

MOST: Final = 8
_MOST_CLOCKS: Final = 12
_FEW_CLOCKS: Final = 5
"""So many clocks stay where there is no room for all and for what can be done."""
_FEWEST: Final = 3
_KEPT: Final = 8
LEAVE: Final = (".", keys.QUIT, "q")


@lean_dataclass(frozen=True, slots=True)
class Extent:
    """How much of what may be long stands on the board.

    Attributes:
        clocks: So many clocks.
        plan: So many rows of the plan.
        named: So many procedures with a number of their own.
        short: Whether everything else stands as short as it can.
        closed: Whether no empty rows have to stand between.
        away: Whether what is away stands there too where something else needs attention.
    """

    clocks: int
    plan: int
    named: int
    short: bool = False
    closed: bool = False
    away: bool = True


class BoardPane(Pane):
    """The board's one page: clocks, open runs, duties, procedures."""

    about = "The shop now: clocks, open runs, what needs attention. A number opens one."

    host: BoardHost

    def __init__(self, host: BoardHost) -> None:
        super().__init__(host)
        self._named = MOST
        self._fitting: dict[Hashable, Extent] = {}

    def does(self) -> Hashable:
        """Open what is numbered 1."""
        board = self.host.board
        if board.open_runs:
            return board.open_runs[0].id
        return board.begin[0].id if board.begin else None

    def _numbered(self) -> tuple[Sequence[OpenRun], Sequence[Listed]]:
        """All that has a number: the newest open runs, then procedures, eight in all."""
        board = self.host.board
        runs = board.open_runs[: MOST - min(3, len(board.begin))]
        return runs, self._begin()[: min(self._named, MOST - len(runs))]

    def _begin(self) -> Sequence[Listed]:
        """The procedures to begin, those that parts wait for first."""
        ready, follow = self.host.ready, self.host.follow_on
        begin = self.host.board.begin
        return sorted(begin, key=lambda one: (one.id not in ready, one.id not in follow))

    def page(self, paper: Paper) -> Page:
        """The whole board, as much of it as there is room for.

        Procedures go behind the last number first, then clocks, then the plan. What was found to
        fit is kept as long as nothing more has to be shown.
        """
        shape = self._shape(paper)
        known = self._fitting.get(shape)
        if known is not None and _fits(page := self._drawn(paper, known), known):
            return page
        for extent in self._extents(paper):
            page = self._drawn(paper, extent)
            if _fits(page, extent):
                break
        self._fitting = {**dict(list(self._fitting.items())[-_KEPT:]), shape: extent}
        return page

    def _shape(self, paper: Paper) -> Hashable:
        """All that the room which things take depends on, their texts left out."""
        host, board = self.host, self.host.board
        counts = tuple(map(len, (host.planned, host.duties, host.lessons, host.ready)))
        opened = (len(board.open_runs), len(board.begin), len(running(board, host.now())))
        return (paper, opened, counts, bool(host.notice), bool(host.message[0]))

    def _extents(self, paper: Paper) -> Iterator[Extent]:
        """How much may stand there, the most first."""
        self._named = MOST
        most = max(1, len(self._numbered()[1]))
        plan = 5 if paper.large else 3
        for clocks in (_MOST_CLOCKS, _FEW_CLOCKS) if paper.large else (_FEW_CLOCKS,):
            for named in range(most, 0, -1):
                yield Extent(clocks, plan, named)
        for named in range(most, 0, -1):
            yield Extent(_FEW_CLOCKS, plan, named, short=True)
        for clocks, rows in (
            (_FEW_CLOCKS, 3),
            (_FEW_CLOCKS, 2),
            *((_FEWEST, n) for n in (2, 1, 0)),
        ):
            yield Extent(clocks, rows, 1, short=True, closed=True)
        yield Extent(_FEWEST, 0, 0, short=True, closed=True)
        yield Extent(_FEWEST, 0, 0, short=True, closed=True, away=False)

    def _drawn(self, paper: Paper, extent: Extent) -> Page:
        host, board = self.host, self.host.board
        self._named = extent.named
        now, look = host.now(), host.look
        head = replace(headed(paper, host.shop_title, look.day(now)), yields=True)
        notice = paper.paragraph(host.notice, role=Role.QUIET) if host.notice else []
        runs, begin = self._numbered()
        numbers = {one.id: number for number, one in enumerate(runs, 1)}
        clocks = running(board, now)
        hides_away = not extent.away and any(not duty.away for duty in host.duties)
        blocks = [
            block([head]),
            block(notice, gap=0),
            clock_block(paper, clocks, host, numbers, extent.clocks),
            open_block(paper, runs, now, look),
            plan_block(paper, host.planned, extent.plan),
            block([]) if hides_away else away_block(paper, board.open_runs, host.duties),
            see_to_block(paper, host.duties),
            begin_block(paper, begin, len(runs) + 1, self._unnumbered(), host),
            lessons_block(paper, host.lessons, now),
        ]
        if extent.short:
            blocks = [_shortest(one) for one in blocks[:-1]]
        return self.laid(paper, blocks, self._hints(runs, begin))

    def _hints(self, runs: Sequence[OpenRun], begin: Sequence[Listed]) -> list[Hint]:
        words = "open 1" if runs else "begin 1"
        hints = [Hint("Enter", words, first=bool(runs))] if runs or begin else []
        return [
            *hints,
            Hint("digit", "choose"),
            Hint("*", "the shop"),
            Hint("/", "look up"),
            Hint(".", "leave"),
        ]

    def _unnumbered(self) -> list[OpenRun | Listed]:
        runs, begin = self._numbered()
        return [*self.host.board.open_runs[len(runs) :], *self._begin()[len(begin) :]]

    async def key(self, key: str) -> None:
        """Open, begin, look, leave."""
        from benchrun.screen.board import menus

        runs, begin = self._numbered()
        shown: list[OpenRun | Listed] = [*runs, *begin]
        if key == keys.ENTER:
            key = "1"
        if key == "9" and self._unnumbered():
            opened: list[OpenRun | Listed] = [*self.host.board.open_runs, *self._begin()]
            self.host.push(menus.everything(self.host, opened))
        elif key.isdigit() and 1 <= int(key) <= len(shown):
            await menus.opened(self.host, shown[int(key) - 1])
        elif key in ("*", "/", "h", "w", "l"):
            self.host.push(self.host.menu(key))
        elif key == "0":
            await menus.show_duties(self.host)
        elif key in LEAVE:
            await self.host.quit()


def _fits(page: Page, extent: Extent) -> bool:
    """Whether everything stands on the page, with empty rows between where these are wanted."""
    return page.whole if extent.closed else not page.tight


def _shortest(one: Block) -> Block:
    """A block that stands in its short form and never gives way."""
    return replace(one, lines=one.lines if one.short is None else one.short, short=None, rank=0)
