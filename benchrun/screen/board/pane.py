"""The board: clocks first, then what is under way, what is away, and what can be begun."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace
from datetime import tzinfo
from functools import partial
from typing import TYPE_CHECKING, Protocol

from benchrun.board import Board, OpenRun
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.screen import keys
from benchrun.screen.board.duties import away_block, see_to_block
from benchrun.screen.lessons import Learned, lesson_rows
from benchrun.screen.page import TIGHT, Block, Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost, headed
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.theme import Appearance
from benchrun.shop.folder import Listed
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.dialogue.turns import Flow
    from benchrun.plan.words import PlannedRow
    from benchrun.run.act_clocks import ActClock
    from benchrun.shop.duties import Duty
    from benchrun.shop.folder import Shop
    from benchrun.shop.hours import Hours
    from benchrun.shop.parts import Job
    from benchrun.shop.people import Person

MOST = 8
MOST_CLOCKS = 12
FEW_CLOCKS = 5
"""So many clocks stay where there is no room for all and for what can be done."""
LEAVE = (".", keys.QUIT, "q")


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


class BoardPane(Pane):
    """The board's one page: clocks, open runs, duties, procedures."""

    about = "The shop now: clocks, open runs, what needs attention. A number opens one."

    host: BoardHost

    def __init__(self, host: BoardHost) -> None:
        super().__init__(host)
        self._named = MOST

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
        """The whole board; procedures go behind the last number before anything else is cramped."""
        self._named = MOST
        page = self._page(paper)
        self._named = len(self._numbered()[1])
        while page.tight and self._named > 1:
            self._named -= 1
            page = self._page(paper)
        return page

    def _page(self, paper: Paper) -> Page:
        host, board = self.host, self.host.board
        now, look = host.now(), host.look
        head = replace(headed(paper, host.shop_title, look.day(now)), yields=True)
        blocks = [block([head])]
        if host.notice:
            blocks.append(block(paper.paragraph(host.notice, role=Role.QUIET), gap=0))
        runs, begin = self._numbered()
        blocks += [
            clock_block(paper, board, now, host, look.zone),
            plan_block(paper, host.planned),
            open_block(paper, runs, now, look),
            away_block(paper, board.open_runs, host.duties),
            see_to_block(paper, host.duties),
            begin_block(paper, begin, len(runs) + 1, self._unnumbered(), host),
            lessons_block(paper, host.lessons, now),
        ]
        return self.laid(paper, blocks, self._hints(runs, begin))

    def _hints(self, runs: Sequence[OpenRun], begin: Sequence[Listed]) -> list[Hint]:
        words = "open 1" if runs else "begin 1"
        hints = [Hint("Enter", words, first=bool(runs))] if runs or begin else []
        return [
            *hints,
            Hint("digit", "open or begin" if runs and begin else "begin" if begin else "open"),
            Hint("*", "the shop"),
            Hint("/", "look up"),
            Hint(".", "leave"),
        ]

    def _all(self) -> list[OpenRun | Listed]:
        return [*self.host.board.open_runs, *self._begin()]

    def _unnumbered(self) -> list[OpenRun | Listed]:
        runs, begin = self._numbered()
        return [*self.host.board.open_runs[len(runs) :], *self._begin()[len(begin) :]]

    async def key(self, key: str) -> None:
        """Open, begin, look, leave."""
        runs, begin = self._numbered()
        shown: list[OpenRun | Listed] = [*runs, *begin]
        if key == keys.ENTER:
            key = "1"
        if key == "9" and self._unnumbered():
            self.host.push(self._everything())
        elif key.isdigit() and 1 <= int(key) <= len(shown):
            await self._open(shown[int(key) - 1])
        elif key in ("*", "/", "h", "w", "l"):
            self.host.push(self.host.menu(key))
        elif key == "0":
            await show_duties(self.host)
        elif key in LEAVE:
            await self.host.quit()

    async def _open(self, run: OpenRun | Listed) -> None:
        if isinstance(run, OpenRun):
            await self.host.open_run(run)
        else:
            await self.host.begin(run)

    def _everything(self) -> Pane:
        def choice(run: OpenRun | Listed) -> MenuChoice:
            async def do() -> None:
                await self._open(run)

            beside = run.words if isinstance(run, OpenRun) else run.edition
            return MenuChoice(run.title, do, beside)

        return MenuPane(self.host, "Everything on the board", [choice(o) for o in self._all()])


