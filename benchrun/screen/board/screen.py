"""The board screen: looks at the shop, opens runs, begins them."""

import asyncio
import gc
from collections.abc import Hashable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import tzinfo
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

from textual import work

from benchrun.board import Board, OpenRun, glance, look
from benchrun.errors import BenchrunError
from benchrun.kept_runs import FileStamp, file_stamp
from benchrun.screen.bench import Bench
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.board.pane import BoardPane
from benchrun.screen.lessons import Learned, learned_lately
from benchrun.screen.page_api import Pane
from benchrun.shop.folder import Listed, Shop
from benchrun.version import build

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm
    from benchrun.dialogue.new_run import NewRun
    from benchrun.moment import Moment
    from benchrun.plan.words import PlannedRow
    from benchrun.screen.run.screen import RunScreen
    from benchrun.shop.duties import Duty
    from benchrun.shop.hours import Hours
    from benchrun.shop.people import Person

LOOK_EVERY_S = 10
_PLAN_EVERY_MS: Final = 300_000
_NEXT: Final = (
    "benchrun.screen.run.follow",
    "benchrun.dialogue.new_run",
    "benchrun.screen.board.menus",
    "benchrun.screen.dialogue_panes",
    "benchrun.dialogue.past_runs",
    "benchrun.screen.book.screen",
)
"""The modules that the next key may need."""


