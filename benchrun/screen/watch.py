"""The watch: every clock of the shop, large, in a second terminal; it rings, and writes nothing.

It needs no key and takes none. Its page is drawn with bold and reverse alone, so that it is the
same in every theme.
"""

import os
import select
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from benchrun.alarms.book import AlarmBook
from benchrun.alarms.calls import CallingRun, calls_of
from benchrun.alarms.command import AlarmCommand
from benchrun.alarms.words import ClockWords, clock_words, large_figures
from benchrun.board import Board, look
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.record.clock import Clock
from benchrun.run.act_clocks import ActClock, Band
from benchrun.screen.frames import Cell, Frames, cells_of
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.theme import Appearance
from benchrun.screen.widgets.digits import rows_of
from benchrun.shop.folder import Shop

if TYPE_CHECKING:
    from types import FrameType

LOOK_EVERY_MS: Final = 5_000
TURN_MS: Final = 5_000
TICK_S: Final = 1.0
_BLOCK_ROWS: Final = 4
_BLOCK_WIDTH: Final = 40
_BEGIN: Final = "\x1b[?1049h\x1b[?25l\x1b[2J"
_END: Final = "\x1b[0m\x1b[?25h\x1b[?1049l"
_STYLES: Final = {
    Role.STRONG: "\x1b[1m",
    Role.ACCENT: "\x1b[1m",
    Role.ALARM: "\x1b[1;7m",
    Role.SOLID: "\x1b[7m",
}


@lean_dataclass(frozen=True, slots=True)
class Watched:
    """A clock with its run's title and its words."""

    title: str
    clock: ActClock
    words: ClockWords

    @property
    def role(self) -> Role:
        """How its rows are drawn: what calls is reversed."""
        return Role.ALARM if self.words.signal else Role.STRONG


