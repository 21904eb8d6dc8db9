"""A flow of the dialogue on a screen: each question on a pane of its own, each key an input."""

import asyncio
import sys
from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Protocol

from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.conversation import PROMPTS, Conversation
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.prompts import BACK, Check, Choose, Confirm, Form, Text
from benchrun.dialogue.turns import (
    BackgroundCall,
    Destination,
    Flow,
    LeftOff,
    OpenPage,
    Prompt,
    Say,
    Send,
    ShowPicture,
    Sign,
    Turn,
)
from benchrun.errors import BenchrunError
from benchrun.screen.batch_pane import BatchPane
from benchrun.screen.check_pane import CheckPane
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.page_rows import row_lines
from benchrun.screen.progress_pane import ProgressPane
from benchrun.screen.prompts import ChoosePane, SurePane, TextPane
from benchrun.screen.reader_page import Done, ReadPane
from benchrun.screen.text_line import Paper, TextLine
from benchrun.session import Kept, Reply

Answer = Callable[[str], Awaitable[None]]
_NOT_BACK = frozenset({Destination.BOARD, Destination.RUN})
"""Pages whose end does not lead back to the question before."""


class FlowHost(PaneHost, Protocol):
    """The screen as a flow sees it, that it is drawn on."""

    def pane_of(self, prompt: Prompt, answer: Answer) -> Pane:
        """The pane that asks a question."""
        ...

    async def deliver(self, turn: Send | Sign) -> Reply:
        """Give a command, and wait for what comes of it."""
        ...

    async def open_place(self, turn: OpenPage) -> None:
        """Open another page."""
        ...

    async def show_picture(self, path: Path) -> str:
        """Show a picture; the words about it, empty where it was seen."""
        ...


class ScreenFlow:
    """A flow carried on by keys.

    Going back from a question leads to the one before, as long as nothing was done meanwhile; from
    the first one to the menu that led here, or out.

    Args:
        host: The screen.
        begin: Begins the flow; once more where a question is gone back from.
        ended: What to do at its end; given whether something was recorded.
    """

    def __init__(
        self,
        host: FlowHost,
        begin: Callable[[], Flow],
        ended: Callable[[bool], Awaitable[None]] | None = None,
    ) -> None:
        self._host = host
        self._begin = begin
        self._talk = Conversation(begin())
        self._may_return = True
        self._asked_before = sys.maxsize  # so many questions came before a command was tried
        self._menu = host.opened_by
        self._ended = ended
        self._beside: asyncio.Task[None] | None = None

    async def go_on(self, turn: Turn | None = None, first: str | None = None) -> None:
        """Carry turns out until something is asked, or to the end.

        Args:
            turn: What comes next; None at the beginning.
            first: The answer to the first question, where it stood on the page already.
        """
        talk = self._talk
        turn = talk.reply() if turn is None and not talk.over else turn
        while turn is not None:
            if isinstance(turn, PROMPTS):
                if first is None:
                    self._ask(turn)
                    return
                turn, first = talk.answer(first), None
                self._may_return = False  # it was answered on the page that lies below
            elif isinstance(turn, Say):
                self._host.say(turn.text, strong=turn.strong)
                turn = talk.asked if talk.asked is not None else talk.reply(None)
            elif isinstance(turn, Send | Sign):
                self._asked_before = min(self._asked_before, len(talk.given))
                try:
                    reply = await self._host.deliver(turn)
                except BenchrunError as error:
                    turn = talk.fail(error)
                else:
                    self._may_return = self._may_return and not isinstance(reply, Kept)
                    turn = talk.reply(reply)
            elif isinstance(turn, BackgroundCall) and turn.progress is not None:
                self._call_beside(turn)
                return
            else:
                turn = await self._carried_out(turn)
        if self._ended is not None:
            await self._ended(talk.recorded)

    async def answer(self, typed: str) -> None:
        """Take the answer to what is asked, and go on to the next question."""
        before = self._before()
        may = self._may_return and len(self._talk.given) <= self._asked_before
        if typed == BACK and before is not None and may:
            await self._one_back(before)
            return
        left = typed == BACK and before is None
        await self.go_on(self._talk.answer(typed))
        if left and self._talk.over and self._menu is not None:
            self._host.push(self._menu)

    async def _carried_out(self, turn: Turn) -> Turn | None:
        """The turn after one that neither asks nor gives a command."""
        host, talk = self._host, self._talk
        match turn:
            case BackgroundCall():
                self._may_return = self._may_return and not turn.once
                return await self._called(turn)
            case ShowPicture():
                self._asked_before = min(self._asked_before, len(talk.given))
                return talk.reply(await host.show_picture(turn.path))
            case OpenPage():
                await self._open(turn)
                return talk.reply(None)
        raise TypeError(f"{turn} is asked or given, not carried out")

    def _call_beside(self, turn: BackgroundCall) -> None:
        """Work something out while keys are taken, and tell how far it has come."""
        host, talk, progress = self._host, self._talk, turn.progress
        if progress is None:
            raise ValueError("it is not told how far this has come")
        pane = ProgressPane(host, progress)

        async def go() -> None:
            self._may_return = self._may_return and not turn.once
            try:
                after = await self._called(turn)
            except LeftOff:
                return
            except asyncio.CancelledError:
                progress.leave()  # the program ends: the thread must not keep it
                raise
            if progress.left or self._talk is not talk:
                return
            host.pop(pane)
            await self.go_on(after)
            host.paint()

        async def left() -> None:
            if talk.given:
                await self._one_back(talk.given[:-1])
            elif self._menu is not None:
                host.push(self._menu)

        pane.left = left
        host.push(pane)
        self._beside = asyncio.get_running_loop().create_task(go())

    async def _called(self, turn: BackgroundCall) -> Turn | None:
        try:
            done = await asyncio.to_thread(turn.work)
        except BenchrunError as error:
            return self._talk.fail(error)
        return self._talk.reply(done)

    async def _open(self, turn: OpenPage) -> None:
        """Open another page; the question that led there lies below it, or comes back after it."""
        host, before = self._host, self._host.front
        given = list(self._talk.given)
        await host.open_place(turn)
        if not self._may_return or not given or turn.place in _NOT_BACK:
            return
        if not host.in_front:
            await self._one_back(given[:-1])
        elif host.front is not before and host.front is not None and host.front.left is None:

            async def back() -> None:
                await self._one_back(given[:-1])

            host.front.left = back

    def _before(self) -> list[tuple[Prompt, object]] | None:
        """The answers up to the question before the one in hand; None where it is the first."""
        given, asked = list(self._talk.given), self._talk.asked
        while asked is not None and given and _again(asked, given[-1][0]):
            given.pop()  # what was refused is no step
        return given[:-1] if given else None

    async def _one_back(self, given: Sequence[tuple[Prompt, object]]) -> None:
        """Begin once more and answer as before, up to the question that comes then."""
        self._talk, self._asked_before = Conversation(self._begin()), sys.maxsize
        turn = self._talk.reply()
        for prompt, value in given:
            while turn is not None and not isinstance(turn, PROMPTS):
                if isinstance(turn, Send | Sign | OpenPage | ShowPicture):
                    return  # things have changed meanwhile: what would be done now is not meant
                turn = await self._carried_out(turn)
            if turn is None:
                break
            if not _alike(turn, prompt):
                continue  # what is known by now, such as who works, is not asked again
            self._talk.given.append((prompt, value))
            turn = self._talk.reply(value)
        while isinstance(turn, BackgroundCall):
            turn = await self._carried_out(turn)  # it was worked out just now: nobody waits long
        await self.go_on(turn)

    def _ask(self, prompt: Prompt) -> None:
        pane = self._host.pane_of(prompt, self.answer)
        pane.left = partial(self.answer, BACK)
        self._host.push(pane)