class BoardScreen(BenchScreen):
    """The board: the open runs, what is due, and what can be begun.

    What only an opened run needs is imported when one is opened: the board comes up sooner.

    Args:
        bench: The app.
        shop: The shop.
        notice: What stands on the board all the time, or empty.
        start: A procedure to begin at once, or None.
        run: The folder of an open run to take up at once, or None.
    """

    def __init__(
        self,
        bench: Bench,
        shop: Shop,
        *,
        notice: str = "",
        start: Path | None = None,
        run: Path | None = None,
    ) -> None:
        super().__init__(bench)
        self._shop = shop
        self._notice = notice
        self._start = start
        self._run = run
        self._board = glance(shop)
        self._lessons: Sequence[Learned] = ()
        self._duties: Sequence[Duty] | None = None
        self._ready: Mapping[str, Sequence[str]] = {}
        self._follow_on: Mapping[str, Sequence[str]] = {}
        self._since_look = 0
        self._looking, self._look_again = False, False
        self._hours: tuple[FileStamp, Hours] | None = None
        self._planned: Sequence[PlannedRow] = ()
        self._planned_for: Hashable = None
        self._to_begin: Listed | None = None
        self.push(BoardPane(self))

    @property
    def board(self) -> Board:
        """The open runs, as they were looked at last."""
        return self._board

    @property
    def lessons(self) -> Sequence[Learned]:
        """Lessons of the last days, the newest first; none until they are read."""
        return self._lessons

    @property
    def duties(self) -> "Sequence[Duty]":
        """The shop's duties, the late first; none until its books are read."""
        return self._duties or ()

    @property
    def shop_title(self) -> str:
        """The shop's title, and who works."""
        person = self.bench.person
        return f"{self._shop.title}   {person.name}" if person else self._shop.title

    @property
    def ready(self) -> Mapping[str, Sequence[str]]:
        """For each procedure the parts whose turn it is by their routes."""
        return self._ready

    @property
    def follow_on(self) -> Mapping[str, Sequence[str]]:
        """For each procedure the parts without a route that it may follow on for."""
        return self._follow_on

    @property
    def hours(self) -> "Hours":
        """When the shop is attended."""
        stamp = file_stamp(self._shop.path / "shop.yaml")
        if self._hours is None or self._hours[0] != stamp:
            from benchrun.shop.settings import hours_of

            self._hours = (stamp, hours_of(self._shop))
        return self._hours[1]

    @property
    def planned(self) -> "Sequence[PlannedRow]":
        """The next rows of the plan of the evening; none without hours."""
        return self._planned

    @property
    def notice(self) -> str:
        """The text that stands on the board all the time."""
        return self._notice

    def on_mount(self) -> None:
        """Note what is open; begin what was asked for."""
        self.bench.note(self._board)
        self.call_after_refresh(self._look_first)
        if self._start is not None:
            self.run_worker(self._begin_file(self._start))
        elif self._run is not None:
            self.run_worker(self._open_folder(self._run))

    async def _begin_file(self, path: Path) -> None:
        await self.begin(Listed(path.stem, path.stem, path))
        self.paint()

    async def _open_folder(self, path: Path) -> None:
        await self.open_run(OpenRun(path, path.name, ""))
        self.paint()

    def tick(self) -> None:
        """Let a second pass; look at the shop anew now and then."""
        self._since_look += 1
        if self._since_look >= LOOK_EVERY_S and not self._looking:
            # Under a run too: what somebody does in another window must not call here for ever.
            self.run_worker(self.look_again())
        super().tick()

    @work
    async def _look_first(self) -> None:
        """Read all that the first frame need not wait for."""
        if not self._board.looked:
            await self.look_again()
        if not await asyncio.to_thread(self.bench.has_people, self._shop):
            self.bench.ask_who()
            return
        self._people()
        self.bench.tell_settings_faults()
        self.paint()
        await asyncio.to_thread(_import_ahead)
        self._read_beside()

    @work(exclusive=True, group="lessons")
    async def _read_beside(self) -> None:
        """Read books and lessons, then what is new for the index; the board stands meanwhile."""
        try:
            await self._read_duties()
            self.paint()
            ready = await asyncio.to_thread(_ready_parts, self._shop)
            self._ready, self._follow_on = ready
            self._lessons = await asyncio.to_thread(learned_lately, self._shop, self.now())
            self.paint()
            await asyncio.to_thread(_update_index, self._shop)
        except BenchrunError as error:
            self.say(error.message, strong=True)
        self.paint()

    async def _read_duties(self) -> None:
        from benchrun.dialogue.duties import read_duties

        left = self._board.left_away
        self._duties = await asyncio.to_thread(read_duties, self._shop, left, self.now())

    async def read_duties(self) -> None:
        """Read the shop's books for its duties, unless that was done already."""
        if self._duties is None:
            try:
                await self._read_duties()
            except BenchrunError as error:
                self.say(error.message, strong=True)

    async def look_again(self) -> None:
        """Look at the shop; one look at a time, and the next one a while after it has ended."""
        if self._looking:
            self._look_again = True
            return
        self._looking = True
        try:
            await self._look()
            while self._look_again:
                self._look_again = False
                await self._look()
            await self._plan()
        finally:
            self._looking, self._since_look = False, 0

    async def _plan(self) -> None:
        """Plan anew where an entry landed or some minutes went by; no key waits for it."""
        board, now = self._board, self.now()
        if not board.looked or not self.hours.known:
            self._planned = ()
            return
        stands = tuple((one.id, one.run.n if one.run else 0) for one in board.open_runs)
        asked = (stands, now.utc_ms // _PLAN_EVERY_MS, self._hours)
        if asked != self._planned_for:
            self._planned_for = asked
            zone = self.bench.look.zone
            self._planned = await asyncio.to_thread(
                _planned_rows, self._shop, board.open_runs, now, zone
            )
            self.paint()

    async def _look(self) -> None:
        loop = asyncio.get_running_loop()

        def each(board: Board) -> None:
            with suppress(RuntimeError):  # the program was left meanwhile
                loop.call_soon_threadsafe(self._take, board)

        part = None if self._board.looked else each
        try:
            self._take(await asyncio.to_thread(look, self._shop, self.now(), part))
        except BenchrunError as error:
            self.say(error.message, strong=True)
            board = self._board
            if not board.looked:
                runs = tuple(replace(open_run, words="") for open_run in board.open_runs)
                board = replace(board, open_runs=runs, looked=True)
            self._take(board)

    def _take(self, board: Board) -> None:
        """Show a board as far as it is read; what is due in it calls at once."""
        self._board = board
        self.bench.note(board)
        if self.in_front:
            self.hear()
        self.paint()

    async def on_screen_resume(self) -> None:
        """Look at the shop when a run was left."""
        if self.is_mounted and self._board.looked:
            await self.look_again()
            self._read_beside()

    async def open_run(self, run: OpenRun) -> None:
        """Resume an open run, or read along where another window writes it."""
        await self.resume(run)

    async def resume(self, one: OpenRun, alarm: "Alarm | None" = None) -> None:
        """Resume an open run; in a shop of one person it is known who works."""
        self._know_only_person()
        await super().resume(one, alarm)

    def _show(self, screen: "RunScreen") -> None:
        del self.panes[1:]
        self.bench.open_screen(screen)

    async def begin(self, listed: Listed) -> None:
        """Ask what a new run needs, then begin it."""
        from benchrun.dialogue.new_run import NewRun
        from benchrun.procedure.load import load

        try:
            procedure = await asyncio.to_thread(load, listed.path)
        except BenchrunError as error:
            self.say(error.message.partition("\n")[0], strong=True)
            return
        self._know_only_person()
        new = NewRun(self._shop, procedure, self.now, self.bench.person)
        self._to_begin = listed

        async def go(known: bool) -> None:
            self._to_begin = None
            if known and new.person is not None:
                self.bench.person = new.person
                await self._begin(new, new.person)

        await self.converse(new.ask, ended=go)

    async def _begin(self, new: "NewRun", person: "Person") -> None:
        from benchrun.screen.run.screen import RunScreen
        from benchrun.session import begin

        try:
            session = await asyncio.to_thread(
                lambda: begin(
                    self._shop,
                    new.procedure,
                    new.parts,
                    person,
                    self.bench.clock,
                    readied=new.readied,
                    figures=new.figures,
                    job=new.job,
                    more=new.more,
                )
            )
        except BenchrunError as error:
            self.say(error.message, strong=True)
            return
        self._show(RunScreen(self.bench, session, resumed=False))

    def in_hand(self) -> Iterator[tuple[str, Path]]:
        """The procedure that is about to begin, then those of the open runs."""
        if self._to_begin is not None:
            yield self._to_begin.title, self._to_begin.path
        yield from super().in_hand()

    def _know_only_person(self) -> None:
        """In a shop of one person it is known who works; in others it is asked when it matters."""
        people = self._people()
        if self.bench.person is None and len(people) == 1:
            self.bench.person = people[0]

    def _people(self) -> "tuple[Person, ...]":
        from benchrun.shop.people import read_people

        try:
            return read_people(self._shop)
        except BenchrunError as error:
            self.say(error.message, strong=True)
            return ()

    def menu(self, which: str) -> Pane:
        """Who works and the shop's books; or what can be looked up here."""
        from benchrun.screen.board.menus import board_menu

        return board_menu(self, which, self.bench.person, self._shop)

    async def ask_who(self) -> None:
        """Ask who works from here on."""
        from benchrun.screen.prompts import MenuChoice, MenuPane

        def choice(person: "Person") -> MenuChoice:
            async def do() -> None:
                self.bench.person = person

            return MenuChoice(person.name, do, ", ".join(person.roles))

        self.push(MenuPane(self, "Who works", [choice(one) for one in self._people()]))

    async def open_books(self) -> None:
        """Lay the shop's books over the board."""
        from benchrun.screen.book.screen import BookScreen

        self.bench.open_screen(BookScreen(self.bench, self._shop))

    async def open_thing(self, key: str, name: str) -> None:
        """Lay the page of a part or a job over the board."""
        from benchrun.screen.book.screen import BookScreen

        self.bench.open_screen(BookScreen(self.bench, self._shop, (key, name)))

    async def quit(self) -> None:
        """Leave the program."""
        await self.leave_program()

    def pop(self, pane: Pane) -> None:
        """Take a pane away; the board itself stays."""
        if self.panes and pane is not self.panes[0]:
            super().pop(pane)


def _import_ahead() -> None:
    """Import what the next key may need: the hand would wait a tenth of a second for it.

    A run that is begun here later says which build this is, also if another was installed by then.

    All that is there then stays, so Python's search for cycles leaves it out from now on: going
    through it again holds a key up for a twentieth of a second now and then.
    """
    for name in _NEXT:
        import_module(name)
    build()
    gc.freeze()


def _planned_rows(
    shop: Shop, runs: Sequence[OpenRun], now: "Moment", zone: "tzinfo | None"
) -> "Sequence[PlannedRow]":
    """The next rows of the list's plan; none where the shop's books cannot be read."""
    from benchrun.plan.evening import plan_evening, shop_ahead, soonest_chosen
    from benchrun.plan.told_plans import told_plan
    from benchrun.plan.words import planned_rows

    told = told_plan(shop.path, now)
    try:
        ahead = shop_ahead(shop, runs, now, last=told.begins, zone=zone)
    except BenchrunError:
        return ()  # the board tells what is wrong in a book
    evening = plan_evening(ahead, now, rounds=0, ranges=False)
    return planned_rows(soonest_chosen(evening) if told.soonest else evening, now, zone)


def _ready_parts(
    shop: Shop,
) -> tuple[Mapping[str, Sequence[str]], Mapping[str, Sequence[str]]]:
    """For each procedure the parts whose turn it is, and those that it may follow on for."""
    from benchrun.board import parts_in_work
    from benchrun.plan.progress import parts_progress, parts_to_follow_on, ready_parts

    busy = parts_in_work(shop)
    return ready_parts(parts_progress(shop, busy)), parts_to_follow_on(shop, busy)


def _update_index(shop: Shop) -> None:
    """Take what is new in the logs into the index."""
    from benchrun.history import estimates

    estimates.keep_up(shop.path)
