"""A screen at the bench: its panes, its keys, the tick of the clocks, the alarm."""

import asyncio
from collections.abc import Awaitable, Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen
from textual.timer import Timer

from benchrun.moment import Moment
from benchrun.pictures.viewer import open_picture
from benchrun.screen import keys
from benchrun.screen.alarm import SILENCE, alarm_band, under_band
from benchrun.screen.bench import Bench
from benchrun.screen.keys import Steady, bench_key
from benchrun.screen.page import Page
from benchrun.screen.page_api import Hint, Pane
from benchrun.screen.page_view import LEAST_HEIGHT, LEAST_WIDTH, PageView, too_small
from benchrun.screen.text_line import Paper, TextLine
from benchrun.screen.theme import Appearance

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm, CallingRun
    from benchrun.board import OpenRun
    from benchrun.dialogue.turns import Flow, OpenPage, Prompt, Send, Sign
    from benchrun.screen.dialogue_panes import Answer
    from benchrun.session import Reply
    from benchrun.shop.folder import Shop
    from benchrun.shop.people import Person

TICK_S: Final = 1.0
_LOOK_MS: Final = 60_000
"""A picture is looked at for so long at most: alarms and seals wait behind it."""


class BenchScreen(Screen[None]):
    """Shows the topmost pane and hands it the keys.

    While an alarm stands, Enter goes to the act that it calls for, and there does it; 0 silences
    the alarm. What is being typed keeps every key.

    Args:
        bench: The app.

    Attributes:
        opened_by: The menu whose line is being carried out.
        heard: How many keys were dealt with; what they asked for is on the disk or refused.
    """

    AUTO_FOCUS: ClassVar[str | None] = ""

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench
        self.panes: list[Pane] = []
        self.page_view = PageView()
        self.alarm_book = bench.alarm_book
        self._steady = Steady(bench.pulse)
        self._called = Steady(bench.pulse)
        self.heard = 0
        self._message = ("", False)
        self._wake: Timer | None = None
        self._still: Moment | None = None
        self._leaving = False
        self._aid: Pane | None = None
        self.opened_by: Pane | None = None

    def compose(self) -> ComposeResult:
        """The one widget."""
        yield self.page_view

    def on_mount(self) -> None:
        """Begin to tick.

        Textual calls the handlers of all base classes by itself, after those of the class: one that
        called this too would tick twice a second.
        """
        self.set_interval(TICK_S, self.tick)
        self.paint()

    @property
    def look(self) -> Appearance:
        """How things are to be shown."""
        return self.bench.look

    @property
    def own_keys(self) -> Mapping[str, str]:
        """The person's own keys, each with what it does, in words."""
        return self.bench.user_settings.named

    @property
    def message(self) -> tuple[str, bool]:
        """The message that stands."""
        return self._message

    @property
    def alarmed(self) -> bool:
        """Whether an alarm stands."""
        return self.alarm_book.first is not None

    @property
    def in_front(self) -> bool:
        """Whether this is the screen that is looked at."""
        stack = self.app.screen_stack  # empty once the app is being left
        return self.is_mounted and bool(stack) and stack[-1] is self

    @property
    def front(self) -> Pane | None:
        """The pane on top."""
        return self.panes[-1] if self.panes else None

    @property
    def listens(self) -> bool:
        """Whether keys are still taken here."""
        return True

    def now(self) -> Moment:
        """The moment now; while one page is made or a key is taken, that at which this began."""
        return self._still or self.bench.clock.now()

    @contextmanager
    def _one_moment(self) -> Iterator[None]:
        """Hold the time still, so that what one page shows is worked out for one moment once."""
        before = self._still
        self._still = before or self.bench.clock.now()
        try:
            yield
        finally:
            self._still = before

    def _hold_moment(self) -> None:
        """Hold the time still until the key is dealt with or waits: it asks for it ten times."""
        self._still = self.bench.clock.now()
        asyncio.get_running_loop().call_soon(self._let_go_moment)

    def _let_go_moment(self) -> None:
        self._still = None

    def run_in_hand(self) -> "CallingRun | None":
        """The run that is carried out here, whose alarms carry no name; None where none is."""
        return None

    def say(self, text: str, *, strong: bool = False) -> None:
        """Show a message until the next key."""
        self._message = (text, strong)

    def push(self, pane: Pane) -> None:
        """Lay a pane on top; one that lies below comes up."""
        if pane in self.panes:
            self.panes.remove(pane)
        self.panes.append(pane)

    def pop(self, pane: Pane) -> None:
        """Take a pane away, with everything on top of it."""
        if pane in self.panes:
            del self.panes[self.panes.index(pane) :]
        if not self.panes:
            self.dismiss()

    async def converse(
        self,
        begin: "Callable[[], Flow]",
        first: str | None = None,
        ended: Callable[[bool], Awaitable[None]] | None = None,
    ) -> None:
        """Carry a flow on, question by question.

        Args:
            begin: Begins what is asked, said and done.
            first: The answer to its first question, where that stood on the page already.
            ended: What to do at its end; given whether something was recorded.
        """
        from benchrun.screen.dialogue_panes import ScreenFlow

        await ScreenFlow(self, begin, ended).go_on(first=first)

    async def leave_program(self) -> None:
        """Leave the program; where clocks run it is asked once, and a second time is a yes."""
        calling = self.bench.calling(self.run_in_hand())
        if self._leaving or not calling or self._too_small:
            self.bench.end()
            return
        from benchrun.dialogue.leaving import leave

        async def ended(leaves: bool) -> None:
            self._leaving = False
            if leaves:
                self.bench.end()

        self._leaving = True
        await self.converse(partial(leave, calling, self.now(), self.look.zone), ended=ended)
        self.paint()

    @property
    def _too_small(self) -> bool:
        """Whether the terminal is too small for any page."""
        size = self.app.size
        return size.width < LEAST_WIDTH or size.height < LEAST_HEIGHT

    def pane_of(self, prompt: "Prompt", answer: "Answer") -> Pane:
        """The pane that asks a question; a run has some of its own."""
        from benchrun.screen.dialogue_panes import pane_of

        return pane_of(self, prompt, answer)

    async def deliver(self, turn: "Send | Sign") -> "Reply":
        """Give a command; only a run takes any."""
        raise TypeError(f"no run is in hand that could take {turn}")

    async def show_picture(self, path: Path) -> str:
        """Draw a picture on the terminal, until a key or the next call of a clock.

        Returns:
            Nothing; where the terminal cannot, what the system's viewer made of it, in words.
        """
        calls = self.bench.calls(self.now(), self.run_in_hand())
        ahead = calls.next_in if calls is not None and calls.next_in is not None else _LOOK_MS
        if self.bench.draw_picture(path, min(ahead, _LOOK_MS) / 1000):
            return ""
        return await asyncio.to_thread(open_picture, path)

    async def open_place(self, turn: "OpenPage") -> None:
        """Open another page; only a run leads to any."""
        del turn

    def chose(self) -> None:
        """Take note that the hand itself has just chosen what Enter does."""
        self._steady.chose(self._does())

    def _does(self) -> Hashable:
        alarm = self.alarm_book.first
        if alarm is not None and self._leads(alarm):
            return ("alarm", alarm.key)
        return (len(self.panes), type(self.panes[-1]).__name__, self.panes[-1].does())

    def _calls(self) -> Hashable:
        alarm = self.alarm_book.first
        return None if alarm is None else (alarm.key, alarm.band)

    def _leads(self, alarm: "Alarm") -> bool:
        """Whether Enter goes to what an alarm calls for."""
        pane = self.panes[-1]
        return not pane.typing(keys.ENTER) and not pane.answers(alarm)

    def alarm_hints(self, pane: Pane, hints: Sequence[Hint]) -> Sequence[Hint]:
        """The hints of a pane with what an alarm that stands makes of Enter and 0."""
        alarm = self.alarm_book.first
        if alarm is None:
            return hints
        taken = {SILENCE} if not pane.typing(SILENCE) else set()
        if self._leads(alarm):
            taken.add("Enter")
            hints = [Hint("Enter", "go to the alarm", first=True), *hints]
            hints = [hint for hint in hints if hint.key != "Enter" or hint is hints[0]]
            if self._leaving:  # what Enter would do here is not taken away with it
                hints = [hints[0], Hint("F10", "leave"), *hints[1:]]
        if SILENCE in taken:
            first = [hint for hint in hints if hint.first]
            rest = [hint for hint in hints if not hint.first and hint.key != SILENCE]
            hints = [*first, Hint(SILENCE, "silence"), *rest]
        return hints

    def tick(self) -> None:
        """Let a second pass; only what is in front is heard and painted."""
        if not self.in_front:
            return
        with self._one_moment():
            self.hear()
            self.paint()

    def hear(self) -> None:
        """Take what the clocks call for now, and ring where something new or loud is among it."""
        calls = self.bench.calls(self.now(), self.run_in_hand())
        self.bench.ring(self.alarm_book.hear(calls.alarms if calls else (), self.now()))
        self._wake_in(calls.next_in if calls else None)

    def _wake_in(self, next_in: int | None) -> None:
        """Be there when a clock comes to its next band, and not up to a second later."""
        if self._wake is not None:
            self._wake.stop()
            self._wake = None
        if next_in is not None and next_in < TICK_S * 1000:
            self._wake = self.set_timer(next_in / 1000, self._woken)

    def _woken(self) -> None:
        if self.in_front:
            with self._one_moment():
                self.hear()
                self.paint()

    def paint(self) -> None:
        """Paint the page as things stand now."""
        if not self.panes or not self.is_mounted:
            return
        size = self.app.size
        paper = Paper(size.width, size.height, self.look.ascii)
        if self._too_small:
            self.page_view.show(too_small(paper, self._band(paper)))
            self._called.saw(self._calls())
            return
        with self._one_moment():
            self.page_view.show(self._page(paper))
            # The log's thread may have moved the run on while the page was made: what Enter does
            # is looked at after it, so that it is never newer on the page than here.
            self._steady.saw(self._does())
        self._called.saw(self._calls())

    def _page(self, paper: Paper) -> Page:
        page = self.panes[-1].page(paper)
        return under_band(page, partial(self._band, paper)) if self.alarmed else page

    def _band(self, paper: Paper, most: int | None = None) -> list[TextLine]:
        """The rows of the alarm that stands, at most so many; none where none does."""
        alarm = self.alarm_book.first
        if alarm is None:
            return []
        pane = self.panes[-1]
        answers = [] if pane.typing(SILENCE) and not self._too_small else [f"{SILENCE} silence"]
        if self._leads(alarm) and not self._too_small:
            answers = ["Enter go there", *answers]
        counts = self._too_small or not pane.answers(alarm)
        return alarm_band(
            paper, self.alarm_book.standing, "   ".join(answers), counts=counts, most=most
        )

    def on_resize(self) -> None:
        """Paint anew at the new size."""
        self.paint()

    async def on_key(self, event: events.Key) -> None:
        """Hand a key to the alarm or to the topmost pane."""
        key = bench_key(event, self.bench.user_settings.keys)
        try:
            if key is not None:
                event.stop()
                event.prevent_default()
                # One that waited while another screen came was meant for what stood here before.
                if self.in_front:
                    await self.press(key)
        finally:
            self._let_go_moment()
            self.heard += 1

    async def on_paste(self, event: events.Paste) -> None:
        """Take pasted text as typed, its first line only."""
        event.stop()
        for char in event.text.partition("\n")[0][:400]:
            if char.isprintable():
                await self.panes[-1].key(char)
        self.paint()

    async def press(self, key: str) -> None:
        """Do what a key means here."""
        if not self.panes or not self.listens:
            return
        self._hold_moment()
        pane = self.panes[-1]
        alarm = self.alarm_book.first
        silences = alarm is not None and key == SILENCE
        if alarm is not None and silences and (self._too_small or not pane.typing(key)):
            if not self._called.deaf(self._calls()):
                self.alarm_book.silence(alarm, self.now())
            self.paint()
            return
        if self._too_small or await self._aided(pane, key):
            return
        acts = key == keys.ENTER or (key.isdigit() and pane.numbers_act())
        acts = acts or (key == keys.SAME and pane.same_acts())
        if acts and self._steady.deaf(self._does()) and not pane.early(key):
            self.paint()
            return
        helped = self.message[0] == pane.short_help
        self.say("")
        if key == keys.HELP or (key == "?" and not pane.typing(key)):
            self._help(pane, again=helped)
        elif alarm is not None and key == keys.ENTER and self._leads(alarm):
            await self.go_to(alarm)
        else:
            acts = alarm is not None and key == keys.ENTER and pane.answers(alarm)
            await pane.key(key)
            if alarm is not None and acts and self.panes and self.panes[-1] is not pane:
                # What the act still asks is answered in quiet.
                self.alarm_book.silence(alarm, self.now())
            elif acts and self.in_front:
                self.hear()
        self.paint()

    async def _aided(self, pane: Pane, key: str) -> bool:
        """Lay first aid over the page where a key asks for it; asked again, it stays."""
        if key != keys.AID and (key != keys.AID_ASKED or pane.typing(key)):
            return False
        from benchrun.screen.first_aid import aid_pane

        self.say("")
        if self._aid is None or self._aid is not self.panes[-1]:
            self._aid = await aid_pane(self, self.aid_shop, tuple(self.in_hand()))
            self.push(self._aid)
        self.paint()
        return True

    @property
    def aid_shop(self) -> "Shop":
        """The shop whose procedures may say what first aid is."""
        return self.bench.shop

    def in_hand(self) -> Iterator[tuple[str, Path]]:
        """The title and the file of each procedure that is being worked to, the nearest first."""
        runs = self.aid_shop.runs
        titles = {one.id: one.title for one in self.bench.calling(self.run_in_hand())}
        titles |= {one.id: one.title for one in self.bench.open_runs if not one.fault}
        for name, title in titles.items():
            yield title, runs / name / "procedure.yaml"

    def _help(self, pane: Pane, *, again: bool) -> None:
        """Say in three lines what a page is for and its keys; asked again, lay all keys over it."""
        from benchrun.screen.help_page import help_pane

        if again:
            self.push(help_pane(self))
        else:
            self.say(pane.short_help)

    def take_called(self, alarm: "Alarm") -> None:
        """Take in hand what an alarm calls for; only a run has it."""
        del alarm

    def let_go(self) -> None:
        """Let go of what is open here; only a run is."""

    async def go_to(self, alarm: "Alarm") -> None:
        """Go to the run of an alarm, with the act that it calls for in hand."""
        if self.bench.bring_up(alarm):
            return
        for one in self.bench.open_runs:
            if one.id == alarm.run_id:
                await self.resume(one, alarm)
                return

    async def resume(self, one: "OpenRun", alarm: "Alarm | None" = None) -> None:
        """Resume an open run over what is on the screen, or read along where another writes it.

        Args:
            one: The run.
            alarm: The alarm that leads there, if one does; the way back is then to what is here.
        """
        if one.fault:
            self.say(one.fault, strong=True)
            return
        from benchrun.dialogue.resumption import Resumption

        bench = self.bench
        resumption = Resumption(bench.shop, one.folder, self.person, bench.clock)

        async def go(opened: bool) -> None:
            if opened and resumption.session is not None:
                bench.person = resumption.person
                del self.panes[1:]
                bench.show_run(resumption.session, alarm, self.title_here)

        await self.converse(resumption.ask, ended=go)

    @property
    def person(self) -> "Person | None":
        """Who works here, once that is known."""
        return self.bench.person

    @property
    def title_here(self) -> str:
        """The name of the way back to this screen; empty: the board."""
        return ""