def heading(paper: Paper, text: str) -> TextLine:
    """A heading of the board."""
    return paper.line(" ", (text.upper(), Role.QUIET))


def running(board: Board, now: Moment) -> "list[tuple[OpenRun, ActClock]]":
    """Every load, what is away and the windows that nobody has answered, the most urgent first."""
    clocks = board.clocks_at(now)
    if not clocks:
        return []
    from benchrun.run.act_clocks import ClockKind

    return [
        (one, clock)
        for one, _, clock in clocks
        if clock.kind is not ClockKind.TEND
        and not (clock.kind is ClockKind.WINDOW and (clock.accepted or _free(clock)))
    ]


def _free(clock: "ActClock") -> bool:
    """Whether a window keeps nobody waiting and closes never: a cure that has ended."""
    return clock.harm_in is None and (clock.opens_in is None or clock.opens_in <= 0)


def clock_block(
    paper: Paper, board: Board, now: Moment, host: BoardHost, zone: tzinfo | None
) -> Block:
    """On the clock: the most urgent in large digits where there is room, the others in rows.

    What would end or close while nobody is in the shop says so below its row.
    """
    clocks = running(board, now)
    if not clocks:
        return block([])
    many = len({one.id for one, _ in clocks}) > 1
    most = MOST_CLOCKS if paper.large else 5
    rows, hours = [heading(paper, "on the clock")], host.hours
    short: list[TextLine] | None = None
    for place, (one, clock) in enumerate(clocks[:most]):
        if place == FEW_CLOCKS:
            left = f"and {len(clocks) - place} more"
            short = [*rows, paper.line("   ", (left, Role.QUIET))]
        name = one.title if many else ""
        if paper.large and not place:
            rows += _large(paper, one, clock, now, zone, name)
            rows += [paper.line()] if len(clocks) > 1 else []
        else:
            rows.append(_clock_row(paper, one, clock, now, zone, name[:8]))
        if hours.known:
            rows += _dark_rows(paper, clock, hours, now, zone)
    if len(clocks) > most:
        rows.append(paper.line("   ", (f"and {len(clocks) - most} more", Role.QUIET)))
    return block(rows, short=short)


def plan_block(paper: Paper, planned: "Sequence[PlannedRow]") -> Block:
    """The next rows of the plan with their times; the block gives way where there is no room."""
    if not planned:
        return block([])
    rows = [heading(paper, "next by the plan")]
    for one in planned[: 5 if paper.large else 3]:
        lead = paper.line(" ", (one.at, Role.STRONG), "  ")
        rows.append(lead + paper.line(paper.fitted(one.words, paper.width - lead.width - 1)))
    return block(rows, short=rows[: 4 if paper.large else 2], rank=TIGHT - 2)


def _dark_rows(
    paper: Paper, clock: "ActClock", hours: "Hours", now: Moment, zone: tzinfo | None
) -> list[TextLine]:
    from benchrun.alarms.dark import dark_words

    words = dark_words(clock, hours, now, zone)
    return paper.paragraph(words, first="      ", role=Role.ACCENT) if words else []


def _clock_row(
    paper: Paper, one: OpenRun, clock: "ActClock", now: Moment, zone: tzinfo | None, name: str
) -> TextLine:
    from benchrun.screen.widgets.clock import act_clock_row

    if one.run is None:
        return paper.line()
    return act_clock_row(paper, one.run, clock, now, zone=zone, name=name)


def _large(
    paper: Paper,
    one: OpenRun,
    clock: "ActClock",
    now: Moment,
    zone: tzinfo | None,
    name: str,
) -> list[TextLine]:
    """The most urgent clock in large digits, to be read from afar."""
    from benchrun.screen.widgets.clock import large_clock

    words = f"{clock.step.number}  {clock.step.text}"
    if clock.load is None and one.run is not None:
        words = f"{part_names(clock.parts, one.run.parts)}: {words}"
    words = f"{name}: {words}" if name else words
    rows = [paper.line("   ", (paper.fitted(words, paper.width - 5), Role.STRONG))]
    for piece in large_clock(paper, one.run, clock, now, zone) if one.run is not None else ():
        rows += [paper.line()] * piece.gap + list(piece.lines)
    return rows