def _alike(one: Turn, other: Prompt) -> bool:
    """Whether two questions ask the same."""
    return type(one) is type(other) and getattr(one, "title", "") == getattr(other, "title", "")


def _again(one: Prompt, other: Prompt) -> bool:
    """Whether a question is the other, asked again because its answer was refused."""
    return _alike(one, other) and getattr(one, "said", "") == getattr(other, "said", "")


def pane_of(host: PaneHost, prompt: Prompt, answer: Answer) -> Pane:
    """The pane that asks a question.

    Args:
        host: The screen.
        prompt: What is asked.
        answer: Takes the answer.

    Raises:
        TypeError: It is asked on a page of its own alone.
    """
    match prompt:
        case Choose():
            return ChoosePane(host, prompt, answer)
        case Text():
            return TextPane(
                host,
                prompt.title,
                answer,
                said=prompt.said,
                ready=prompt.ready,
                offered=prompt.offered,
                typed=prompt.typed,
                stays=False,
            )
        case BatchChoice():
            return BatchPane(host, prompt, answer)
        case Confirm():
            return SurePane(host, prompt.said, partial(answer, ""), title=prompt.title)
        case Check():
            return CheckPane(host, prompt, answer)
        case Form():
            return _form(host, prompt, answer)
        case PagePrompt():
            return page_pane(host, prompt, partial(answer, ""))
    raise TypeError(f"{type(prompt).__name__} is asked on a page of its own")


def page_pane(host: PaneHost, prompt: PagePrompt, after: Done | None = None) -> Pane:
    """The pane of a page to be read; what comes after it, where something does."""
    kept: tuple[object, Sequence[TextLine]] = (None, ())

    def lines(paper: Paper) -> Sequence[TextLine]:
        nonlocal kept
        rows = prompt.rows()
        # The page is painted every second; rows that are the same ones are not drawn again.
        if kept[0] != (paper, id(rows)):
            kept = ((paper, id(rows)), row_lines(paper, rows))
        return kept[1]

    return ReadPane(
        host,
        prompt.title,
        lines if prompt.returns else lambda paper: row_lines(paper, prompt.rows()),
        after=None if prompt.returns else after,
        enter=prompt.enter,
        decides=prompt.decides,
    )


def _form(host: PaneHost, prompt: Form, answer: Answer) -> Pane:
    async def filled(texts: tuple[str, ...]) -> None:
        await answer("\n".join(texts))

    if prompt.counts:
        from benchrun.screen.sums.pane import CountPane

        return CountPane(host, prompt, filled)
    if any(blank.unit or blank.offered for blank in prompt.blanks):
        from benchrun.screen.sums.pane import SumPane

        return SumPane(host, prompt, filled)
    fields = [FormField(blank.label, blank.typed, blank.said) for blank in prompt.blanks]
    return FormPane(host, prompt.title, fields, filled, said=prompt.said, enter=prompt.enter)
