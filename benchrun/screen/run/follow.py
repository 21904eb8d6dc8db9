"""Reading along: the run screen following a run that another window writes."""

from collections.abc import Hashable
from functools import partial

from benchrun.dialogue import lookups
from benchrun.dialogue.hand import View
from benchrun.dialogue.resumption import Resumption
from benchrun.screen import help_page, keys
from benchrun.screen.bench import Bench
from benchrun.screen.page_api import Hint
from benchrun.screen.run.closed_page import FinishedPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.run.typed_reading import TypedReading
from benchrun.screen.run.work import LETTERS, WorkPane
from benchrun.screen.text_line import Role, TextPiece
from benchrun.session import Along, Sitting

FOLLOWS = "view only: run is open in another window"
READ_ONLY = "view only: the log cannot be written"
LET_GO = "the other window has left this run"


def screen_of(bench: Bench, session: Sitting) -> RunScreen:
    """The screen of an open run: live, or followed where another window writes it."""
    if isinstance(session, Along):
        return AlongScreen(bench, session)
    return RunScreen(bench, session, resumed=True)


class AlongScreen(RunScreen):
    """A run that another window writes: looked at as it goes on, taken up when it is let go.

    Args:
        bench: The app.
        along: The run that is read along.
    """

    def __init__(self, bench: Bench, along: Along) -> None:
        super().__init__(bench, along, resumed=False, pane=lambda host: AlongPane(host, self))
        self.along = along
        self._news = ""

    def tick(self) -> None:
        """Let a second pass; tell what changed about the other window."""
        super().tick()
        along = self.along
        if along.run.ended:
            if not isinstance(self.panes[-1], FinishedPane):
                self.panes = [FinishedPane(self)]
        else:
            self._say_news(along.fault or ("" if along.written else LET_GO))
        self.paint()

    def _say_news(self, words: str) -> None:
        """Say once that the other window has left, or that the log can be followed no further."""
        if words != self._news:
            self._news = words
            enter = " Enter carries on here."
            self.say(f"{words.capitalize()}.{enter}" if words == LET_GO else words, strong=True)

    async def take_up(self) -> None:
        """Take the run up, if nobody writes it."""
        along = self.along
        resumption = Resumption(along.shop, along.folder, along.person, self.bench.clock)

        async def go(opened: bool) -> None:
            if opened and resumption.session is not None:
                along.leave()
                self.bench.replace_screen(screen_of(self.bench, resumption.session))

        await self.converse(resumption.ask, ended=go)


class AlongPane(WorkPane):
    """The work as it stands in the other window: one offer at a time, to be looked at alone.

    Args:
        host: The run screen.
        screen: The same, to ask how the other window does and to take the run up.
    """

    about = "The work as another window does it: look at everything, record nothing."

    def __init__(self, host: RunHost, screen: AlongScreen) -> None:
        super().__init__(host)
        self._screen = screen

    def whose(self) -> TextPiece:
        """That this is reading along, instead of who works."""
        along = self._screen.along
        if along.read_only:
            return READ_ONLY, Role.ACCENT
        return (FOLLOWS if along.written else LET_GO), Role.ACCENT

    def does(self) -> Hashable:
        """Take the run up, or nothing."""
        return ("along", self._screen.along.written)

    def numbers_act(self) -> bool:
        """No number acts."""
        return False

    def same_acts(self) -> bool:
        """No value is given here."""
        return False

    def typing(self, key: str) -> bool:
        """Nothing is typed here."""
        del key
        return False

    def early(self, key: str) -> bool:
        """No key is in such a hurry here."""
        del key
        return False

    def hints(self, now: View, parts: tuple[str, ...], reading: TypedReading | None) -> list[Hint]:
        """Looking, leaving, and taking the run up when the other window has left this run."""
        del parts, reading
        found = [] if self._screen.along.written else [Hint("Enter", "carry on here", first=True)]
        if len(now.offers) > 1:
            found.append(Hint("+", "other work"))
        found.append(Hint("/", "look"))
        if now.offer is not None and now.offer.step is not None:
            found.append(Hint("0", "why"))
        return [*found, Hint("Esc", "to the board")]

    async def key(self, key: str) -> None:
        """Look, leave, take up; every act is refused with one line."""
        now, key = self.now(), LETTERS.get(key, key)
        step = now.offer.step if now.offer else None
        if key in ("+", keys.NEXT):
            self.walk(1)
        elif key in ("-", keys.PREVIOUS):
            self.walk(-1)
        elif key == "/":
            await self.host.converse(partial(lookups.look_up, self.host.work))
        elif key == "0" and step is not None:
            await self.host.converse(partial(lookups.why, self.host.work))
        elif key == "h":
            self.host.push(help_page.help_pane(self.host))
        elif key in (keys.BACK, "b"):
            self.host.leave()
        elif key == keys.ENTER and not self._screen.along.written:
            await self._screen.take_up()
        else:
            self.host.say(self._screen.along.refusal, strong=True)