def words_now(run: OpenRun, now: Moment, *, few: bool = False) -> str:
    """Where an open run stands at this moment: what is due in so many minutes is due sooner now."""
    if run.run is None or run.fault:
        return run.words
    from benchrun.board import stands

    return stands(run.run, now, few=few)


def open_block(paper: Paper, runs: Sequence[OpenRun], now: Moment, look: Appearance) -> Block:
    """Open runs with where they stand: two rows each, or one where there is no room."""
    if not runs:
        return block([])
    head = heading(paper, "under way")
    full, short = [head], [head]
    width = 34 if paper.width < 120 else 48
    for number, one in enumerate(runs, 1):
        role = Role.QUIET if one.fault else Role.ACCENT
        since = paper.line((look.since(_at(one, now), now), Role.QUIET), " ")
        lead = paper.line(" ", (f"{number} ", role))
        room = paper.width - since.width - 8
        title = lead + paper.line((paper.fitted(one.title, room), Role.STRONG))
        full.append(paper.between(title, since))
        words = words_now(one, now)
        full += paper.paragraph(words, first="   ", most=2)
        brief = lead + paper.line(paper.padded(one.title, width), " ")
        words = words_now(one, now, few=True)
        words = paper.fitted(words, paper.width - brief.width - since.width - 4)
        short.append(paper.between(brief + paper.line(words), since))
    return block(full, short=short, rank=TIGHT - 1)


def _at(run: OpenRun, now: Moment) -> Moment:
    return Moment(run.since_ms, 0, now.boot, sync=now.sync)


def begin_block(
    paper: Paper,
    begin: Sequence[Listed],
    first: int,
    more: Sequence[OpenRun | Listed],
    host: BoardHost,
) -> Block:
    """Procedures to begin, and in a large window the names of those behind the last number."""
    rows = [heading(paper, "begin")]
    for number, one in enumerate(begin, first):
        waiting, after = len(host.ready.get(one.id, ())), len(host.follow_on.get(one.id, ()))
        words = f"  {count(waiting, 'part')} ready" if waiting else ""
        words = words or (f"  may follow for {count(after, 'part')}" if after else "")
        title = paper.fitted(one.title, paper.width - 6 - len(words))
        line = paper.line(" ", (f"{number} ", Role.STRONG), title)
        edition = _edition(one, paper.width - line.width - len(words) - 3)
        line += paper.line((edition, Role.QUIET)) if edition else paper.line("")
        rows.append(line + paper.line((words, Role.ACCENT)) if words else line)
    if not begin:
        rows.append(paper.line("   ", ("no procedures here", Role.QUIET)))
    if not more:
        return block(rows)
    short = [*rows, paper.line(" ", ("9 ", Role.STRONG), ("more", Role.QUIET))]
    if not paper.large:
        return block(short)
    names = f"the other {len(more)}: {'; '.join(one.title for one in more)}"
    rows += paper.paragraph(names, first=" 9 ", role=Role.QUIET, lead=Role.STRONG, most=4)
    return block(rows, short=short, rank=TIGHT)


def _edition(listed: Listed, room: int) -> str:
    """As much of the edition of a procedure as there is room for: its revision goes first."""
    words = listed.edition.split(", ")
    while words and len(", ".join(words)) > room:
        words.pop()
    return f"   {', '.join(words)}" if words else ""


def lessons_block(paper: Paper, lessons: Sequence[Learned], now: Moment) -> Block:
    """Lessons added lately; they give way to everything else."""
    if not lessons:
        return block([])
    shown = lessons[: 5 if paper.large else 2]
    rows = [heading(paper, "new lessons"), *lesson_rows(paper, shown, now, first="   ")]
    return block(rows, rank=5)


async def show_duties(host: BoardHost) -> None:
    """Open the page of everything that needs attention."""
    from benchrun.dialogue.duties import duties_page

    await host.converse(partial(duties_page, host.board.open_runs, host.duties))


