"""The run screen: draws the dialogue of a live run, and gives its commands."""

import asyncio
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from textual import work as in_background

from benchrun.alarms.calls import CallingRun
from benchrun.dialogue.page_prompt import PagePrompt, Topic
from benchrun.dialogue.run_prompts import PartsChoice, SignaturePrompt
from benchrun.dialogue.turns import Destination, OpenPage, Prompt, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.run import entries as e
from benchrun.screen.bench import Bench
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.dialogue_panes import Answer
from benchrun.screen.lessons import Learned, learned_on
from benchrun.screen.log.pane import LogPane
from benchrun.screen.page_api import Pane
from benchrun.screen.parts.pane import PartsPane
from benchrun.screen.reader_page import ReadPane, Rows
from benchrun.screen.run.closed_page import FinishedPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.signature_pane import SignaturePane
from benchrun.screen.run.topics import why_page
from benchrun.screen.run.work import WorkPane
from benchrun.session import Kept, Reply, Sitting

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm
    from benchrun.history.estimates import Estimate
    from benchrun.shop.people import Person


class RunScreen(BenchScreen):
    """A run that is being carried out.

    Args:
        bench: The app.
        session: The run, live or read along.
        resumed: Whether it was resumed, so that one line says since when nobody was at it.
        pane: Makes the pane of the work.

    Attributes:
        back_to: The run from which an alarm led here, and to which leaving leads; empty: the board.
    """

    def __init__(
        self,
        bench: Bench,
        session: Sitting,
        *,
        resumed: bool,
        pane: Callable[[RunHost], WorkPane] = WorkPane,
    ) -> None:
        super().__init__(bench)
        self._session = session
        session.unlocked_ms = bench.user_settings.unlocked_ms
        self._learned: Mapping[str, Sequence[Learned]] = {}
        self._took: Mapping[str, Estimate] = {}
        self._trouble = ""
        self._work = Work(
            session, lambda at: self.look.since(at, self.now()), self.look.zone, self.now
        )
        self._work.resumed_at = len(session.entries) if resumed else None
        self.back_to = ""
        self.push(pane(self))

    @property
    def session(self) -> Sitting:
        """The run."""
        return self._session

    @property
    def work(self) -> Work:
        """The work in hand."""
        return self._work

    def learned(self, step: str) -> Sequence[Learned]:
        """The lessons of past runs on a step, the newest first; none until they are read."""
        return self._learned.get(step, ())

    def took(self, step: str) -> str:
        """How long a step took in past runs, in words; empty until that is read."""
        return self._took[step].words if step in self._took else ""

    def on_mount(self) -> None:
        """Look for lessons and for the times of past runs beside."""
        self._read_lessons()
        self._read_times()

    @in_background(exclusive=True, group="times")
    async def _read_times(self) -> None:
        from benchrun.history.estimates import estimates_for

        session = self._session
        self._took = await asyncio.to_thread(
            estimates_for, session.shop.path, session.procedure.id, session.folder.run
        )
        self.paint()

    @in_background(exclusive=True, group="lessons")
    async def _read_lessons(self) -> None:
        shop, procedure = self._session.shop, self._session.procedure
        try:
            self._learned = await asyncio.to_thread(learned_on, shop, procedure)
        except BenchrunError as error:
            self.say(error.message, strong=True)
        self.paint()

    @property
    def person(self) -> "Person | None":
        """Who works here, once that is known."""
        return self._session.person or self.bench.person

    @property
    def title_here(self) -> str:
        """The run's title."""
        return self._session.procedure.title

    def take_called(self, alarm: "Alarm") -> None:
        """Take in hand what an alarm of this run calls for."""
        del self.panes[1:]
        self._work.take_called(alarm.clock)
        self.paint()

    def let_go(self) -> None:
        """Seal the run and let go of it."""
        self._session.leave()
        self.bench.note_left(self.run_in_hand())

    def on_screen_resume(self) -> None:
        """Be as it is now, when another page over it was left."""
        self.tick()

    def run_in_hand(self) -> CallingRun:
        """This run as it stands."""
        session = self._session
        return CallingRun(session.folder.run, session.procedure.title, session.run)

    def tick(self) -> None:
        """Let a second pass for the run too."""
        if self._gone:
            return
        if not self._session.run.ended:
            self._session.tick()
        trouble = self._session.trouble or self._session.books.trouble
        if trouble != self._trouble:
            self._trouble = trouble
            self.say(trouble, strong=bool(trouble))
            if self._session.trouble:
                self.app.bell()  # nothing can be kept: that calls once, like any alarm
        super().tick()

    @property
    def listens(self) -> bool:
        """Whether keys are still taken: what is typed on after leaving is for nobody."""
        return not self._gone

    @property
    def _gone(self) -> bool:
        """Whether the run was left open and this screen is on its way off."""
        return self._session.left and not self._session.run.ended

    def pane_of(self, prompt: Prompt, answer: Answer) -> Pane:
        """The pane that asks a question."""
        match prompt:
            case SignaturePrompt():
                return SignaturePane(self, prompt, answer)
            case PartsChoice():
                return self._parts_pane(prompt, answer)
            case PagePrompt(topic=Topic.WHY) if self.work.step is not None:
                step = self.work.step
                return self._reader(prompt, answer, lambda paper: why_page(paper, self, step))
        return super().pane_of(prompt, answer)

    def _reader(self, prompt: PagePrompt, answer: Answer, rows: Rows) -> Pane:
        done = partial(answer, "")
        enter, decides = prompt.enter, prompt.decides
        return ReadPane(self, prompt.title, rows, after=done, enter=enter, decides=decides)

    def _parts_pane(self, prompt: PartsChoice, answer: Answer) -> Pane:
        async def chosen(parts: tuple[str, ...]) -> None:
            await answer(" ".join(str(prompt.number(part)) for part in parts))

        return PartsPane(
            self,
            lambda: self._session.run,
            lambda: self._session.entries,
            prompt.among,
            prompt.chosen,
            chosen,
            title=prompt.title,
            needed=prompt.needed,
        )

    async def deliver(self, turn: Send | Sign) -> Reply:
        """Give a command; one that somebody else signs is given in that name alone."""
        session = self._session
        if isinstance(turn, Send):
            reply = await asyncio.wrap_future(session.send(turn.command))
        else:
            worker = session.person
            session.hand_over(turn.person)
            try:
                reply = await asyncio.wrap_future(session.sign(turn.command, turn.passphrase))
            finally:
                session.hand_over(worker)
        if isinstance(reply, Kept):
            if any(isinstance(entry.data, e.Lesson) for entry in reply.entries):
                self._read_lessons()
            if session.run.ended:
                self.panes = [FinishedPane(self)]
            self.hear()  # what was just done calls no more
        return reply

    async def open_place(self, turn: OpenPage) -> None:
        """Open a page that is none of the dialogue's."""
        match turn.place:
            case Destination.LOG:
                self.push(LogPane(self, self._session))
            case Destination.BOOKS:
                from benchrun.screen.book.screen import BookScreen

                self.bench.open_screen(BookScreen(self.bench, self._session.shop))
            case Destination.BOARD:
                self.leave()
            case Destination.RUN if turn.run is not None:
                from benchrun.board import OpenRun

                await self.resume(OpenRun(turn.run, turn.run.name, ""))

    async def type_on(self, key: str) -> None:
        """Give a key to the page that lies on top."""
        await self.panes[-1].key(key)

    def leave(self) -> None:
        """Seal the run, let go of it and go back to where it was opened, as whoever worked last."""
        self.bench.person = self.person
        self.let_go()
        self.dismiss()

    def pop(self, pane: Pane) -> None:
        """Take a pane away; the last one leaves the run."""
        if self.panes and pane is self.panes[0]:
            self.leave()
            return
        super().pop(pane)
