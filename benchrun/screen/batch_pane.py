"""The pane that asks for a batch: parts that are ready, picked by number or by a scanned tag."""

from collections.abc import Awaitable, Callable, Hashable

from benchrun.dialogue.batch_choice import OTHERS, BatchChoice
from benchrun.dialogue.prompts import BACK
from benchrun.dialogue.run_prompts import ALL
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Field, Hint, Pane, PaneHost
from benchrun.screen.prompts import title_blocks
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import count

TakeAnswer = Callable[[str], Awaitable[None]]


class BatchPane(Pane):
    """Parts with their numbers; a number or a tag picks, Enter takes what is chosen.

    Args:
        host: The screen.
        prompt: What is asked.
        answer: Takes the answer.
    """

    def __init__(self, host: PaneHost, prompt: BatchChoice, answer: TakeAnswer) -> None:
        super().__init__(host)
        self.prompt = prompt
        self._answer = answer
        self._field = Field()
        self._top: int | None = None
        self._view = 1

    def does(self) -> Hashable:
        """Take what is chosen; choosing is the hand's own doing."""
        return self.prompt.title

    def typing(self, key: str) -> bool:
        """Everything is typed once something is; before, digits and letters, but what silences."""
        return bool(self._field.text) or (len(key) == 1 and key.isalnum() and key != OTHERS)

    def early(self, key: str) -> bool:
        """Enter behind a tag: a scanner is quicker than half a second."""
        return key == keys.ENTER and bool(self._field.text)

    def page(self, paper: Paper) -> Page:
        """The parts that fit, chosen ones marked; below them what is typed."""
        prompt = self.prompt
        head = title_blocks(paper, prompt.title, prompt.said)
        self._view = max(1, paper.height - len(head[-1].lines) - 8)
        if self._top is None:
            self._top = prompt.at // self._view * self._view
        rows = [
            self._row(paper, place)
            for place in range(self._top, min(len(prompt.offered), self._top + self._view))
        ]
        many = count(len(prompt.chosen), "part")
        shown = f"{self._top + 1} to {self._top + len(rows)} of {len(prompt.offered)}"
        more = f"   {shown}" if len(rows) < len(prompt.offered) else ""
        foot = paper.line("   ", (f"{many} chosen{more}", Role.QUIET))
        if self._field.text:
            foot = paper.line("   ") + self._field.drawn(paper, paper.width - 8)
        return self.laid(paper, [*head, block(rows), block([foot])], self._hints())

    def _row(self, paper: Paper, place: int) -> TextLine:
        option = self.prompt.offered[place]
        chosen = option.words in self.prompt.chosen
        wide = len(str(len(self.prompt.offered)))
        column = min(28, max(len(paper.clean(one.words)) for one in self.prompt.offered))
        mark = (f" {paper.signs.chosen if chosen else ' '} ", Role.ACCENT)
        row = paper.line(
            mark,
            (f"{place + 1:>{wide}}  ", Role.STRONG),
            (paper.padded(option.words, column), Role.STRONG if chosen else Role.TEXT),
            "   ",
        )
        return row + paper.line(
            (paper.fitted(option.beside, paper.width - row.width - 1), Role.QUIET)
        )

    def _hints(self) -> list[Hint]:
        prompt = self.prompt
        if self._field.text:
            return [Hint("Enter", "pick it", first=True), Hint("Esc", "back")]
        hints = [Hint("Enter", "go on with these", first=True)] if prompt.chosen else []
        picks = "pick" if prompt.digits_pick else "pick, with Enter"
        hints += [Hint("digit", picks, first=not prompt.chosen), Hint("letters", "a tag")]
        whole = set(prompt.tags[: prompt.most]) <= set(prompt.chosen)
        hints += [Hint(ALL, "none" if whole else "all"), Hint(OTHERS, "others")]
        if self._view < len(prompt.offered):
            hints.append(Hint("+", "on"))
        return [*hints, Hint("-", "back")]

    async def key(self, key: str) -> None:
        """Pick by number or by tag; Enter goes on."""
        field = self._field
        if key == keys.BACK or (key == BACK and not field.text):
            await self.leave()
        elif key == keys.ENTER:
            await self._give(field.text.strip())
        elif not field.text and (key in (ALL, OTHERS) or self._picks(key)):
            await self._give(key)
        elif not field.text and key in ("+", keys.NEXT, keys.DOWN):
            on = (self._top or 0) + self._view
            self._top = on if on < len(self.prompt.offered) else 0
        elif not field.text and key in (keys.PREVIOUS, keys.UP):
            self._top = max(0, (self._top or 0) - self._view)
        else:
            field.take(key)

    def _picks(self, key: str) -> bool:
        return self.prompt.digits_pick and key.isdigit()

    async def _give(self, typed: str) -> None:
        self.host.pop(self)
        await self._answer(typed)
        self.host.chose()