def watch_page(
    board: Board, now: Moment, paper: Paper, title: str, appearance: Appearance | None = None
) -> tuple[TextLine, ...]:
    """The page of a watch: the clocks in the one order, as many large as there is room for.

    What has no room large stands in rows below; what has none there takes turns.

    Args:
        board: What is open.
        now: The moment.
        paper: What it is drawn on.
        title: What the shop is called.
        appearance: The time zone and how a time of day is said; None: as of this machine.
    """
    look_of = appearance or Appearance()
    found = [
        Watched(one.title, clock, clock_words(run, clock, now, look_of.zone))
        for one, run, clock in board.clocks_at(now)
    ]
    unread = [one for one in board.open_runs if one.fault]
    rows = [paper.between(paper.line(" ", (title, Role.STRONG)), paper.line(look_of.day(now), " "))]
    if not found:
        rows += [paper.line(), paper.line("  no clock is running")]
    rows += [
        paper.line(
            "  ", (paper.fitted(f"{one.title}: cannot be read", paper.width - 4), Role.ALARM)
        )
        for one in unread[:3]
    ]
    columns = max(1, paper.width // _BLOCK_WIDTH)
    free, tall = paper.height - len(rows), _BLOCK_ROWS + _digit_rows(paper)
    large = min(len(found), columns * (free // tall))
    if large < len(found):  # a row at least for each of the others, as far as there are rows
        need = min(len(found) - large, tall) + 1
        large = max(columns, columns * ((free - need) // tall))
    for at in range(0, min(large, len(found)), columns):
        rows += _blocks(paper, found[at : min(at + columns, large)], columns)
    rows += _others(paper, found[large:], paper.height - len(rows), now)
    rows += [paper.line()] * (paper.height - len(rows))
    return tuple(rows[: paper.height])


def _blocks(paper: Paper, row: Sequence[Watched], columns: int) -> list[TextLine]:
    width = paper.width // columns
    drawn = [_block(paper, one, width - 2) for one in row]
    lines = []
    for at in range(_BLOCK_ROWS + _digit_rows(paper)):
        line = paper.line()
        for block in drawn:
            line = line + paper.line(" ") + block[at] + paper.line(" ")
        lines.append(line)
    return lines


def _block(paper: Paper, one: Watched, width: int) -> list[TextLine]:
    """One clock: what calls and for whom, the act, the time in large digits, by when."""
    role, words = one.role, one.words
    digits, unit = large_figures(one.clock)
    head = f"{words.signal}  {words.parts}" if words.signal else words.parts
    late = one.clock.band is Band.LATE and bool(words.signal)
    body = Role.ALARM if late else Role.STRONG
    act = (words.act, role if one.clock.band >= Band.SOON else Role.TEXT)
    below = (f"{unit}, {words.when}   {one.title}", Role.TEXT)
    above, foot = (
        [paper.line((paper.padded(paper.fitted(text, width), width), kind)) for text, kind in rows]
        for rows in ([(head, role), act], [below])
    )
    drawn = rows_of(digits, rows=_digit_rows(paper), solid=paper.ascii)
    large = [paper.drawn(f"{row:<{width}}"[:width], body) for row in drawn]
    return [*above, *large, *foot, paper.line(" " * width)]


def _digit_rows(paper: Paper) -> int:
    """How many rows the large digits take: half a cell is the least that ASCII cannot draw."""
    return 5 if paper.ascii else 3


def _others(paper: Paper, rest: Sequence[Watched], room: int, now: Moment) -> list[TextLine]:
    """The clocks that have no room large, a row each; they take turns where even that is short."""
    if not rest or room < 1:
        return []
    if len(rest) > room:
        each = max(1, room - 1)
        pages = -(-len(rest) // each)
        page = now.up_ms // TURN_MS % pages
        begin = page * each
        told = f"  {begin + 1} to {min(begin + each, len(rest))} of {len(rest)} more"
        return [*(_row(paper, one) for one in rest[begin : begin + each]), paper.line(told)]
    return [_row(paper, one) for one in rest]


def _row(paper: Paper, one: Watched) -> TextLine:
    digits, unit = large_figures(one.clock)
    lead = f"{digits} {unit}".rjust(14)
    call = f"{one.words.signal}  " if one.words.signal else ""
    text = f"{call}{one.words.line}"
    return paper.line(
        " ", (lead, one.role), "  ", (paper.fitted(text, paper.width - 18), Role.TEXT)
    )


class Watch:
    """Looks at a shop again and again, draws its clocks, and rings.

    Args:
        shop: The shop.
        clock: What tells the time.
        appearance: How things are shown.
        command: The alarm command of the person's own settings, or nothing.
        write: Takes what is to be written to the terminal.
    """

    def __init__(
        self,
        shop: Shop,
        clock: Clock,
        appearance: Appearance,
        command: Sequence[str],
        write: Callable[[str], object],
    ) -> None:
        self._shop = shop
        self._clock = clock
        self._appearance = appearance
        self._write = write
        self._book = AlarmBook()
        self._command = AlarmCommand(command)
        self._board = Board((), (), looked=False)
        self._looks = ThreadPoolExecutor(1)
        self._looking: Future[Board] | None = None
        self._next_look_ms = 0
        self._drawn = (0, 0)
        self._frames = Frames(write, asks=False)
        self._trouble = ""

    def tick(self, size: os.terminal_size) -> float:
        """Look now and then, ring, draw what has changed.

        Returns:
            Seconds until the next tick: one, or less where a clock comes to its next band sooner.
        """
        now = self._clock.now()
        self._look(now)
        runs = [
            CallingRun(one.id, one.title, one.run)
            for one in self._board.open_runs
            if one.run is not None
        ]
        calls = calls_of(runs, now, "", self._appearance.zone)
        rings = self._book.hear(calls.alarms, now)
        self._trouble = self._command.call(rings, now.up_ms) or self._trouble
        self.draw(now, size)
        if rings:
            self._write("\a")
        return min(TICK_S, (calls.next_in or 1000) / 1000)

    def _look(self, now: Moment) -> None:
        """Look at the shop beside the clocks: a slow disk holds up no alarm."""
        if self._looking is not None and self._looking.done():
            try:
                self._board, self._trouble = self._looking.result(), ""
            except (BenchrunError, OSError) as error:
                self._trouble = str(error)
            self._looking = None
            self._next_look_ms = now.up_ms + LOOK_EVERY_MS
        if self._looking is None and not 0 < self._next_look_ms - now.up_ms <= LOOK_EVERY_MS:
            self._looking = self._looks.submit(look, self._shop, now, self._take_part)

    def _take_part(self, board: Board) -> None:
        """Take the board as far as it is read; a look of later ones knows all of them at once."""
        if not self._board.looked:
            self._board = board

    def draw(self, now: Moment, size: os.terminal_size) -> None:
        """Draw the cells that have changed."""
        paper = Paper(max(20, size.columns), max(4, size.lines), self._appearance.ascii)
        title = self._shop.title
        if not self._board.looked:
            title = f"{title}   looking"
        rows = watch_page(self._board, now, paper, title, self._appearance)
        if self._trouble:
            said = paper.fitted(self._trouble.partition("\n")[0], paper.width - 2)
            rows = (*rows[:-1], paper.line(" ", (said, Role.STRONG)))
        if (paper.width, len(rows)) != self._drawn:
            self._drawn = (paper.width, len(rows))
            self._frames.forget()
            self._write("\x1b[0m\x1b[2J")
        self._frames.show([_cells(row, paper.width) for row in rows])

    def stop(self) -> None:
        """End what runs beside."""
        self._command.stop()
        self._looks.shutdown(wait=False, cancel_futures=True)


def _cells(line: TextLine, width: int) -> list[Cell]:
    return cells_of([(text, _STYLES.get(role, "")) for text, role in line.padded(width).pieces])


class _Ended(Exception):
    """A signal ends the watch."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def watch(shop: Shop, clock: Clock, appearance: Appearance, command: Sequence[str] = ()) -> int:
    """Watch a shop until a signal ends it.

    Returns:
        128 and the number of the signal: 130 for an interrupt, 143 when asked to end.

    Raises:
        BenchrunError: The output is no terminal.
    """
    if not sys.stdout.isatty():
        raise BenchrunError("the watch needs a terminal; without --watch the board is printed once")

    def end(number: int, _frame: "FrameType | None") -> None:
        raise _Ended(number)

    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), end) for name in names}
    watched = Watch(shop, clock, appearance, command, _write)
    typed = _silent_keys()
    try:
        _write(_BEGIN)
        while True:
            _rest(watched.tick(os.get_terminal_size(sys.stdout.fileno())))
    except _Ended as ended:
        return 128 + ended.number
    except OSError:
        return 128 + signal.SIGHUP if hasattr(signal, "SIGHUP") else 1
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
        watched.stop()
        with suppress(OSError):
            _write(_END)
        typed()


def _write(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def _rest(seconds: float) -> None:
    """Let time pass; what is typed meanwhile is for nobody."""
    if not sys.stdin.isatty():
        select.select([], [], [], seconds)
        return
    ready, _, _ = select.select([sys.stdin], [], [], seconds)
    if ready and not os.read(sys.stdin.fileno(), 1024):
        raise OSError("the terminal is gone")


def _silent_keys() -> Callable[[], None]:
    """Keep what is typed off the page; how to give the terminal back."""
    if not sys.stdin.isatty():
        return lambda: None
    import termios

    fd = sys.stdin.fileno()
    modes = termios.tcgetattr(fd)
    silent = termios.tcgetattr(fd)
    silent[3] &= ~(termios.ECHO | termios.ICANON)
    termios.tcsetattr(fd, termios.TCSANOW, silent)
    return lambda: termios.tcsetattr(fd, termios.TCSANOW, modes)
