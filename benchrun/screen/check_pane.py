"""The pane that asks whether something is so: one thing at a time, large enough for a glove."""

from collections.abc import Awaitable, Callable, Hashable

from benchrun.dialogue.prompts import NOT_SO, Check
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost, headed
from benchrun.screen.text_line import Paper, Role, TextLine

TakeAnswer = Callable[[str], Awaitable[None]]


class CheckPane(Pane):
    """The list: what was found so with its time, what is asked now, what comes behind it.

    Args:
        host: The screen.
        prompt: What is asked.
        answer: Takes the answer.
    """

    about = "One thing to check: Enter finds it so and notes the time, 0 ends it unbegun."

    def __init__(self, host: PaneHost, prompt: Check, answer: TakeAnswer) -> None:
        super().__init__(host)
        self._prompt = prompt
        self._answer = answer

    def does(self) -> Hashable:
        """Find this very thing so."""
        return (self._prompt.title, self._prompt.place)

    def numbers_act(self) -> bool:
        """Whether a digit ends the check, so that it must be as deaf as Enter."""
        return True

    def page(self, paper: Paper) -> Page:
        """The list, the one in hand strong."""
        prompt, look = self._prompt, self.host.look
        head = [headed(paper, prompt.title, prompt.place)]
        done: list[TextLine] = []
        for says, at in prompt.checked:
            first = f"   {paper.signs.coat} {look.clock(at)}  "
            done += paper.paragraph(says, first=first, role=Role.QUIET, most=2)
        asked = paper.paragraph(prompt.says, first="   ", lead=Role.ACCENT, role=Role.STRONG)
        ahead = [
            row
            for says in prompt.ahead
            for row in paper.paragraph(says, first="     ", role=Role.QUIET, most=2)
        ]
        hints = [Hint("Enter", "it is so", first=True), Hint(NOT_SO, "it is not so: not begun")]
        blocks = [block(head), block(asked), *([block(done)] if done else [])]
        blocks += [block(ahead)] if ahead else []
        return self.laid(paper, blocks, [*hints, Hint("-", "back")])

    async def key(self, key: str) -> None:
        """Enter finds it so, 0 not, minus goes back."""
        if key in ("-", keys.BACK):
            await self.leave()
        elif key in (keys.ENTER, NOT_SO):
            self.host.pop(self)
            await self._answer("" if key == keys.ENTER else key)
            self.host.chose()
