"""The run screen: a live run on the host, its commands given and what came of them told."""

import asyncio
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work

from benchrun.board import in_the_way
from benchrun.errors import BenchrunError
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Refusal, Want
from benchrun.run.state import Run
from benchrun.screen.alarm import Alarm, alarms_of
from benchrun.screen.bench import Bench
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.lessons import Learned, learned_on
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import SurePane
from benchrun.screen.run.finished import FinishedPane
from benchrun.screen.run.giving import kept_words, signed_words
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.reasons import AT_HAND, FOR_CORRECTIONS, reason_pane
from benchrun.screen.run.resume import resume_pane
from benchrun.screen.run.work import WorkPane
from benchrun.session import Kept, Sitting
from benchrun.shop.people import Person
from benchrun.shop_use.instruments import Instruments, Kit

if TYPE_CHECKING:
    from benchrun.history.estimates import Estimate


class RunScreen(BenchScreen):
    """A run that is being carried out.

    Args:
        bench: The app.
        session: The run, live or read along.
        resumed: Whether it was taken up again, so that where it stood is shown first.
        work: Makes the pane of the work.
    """

    CSS_PATH: ClassVar[str | Path | None] = "run.tcss"

    def __init__(
        self,
        bench: Bench,
        session: Sitting,
        *,
        resumed: bool,
        work: Callable[[RunHost], WorkPane] = WorkPane,
    ) -> None:
        super().__init__(bench)
        self._session = session
        self._learned: Mapping[str, Sequence[Learned]] = {}
        self._took: Mapping[str, Estimate] = {}
        self._trouble = ""
        kit = Kit(session.shop)
        self._instruments = Instruments(session.procedure, lambda: session.entries, kit)
        self._work = work(self)
        self.push(self._work)
        if resumed:
            self.push(resume_pane(self, session))

    @property
    def session(self) -> Sitting:
        """The run."""
        return self._session

    @property
    def instruments(self) -> Instruments:
        """Which instrument each reading is taken with."""
        return self._instruments

    def learned(self, step: str) -> Sequence[Learned]:
        """The lessons of past runs on a step, the newest first; none until they are read."""
        return self._learned.get(step, ())

    def took(self, step: str) -> str:
        """How long a step took in past runs, in words; empty until that is read."""
        return self._took[step].words if step in self._took else ""

    def on_mount(self) -> None:
        """Begin to tick; look for lessons and for the times of past runs beside."""
        super().on_mount()
        self._read_lessons()
        self._read_times()

    @work(exclusive=True, group="times")
    async def _read_times(self) -> None:
        from benchrun.history.estimates import estimates_for

        session = self._session
        self._took = await asyncio.to_thread(
            estimates_for, session.shop.path, session.procedure.id, session.folder.run
        )
        self.paint()

    @work(exclusive=True, group="lessons")
    async def _read_lessons(self) -> None:
        shop, procedure = self._session.shop, self._session.procedure
        try:
            self._learned = await asyncio.to_thread(learned_on, shop, procedure)
        except BenchrunError as error:
            self.say(error.message, strong=True)
        self.paint()

    async def open_books(self) -> None:
        """Open the shop's books above the run."""
        from benchrun.screen.book.screen import BookScreen

        self.bench.open_screen(BookScreen(self.bench, self.session.shop))

    def home(self) -> None:
        """Go back to the step in hand."""
        del self.panes[self.panes.index(self._work) + 1 :]

    def type_in(self, text: str) -> None:
        """Put text into the entry field."""
        self._work.field.text = text
        self.paint()

    def alarms(self) -> Iterable[Alarm]:
        """What this run's clocks call for, and those of the other open runs."""
        own = alarms_of(self._session.run, self.now(), self._session.folder.run)
        return [*own, *self.bench.alarms(but=self._session.folder.run)]

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

    async def press(self, key: str) -> None:
        """Do what a key means; what is typed on after leaving is for nobody."""
        if not self._gone:
            await super().press(key)

    @property
    def _gone(self) -> bool:
        """Whether the run was left open and this screen is on its way off."""
        return self._session.left and not self._session.run.ended

    async def give(self, command: Command, after: Callable[[], None] | None = None) -> bool:
        """Give a command; ask for what it lacks."""
        if isinstance(command, c.PutIn) and not command.reason:
            crowded = await asyncio.to_thread(self._in_the_way, command)
            if crowded:
                self._ask_reason(command, f"{crowded}. In all the same, and why?", after)
                return False
        return await self._send(command, after)

    def _in_the_way(self, command: c.PutIn) -> str:
        session = self._session
        return in_the_way(session.shop, session.folder.run, session.run, command)

    async def _send(self, command: Command, after: Callable[[], None] | None) -> bool:
        before = self._session.run
        try:
            reply = await asyncio.wrap_future(self._session.send(command))
        except BenchrunError as error:
            self.say(error.message, strong=True)
            return False
        if isinstance(reply, Kept):
            self._told(reply, before)
            if after is not None:
                after()
            return True
        self._refused(command, reply, after)
        return False

    def _told(self, reply: Kept, before: Run) -> None:
        for entry in reply.entries[:1]:
            self.say(kept_words(entry, before))
        if any(isinstance(entry.data, e.Lesson) for entry in reply.entries):
            self._read_lessons()

    def _refused(
        self, command: Command, refusal: Refusal, after: Callable[[], None] | None
    ) -> None:
        if refusal.want is Want.SURE and isinstance(command, c.Do):

            async def again() -> None:
                await self.give(replace(command, sure=True), after)

            step = self._session.run.route.steps[command.step]
            head = f"{step.number}  {step.text}"
            self.push(SurePane(self, refusal.text, again, title=head))
        elif refusal.want is Want.REASON:
            self._ask_reason(command, refusal.text, after)
        else:
            self.say(refusal.text, strong=True)

    def _ask_reason(self, command: Command, said: str, after: Callable[[], None] | None) -> None:
        async def reasoned(text: str) -> None:
            # Only commands that have the field are ever refused for want of a reason.
            await self.give(replace(cast("c.Skip", command), reason=text), after)

        at_hand = FOR_CORRECTIONS if isinstance(command, c.Correct) else AT_HAND
        self.push(reason_pane(self, said, self._session.entries, reasoned, at_hand))

    async def sign(self, command: c.Do | c.Close, passphrase: str, person: Person) -> bool:
        """Give a command that is signed by somebody; whoever works goes on after."""
        worker, before = self._session.person, self._session.run
        self._session.hand_over(person)
        try:
            reply = await asyncio.wrap_future(self._session.sign(command, passphrase))
        finally:
            self._session.hand_over(worker)
        if isinstance(reply, Kept):
            self._told(reply, before)
            if self._session.run.ended:
                self.panes = [FinishedPane(self)]
            elif self._session.has_signed:
                self.say(signed_words(reply.entries[0], before, person.name))
            return True
        self._unsigned(command, reply, passphrase, person)
        return False

    def _unsigned(
        self, command: c.Do | c.Close, refusal: Refusal, passphrase: str, person: Person
    ) -> None:
        if refusal.want is Want.REASON and isinstance(command, c.Do):

            async def reasoned(text: str) -> None:
                if await self.sign(replace(command, reason=text), passphrase, person):
                    del self.panes[1:]

            self.push(reason_pane(self, refusal.text, self._session.entries, reasoned))
        else:
            self.say(refusal.text, strong=True)

    def leave(self) -> None:
        """Seal the run, let go of it and go back to the board."""
        self._session.leave()
        self.dismiss()

    def pop(self, pane: Pane) -> None:
        """Take a pane away; the last one leaves the run."""
        if self.panes and pane is self.panes[0]:
            self.leave()
            return
        super().pop(pane)