def board_menu(host: BoardHost, which: str, who: "Person | None", shop: "Shop") -> Pane:
    """The menu of a key.

    Args:
        host: The board.
        which: `*` or its letter, `/` or its letter; any other key: the page of keys.
        who: Who works, if that is known.
        shop: The shop.
    """
    from benchrun.screen import help_page

    if which in ("*", "w"):
        return MenuPane(host, "The shop", _shop_choices(host, who, shop))
    if which in ("/", "l"):

        async def sums() -> None:
            from benchrun.dialogue.lookups import sums as sums_flow

            await host.converse(sums_flow)

        async def keys() -> None:
            host.push(help_page.help_pane(host))

        async def guide() -> None:
            from benchrun.dialogue.guide import guide as guide_flow

            await host.converse(guide_flow)

        async def past() -> None:
            from benchrun.screen.past.menus import past_menu

            host.push(past_menu(host, shop))

        async def plan() -> None:
            from benchrun.dialogue.evening import plan_page

            runs = host.board.open_runs
            await host.converse(partial(plan_page, shop, runs, host.now(), host.look.zone))

        async def needs() -> None:
            from benchrun.dialogue.evening import before_evening

            await host.converse(partial(before_evening, shop, host.now()))

        choices = [
            MenuChoice("Sums", sums, "the shop's sums"),
            MenuChoice("Keys", keys, "what each means, and your own"),
            MenuChoice("Guide", guide, "how a procedure is written, by chapters"),
            MenuChoice("Past runs", past, "a reading, a part, step times, an instrument"),
            MenuChoice("Plan of the evening", plan, "what to do when, and what not to begin"),
            *_thing_choices(host, shop),
            MenuChoice("Before the evening", needs, "what is short, goes off, falls due"),
        ]
        return MenuPane(host, "Look up", choices)
    return help_page.help_pane(host)


def _shop_choices(host: BoardHost, who: "Person | None", shop: "Shop") -> list[MenuChoice]:
    """Who works, the books, how long somebody is here, and what needs attention."""
    from benchrun.dialogue.hours import stay_today, today_in_words

    async def stay() -> None:
        await host.converse(partial(stay_today, shop, host.now(), host.look.zone))

    books = "instruments, supplies, parts, people"
    choices = [
        MenuChoice("Who works now", host.ask_who, who.name if who else ""),
        MenuChoice("The shop's books", host.open_books, books),
        MenuChoice("Here today until", stay, today_in_words(shop, host.now(), host.look.zone)),
    ]
    if len(host.duties) or any(run.away for run in host.board.open_runs):
        said = "every row whole; 0 on the board"
        choices.append(MenuChoice("Needs attention", partial(show_duties, host), said))
    return choices


def _thing_choices(host: BoardHost, shop: "Shop") -> list[MenuChoice]:
    """The pages of a part, by its tag, and of a job."""
    from benchrun.shop.parts import part_of_tag, read_jobs, read_parts

    async def tagged(typed: str) -> None:
        try:
            part = part_of_tag(read_parts(shop), typed)
        except BenchrunError as error:
            host.say(error.message, strong=True)
            return
        await host.open_thing("parts", part.id)

    async def ask() -> None:
        said = "Scan its tag, or type it, or one of its cast or stamped numbers."
        host.push(TextPane(host, "Which part", tagged, said=said))

    async def jobs() -> None:
        rows = sorted(read_jobs(shop).rows, key=lambda job: job.done is not None)
        if len(rows) == 1:
            await host.open_thing("jobs", rows[0].id)
            return
        choices = [
            MenuChoice(job.name, partial(host.open_thing, "jobs", job.id), job_state(job))
            for job in rows
        ]
        host.push(MenuPane(host, "Which job", choices, said="" if rows else "No job yet."))

    return [
        MenuChoice("A part", ask, "its life, what is next, what it cost; by its tag"),
        MenuChoice("A job", jobs, "its parts on their routes, what holds it up"),
    ]


def job_state(job: "Job") -> str:
    """How a job stands, in words."""
    return f"done {job.done}" if job.done else "open"
