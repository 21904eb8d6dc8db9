"""The app: one shop, one clock, the alarms, and whichever screen is on top."""

import asyncio
import signal
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual._compositor import LayoutUpdate
from textual.app import App
from textual.binding import Binding, BindingType

from benchrun.alarms.book import AlarmBook
from benchrun.board import Board, OpenRun
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.record.clock import Clock, SystemClock
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.board.screen import BoardScreen
from benchrun.screen.driver import TerminalDriver
from benchrun.screen.frames import StripCells
from benchrun.screen.theme import THEMES, Appearance
from benchrun.shop.folder import Shop, exists, open_shop

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.style import Style
    from textual.geometry import Size
    from textual.screen import Screen

    from benchrun.alarms.calls import Alarm, CallingRun, Calls
    from benchrun.alarms.command import AlarmCommand
    from benchrun.screen.user_settings import UserSettings
    from benchrun.session import Sitting
    from benchrun.shop.people import Person


class BenchApp(App[None]):
    """The bench in a terminal.

    Args:
        path: The shop's folder; where there is none yet, the first start makes it.
        look: How things are shown.
        clock: What tells the time.
        pulse: A clock in seconds that never runs back, for the deaf half second.
        start: A procedure to begin at once, or None.
        run: The folder of an open run to take up at once, or None.
        notice: What stands on the board all the time, or empty.
        settings: The file of a person's own keys and alarm command, or None.
    """

    # The one sheet of all screens: one that brought its own would have every sheet read again.
    CSS_PATH: ClassVar[str | Path | None] = "app.tcss"
    ENABLE_COMMAND_PALETTE: ClassVar[bool] = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f10,ctrl+q,ctrl+c", "quit", "leave", show=False, priority=True, id="leave"),
    ]

    def __init__(
        self,
        path: Path,
        *,
        look: Appearance | None = None,
        clock: Clock | None = None,
        pulse: Callable[[], float] = time.monotonic,
        start: Path | None = None,
        run: Path | None = None,
        notice: str = "",
        settings: Path | None = None,
    ) -> None:
        self.look = look or Appearance()
        theme = THEMES[self.look.theme]
        # Where the terminal's own colours are used this must be known before anything is set up.
        super().__init__(driver_class=TerminalDriver, ansi_color=True if theme.ansi else None)
        self.path = path
        self.clock: Clock = clock or SystemClock()
        self.pulse = pulse
        self.alarm_book = AlarmBook()
        self.person: Person | None = None
        self._start = start
        self._run = run
        self._notice = notice
        self._settings_path = settings
        self._settings: UserSettings | None = None
        self._command: AlarmCommand | None = None
        self._board: Board | None = None
        self._left: dict[str, CallingRun] = {}
        self._cells = StripCells(self._style_sequence)
        self._drawn_size: Size | None = None
        self._draws = True
        self._leaving_keys = frozenset(self._bindings.key_to_bindings)
        self.register_theme(theme)
        self.theme = theme.name

    def on_mount(self) -> None:
        """Put the board up; ask for a name and a key first where there are none."""
        self.title = "benchrun"
        loop = asyncio.get_running_loop()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            loop.add_signal_handler(number, self._told_to_go, number)
        self.set_interval(1.0, self._look_at_terminal)
        if exists(self.path):
            shop = open_shop(self.path)
            # Reading the list of people takes a quarter of the first frame; only a run that is to
            # begin at once must know who works before the board is up.
            if self._start is None or self.has_people(shop):
                self._put_up(shop)
                return
        self._ask_first(self._made)

    async def on_event(self, event: events.Event) -> None:
        """Hand a key to the screen in front at once, unless it leaves the program.

        Textual looks first through the bindings of everything on the page, of which no other is
        bound; that took as long as the rules need for an act.
        """
        plain = isinstance(event, events.Key) and event.key not in self._leaving_keys
        if plain and self.app_focus and isinstance(self.screen, BenchScreen):
            self.screen.post_message(event)
        else:
            await super().on_event(event)

    def has_people(self, shop: Shop) -> bool:
        """Whether anybody is known to work in a shop; a damaged list is taken for somebody."""
        from benchrun.shop.people import read_people

        try:
            return bool(read_people(shop))
        except BenchrunError:
            return True  # the board tells what is wrong with the list

    def ask_who(self) -> None:
        """Ask for a name and a key over the board of a shop in which nobody is known."""

        def named(_shop: Shop, person: "Person") -> None:
            self.person = person
            self.pop_screen()

        self._ask_first(named)

    def _ask_first(self, done: "Callable[[Shop, Person], None]") -> None:
        from benchrun.screen.first.screen import FirstScreen

        self.open_screen(FirstScreen(self, self.path, done))

    def _made(self, shop: Shop, person: "Person") -> None:
        self.person = person
        self.pop_screen()
        self._put_up(shop)

    def _put_up(self, shop: Shop) -> None:
        board = BoardScreen(self, shop, notice=self._notice, start=self._start, run=self._run)
        self.open_screen(board)

    @property
    def user_settings(self) -> "UserSettings":
        """The keys and the command that were chosen; read with the first key or alarm."""
        if self._settings is None:
            from benchrun.screen.user_settings import read_user_settings

            self._settings = read_user_settings(self.path, self._settings_path)
        return self._settings

    def tell_settings_faults(self) -> None:
        """Say what is wrong in the file of own keys, once."""
        faults = self.user_settings.faults
        if faults:
            more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
            self._say(f"{faults[0].words}{more}")

    def _display(self, screen: "Screen[Any]", renderable: "RenderableType | None") -> None:
        """Send a page to the terminal: the cells that changed, and none that are old by then."""
        driver = self._driver
        if not isinstance(driver, TerminalDriver) or renderable is None or self._batch_count:
            super()._display(screen, renderable)
            return
        if not self._running or self._closed:
            return
        whole = isinstance(renderable, LayoutUpdate) and self._drawn_size != self.size
        self._drawn_size = self.size
        driver.frames.in_one = self._sync_available
        strips = screen._compositor.render_strips()
        driver.frames.show(self._cells.rows(strips), whole=whole)
        self.post_display_hook()

    def _style_sequence(self, style: "Style") -> str:
        return style.render("\0", color_system=self.console._color_system).partition("\0")[0]

    def _say(self, text: str) -> None:
        if isinstance(self.screen, BenchScreen):
            self.screen.say(text, strong=True)

    def note(self, board: Board) -> None:
        """Take note of what is open, so that its clocks can call from anywhere."""
        self._board = board
        looked = {one.id: one.run.n for one in board.open_runs if one.run is not None}
        # A look that began before a run was left knows less of it than was seen here.
        self._left = {
            id_: one for id_, one in self._left.items() if looked.get(id_, one.run.n) < one.run.n
        }

    def note_left(self, run: "CallingRun") -> None:
        """Take note of a run as it was left; so its clocks call until the shop is looked at."""
        self._left[run.id] = run

    @property
    def shop(self) -> Shop:
        """The shop."""
        return open_shop(self.path)

    @property
    def open_runs(self) -> "Sequence[OpenRun]":
        """The open runs, as they were looked at last."""
        return self._board.open_runs if self._board else ()

    def show_run(self, session: "Sitting", alarm: "Alarm | None", back_to: str) -> None:
        """Lay the screen of a run on top, with what an alarm that led here calls for in hand."""
        from benchrun.screen.run.follow import screen_of

        screen = screen_of(self, session)
        screen.back_to = back_to
        if alarm is not None:
            screen.take_called(alarm)
        self.open_screen(screen)

    def bring_up(self, alarm: "Alarm") -> bool:
        """Bring up a run that is carried out below, its act for an alarm in hand; whether it is.

        Runs that lie over it are left; they stay open.
        """
        for screen, its in self._live():
            if its.id == alarm.run_id:
                while self.screen is not screen:
                    if isinstance(self.screen, BenchScreen):
                        self.screen.let_go()
                    self.pop_screen()
                screen.take_called(alarm)
                return True
        return False

    def _live(self) -> "list[tuple[BenchScreen, CallingRun]]":
        """The runs that are carried out, each with its screen."""
        screens = (one for one in self.screen_stack if isinstance(one, BenchScreen))
        return [(screen, its) for screen in screens if (its := screen.run_in_hand()) is not None]

    def calls(self, at: Moment, in_hand: "CallingRun | None" = None) -> "Calls | None":
        """The calls of the clocks of the open runs; None where none is read.

        Args:
            at: The moment.
            in_hand: The run that is carried out on the screen, as it stands there.
        """
        calling = self.calling(in_hand)
        if not calling:
            return None
        from benchrun.alarms.calls import calls_of

        return calls_of(calling, at, in_hand.id if in_hand else "", self.look.zone)

    def calling(self, in_hand: "CallingRun | None" = None) -> "Sequence[CallingRun]":
        """The open runs whose clocks may call, the one in hand first."""
        own = in_hand.id if in_hand else ""
        runs = [(one, one.run) for one in self.open_runs if one.run is not None and one.id != own]
        seen = {**self._left, **{its.id: its for _, its in self._live()}}
        live = [its for its in seen.values() if its.id != own]
        if not runs and not live:
            return [in_hand] if in_hand else []
        # A board with nothing open comes up without the rules.
        from benchrun.alarms.calls import CallingRun

        calling = {one.id: CallingRun(one.id, one.title, run) for one, run in runs}
        # A run that is carried out below, or was just left, is as it stood there, not as it was
        # looked at.
        calling |= {one.id: one for one in live}
        return [in_hand, *calling.values()] if in_hand else list(calling.values())

    def ring(self, alarms: "Sequence[Alarm]") -> None:
        """Ring for some alarms, and run what the person chose to be run then."""
        if alarms:
            self.bell()
        if alarms or self._command is not None:
            self._call(alarms)

    def _call(self, alarms: "Sequence[Alarm]") -> None:
        from benchrun.alarms.command import AlarmCommand

        if self._command is None:
            self._command = AlarmCommand(self.user_settings.command)
        trouble = self._command.call(alarms, int(self.pulse() * 1000))
        if trouble:
            self._say(trouble)

    def open_screen(self, screen: "Screen[None]") -> None:
        """Lay a screen on top."""
        self.push_screen(screen)

    def replace_screen(self, screen: "Screen[None]") -> None:
        """Put a screen in the place of the one on top."""
        self.switch_screen(screen)

    def draw_picture(self, path: Path, wait_s: float) -> bool:
        """Draw a picture on the terminal, until a key or for so long; whether it was drawn.

        The page gives way to it as a whole. A terminal that once did not say that it draws is not
        asked again.
        """
        from benchrun.pictures.sixel import draw_on_terminal

        if not self._draws or not isinstance(self._driver, TerminalDriver):
            return False
        screen, keys = sys.__stderr__, sys.__stdin__
        if screen is None or keys is None:
            return False
        with self.suspend():
            drawn = draw_on_terminal(path, wait_s, keys.fileno(), screen.fileno())
        self._draws = drawn is not None
        return bool(drawn)

    def leave_runs(self) -> None:
        """Seal every run that is being carried out and let go of it."""
        for screen, _ in self._live():
            screen.let_go()

    def _fatal_error(self) -> None:
        """Tell a fault of the program in one line; a person's passphrase is in no trace of it."""
        from rich.text import Text

        from benchrun.crash import fault_folder, fault_words

        # Whatever is wrong, the runs are sealed if that can be done at all, and the fault is told.
        with suppress(Exception):
            self.leave_runs()
        error = sys.exception() or RuntimeError("no more is known")
        self.panic(Text(fault_words(error, self.clock.now().utc, fault_folder())))

    async def action_quit(self) -> None:
        """Leave the program; open runs go on. Where their clocks run, it is asked first."""
        if isinstance(self.screen, BenchScreen):
            await self.screen.leave_program()
        else:
            self.end()

    def end(self) -> None:
        """Seal every run, let go of it and leave the program."""
        self.leave_runs()
        self.exit()

    def _look_at_terminal(self) -> None:
        if isinstance(self._driver, TerminalDriver) and self._driver.gone():
            self._told_to_go(signal.SIGHUP)

    def _told_to_go(self, number: int) -> None:
        """The terminal goes away, or the system shuts down: the exit code says which."""
        self.leave_runs()
        self.exit(return_code=128 + number)
