"""Panes that ask one thing: a number from a list, a line of text, or once more."""

from collections.abc import Awaitable, Callable, Hashable, Sequence
from dataclasses import replace
from itertools import count

from benchrun.dialogue.prompts import MORE, Choose, Option
from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen import keys
from benchrun.screen.page import Block, Page, block
from benchrun.screen.page_api import Field, Hint, Pane, PaneHost
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine

LEAD = 6
_FREE = replace(BLANK, yields=True)
_FIRST, _LAST = 5, 1
"""The empty rows on top give way first of all, but for one: that goes when nothing else can."""

Done = Callable[[], Awaitable[None]]
TakeText = Callable[[str], Awaitable[None]]


@lean_dataclass(frozen=True, slots=True)
class MenuChoice:
    """One numbered line of a menu.

    Attributes:
        beside: What is said of it, quietly.
    """

    words: str
    do: Done
    beside: str = ""


def title_blocks(paper: Paper, title: str, said: str = "") -> list[Block]:
    """The head of a pane that asks, below empty rows for an alarm where there is room for any.

    An alarm lies over the first rows, and no question is understood without its title.
    """
    rows = [paper.line(" ", (paper.fitted(title, paper.width - 2), Role.STRONG))]
    rows += [BLANK, *paper.paragraph(said)] if said else []
    more = [block([_FREE], rank=_FIRST, gap=0)] * (3 if paper.large else 1)
    return [block([_FREE], rank=_LAST), *more, block(rows, gap=0)]


def option_rows(paper: Paper, prompt: Choose, room: int | None = None) -> list[TextLine]:
    """The lines of a question that stand on one page, each with its number.

    Args:
        paper: What they are drawn on.
        prompt: The question.
        room: How many rows there are; where they do not hold all, lines are cut to one row, the
            last first, so that no number is missing. None: as many as it takes.
    """
    shown = prompt.shown
    items = [(option.words, option.beside) for _, option in shown]
    numbers = [number for number, _ in shown]
    rows = numbered(paper, items, accent=True, numbers=numbers)
    if room is None or len(rows) <= room:
        return rows
    most: list[int | None] = [1] * len(items)
    rows = numbered(paper, items, accent=True, numbers=numbers, most=most)
    if len(rows) > room:
        words = [(words, "") for words, _ in items]
        return numbered(paper, words, accent=True, numbers=numbers, most=most)
    for at in range(len(items)):
        longer = [*most[:at], None, *most[at + 1 :]]
        tried = numbered(paper, items, accent=True, numbers=numbers, most=longer)
        if len(tried) <= room:
            most, rows = longer, tried
    return rows


def numbered(
    paper: Paper,
    items: Sequence[tuple[str, str]],
    *,
    accent: bool = False,
    numbers: Sequence[int] = (),
    most: Sequence[int | None] = (),
) -> list[TextLine]:
    """Numbered lines, each with what is said of it in a column of its own.

    Where most of the lines are too long for a column, what is said stands below each of them.

    Args:
        paper: What they are drawn on.
        items: Words, and what is said beside them.
        accent: Whether the numbers want a hand.
        numbers: The number of each; empty: from 1 on.
        most: For each how many rows its words may take at most, and what is said of them; None,
            or empty for all: as many as it takes.
    """
    lead = Role.ACCENT if accent else Role.STRONG
    column = _column(paper, items)
    rows: list[TextLine] = []
    limits = most or [None] * len(items)
    for number, (words, beside), most_rows in zip(numbers or count(1), items, limits, strict=False):
        said = paper.paragraph(
            words, first=f"   {number}  ", lead=lead, width=paper.width - 2, most=most_rows
        )
        if beside:
            fits = len(said) == 1 and said[0].width <= column - 2
            indent = " " * (column if fits else LEAD)
            told = paper.paragraph(
                beside, first=indent, role=Role.QUIET, width=paper.width - 2, most=most_rows
            )
            if fits:
                text = told[0].pieces[-1:]
                said[0] = said[0].padded(column) + TextLine(text)
                told = told[1:]
            said += told
        rows += said
    return rows


def _column(paper: Paper, items: Sequence[tuple[str, str]]) -> int:
    """Where what is said beside numbered lines begins; 0: below each of them."""
    told = [(len(paper.clean(words)), beside) for words, beside in items if beside]
    longest = max((len(paper.clean(beside)) for _, beside in told), default=0)
    widths = [width for width, _ in told]
    if LEAD + max(widths, default=0) + 3 + longest <= paper.width - 2:
        return LEAD + max(widths, default=0) + 3
    short = [width for width in widths if width <= paper.width // 2 - LEAD]
    return LEAD + max(short) + 3 if 2 * len(short) > len(widths) else 0


class ChoosePane(Pane):
    """A question with numbered lines.

    Args:
        host: The screen.
        prompt: The question.
        answer: Takes the number.
    """

    about = "A number chooses; Esc leaves everything as it is."

    def __init__(self, host: PaneHost, prompt: Choose, answer: TakeText) -> None:
        super().__init__(host)
        self.prompt = prompt
        self._answer = answer

    def does(self) -> Hashable:
        """Take the usual line, where there is one; else nothing: it takes numbers only."""
        return (self.prompt.title, self.prompt.first)

    def page(self, paper: Paper) -> Page:
        """The numbered lines."""
        prompt = self.prompt
        head = title_blocks(paper, prompt.title, prompt.said)
        room = paper.height - len(head[-1].lines) - (5 if prompt.more else 4)
        rows = option_rows(paper, prompt, room)
        if prompt.more:
            rows.append(paper.line("   ", (MORE, Role.STRONG), (f"  {prompt.more}", Role.QUIET)))
        blocks = [*head, block(rows)]
        back = Hint("-", "back a page" if prompt.first else "back")
        hints = [Hint("digit", "choose", first=True)] if prompt.options else []
        if prompt.usual is not None:
            hints.insert(0, Hint("Enter", prompt.options[prompt.usual].words, first=True))
        return self.laid(paper, blocks, [*hints, back])

    async def key(self, key: str) -> None:
        """A number chooses, minus goes back a page, or from the first one."""
        prompt = self.prompt
        if key == "-" and prompt.first:
            self.prompt = prompt.turned_back()
        elif key in ("-", keys.BACK):
            await self.leave()
        elif key == keys.ENTER and prompt.usual is None:
            self.host.say("Choose by its number.")
        elif key == keys.ENTER:
            await self.take("")
        elif prompt.place(key) is not None or (key == MORE and prompt.more):
            await self.take(key)
            self.host.chose()

    def typing(self, key: str) -> bool:
        """Enter takes the usual line, also while an alarm stands."""
        return key == keys.ENTER and self.prompt.usual is not None

    async def take(self, key: str) -> None:
        """Take a number that stands on the page."""
        self.host.pop(self)
        await self._answer(key)


class MenuPane(ChoosePane):
    """A list to choose from by number, each line with what it does.

    Args:
        host: The screen.
        title: What is chosen.
        choices: The lines.
        said: What is said above them.
        stays: Whether the menu stays when something was chosen.
    """

    def __init__(
        self,
        host: PaneHost,
        title: str,
        choices: Sequence[MenuChoice],
        *,
        said: str = "",
        stays: bool = False,
    ) -> None:
        super().__init__(host, Choose(title, (), said), self._choose)
        self._stays = stays
        self.offer(choices)

    def offer(self, choices: Sequence[MenuChoice]) -> None:
        """Take lines in the place of those that stand there."""
        self._choices = choices
        options = tuple(Option(one.words, one.beside) for one in choices)
        self.prompt = replace(self.prompt, options=options)

    async def take(self, key: str) -> None:
        """Do what a line is for, or go on to the next lines."""
        if self.prompt.place(key) is None:
            self.prompt = self.prompt.turned()
            return
        if self._stays:
            await self._choose(key)
        else:
            self.host.pop(self)
            await self._opened(key)

    async def _opened(self, key: str) -> None:
        """Carry a line out; going back from what it opens leads here again."""
        host, below = self.host, self.host.front
        host.opened_by = self
        try:
            await self._choose(key)
        finally:
            host.opened_by = None
        if not host.in_front:
            host.push(self)
        elif host.front is not None and host.front is not below and host.front.left is None:
            host.front.left = self._back_here

    async def _back_here(self) -> None:
        self.host.push(self)

    async def _choose(self, key: str) -> None:
        place = self.prompt.place(key)
        if place is not None:
            await self._choices[place].do()


class TextPane(Pane):
    """A line of text, typed or, where it is empty, chosen by number.

    Args:
        host: The screen.
        title: What is asked for.
        done: What to do with the text.
        said: What is said above the field.
        ready: Texts that a number gives.
        offered: What Enter takes while nothing is typed.
        hidden: Whether dots stand for what is typed.
        typed: What stands in the field at first.
        stays: Whether it comes back by itself when what was typed is refused.
    """

    about = "A text to type. Enter takes it; nothing is recorded before."

    def __init__(
        self,
        host: PaneHost,
        title: str,
        done: TakeText,
        *,
        said: str = "",
        ready: Sequence[str] = (),
        offered: str = "",
        hidden: bool = False,
        typed: str = "",
        stays: bool = True,
    ) -> None:
        super().__init__(host)
        self._title = title
        self._done = done
        self._said = said
        self._ready = tuple(ready)[:9]
        self._field = Field(typed, hidden=hidden)
        self._typed = typed
        self._offered = offered
        self._stays = stays

    def does(self) -> Hashable:
        """Accept the text; typing it is the hand's own doing."""
        return (self._title, self._said)

    def typing(self, key: str) -> bool:
        """Every key is typed, and Enter takes it."""
        del key
        return True

    def early(self, key: str) -> bool:
        """Enter behind what was typed here: a scanner is quicker than half a second."""
        return key == keys.ENTER and self._field.text != self._typed

    def numbers_act(self) -> bool:
        """Whether a number gives a text."""
        return bool(self._ready) and not self._field.text

    def page(self, paper: Paper) -> Page:
        """The question, the texts at hand, the field."""
        blocks = title_blocks(paper, self._title, self._said)
        empty = not self._field.text
        if self._ready:
            items = [(text, "") for text in self._ready]
            blocks.append(block(numbered(paper, items, accent=empty)))
        row = paper.line("   ") + self._field.drawn(paper, paper.width - 8)
        if empty and self._offered:
            room = paper.width - 8
            row = row + paper.line("  ", (paper.fitted(self._offered, room), Role.QUIET))
        blocks.append(block([row]))
        hints = [] if empty else [Hint("Enter", "accept", first=True), self._takes_back()]
        if empty and self._ready:
            hints.append(Hint("digit", "choose", first=True))
        if empty and self._offered:
            hints.append(Hint("Enter", "accept", first=True))
        # A digit takes a line that stands there; without any it is typed.
        typed = "letters" if self._ready else "letters, digits"
        hints += [Hint(typed, "type it")] if empty else []
        return self.laid(paper, blocks, [*hints, Hint("-" if empty else "Esc", "back")])

    def _takes_back(self) -> Hint:
        return Hint("rubout", "rub out") if self._field.hidden else Hint("*", "rub out")

    async def key(self, key: str) -> None:
        """Typing, choosing, accepting."""
        empty = not self._field.text
        if key == keys.BACK or (empty and key == "-"):
            await self.leave()
        elif empty and key.isdigit() and 1 <= int(key) <= len(self._ready):
            await self._accept(self._ready[int(key) - 1])
        elif key == keys.ENTER:
            text = self._field.text if self._field.hidden else self._field.text.strip()
            text = text or self._offered
            if text:
                await self._accept(text)
        elif key == "*" and not self._field.hidden:
            # A keypad has no rubout, and without one only Enter would lead out of a slip.
            self._field.take(keys.RUBOUT)
        else:
            self._field.take(key)

    async def _accept(self, text: str) -> None:
        self.host.pop(self)
        await self._done(text)
        refused = self.host.message[1]
        if self._stays and refused and self._field.text and not self._field.hidden:
            self.host.push(self)  # what was typed is not lost: it can be mended or tried again


class SurePane(Pane):
    """Something that cannot be undone is asked once more.

    Args:
        host: The screen.
        said: What would be done, and why it is asked.
        done: What to do when it is said once more.
        title: The head.
        enter: What Enter does.
    """

    about = "What cannot be undone is asked twice: Enter again does it."

    def __init__(
        self,
        host: PaneHost,
        said: str,
        done: Done,
        *,
        title: str = "Once more",
        enter: str = "do it",
    ) -> None:
        super().__init__(host)
        self._enter = enter
        self._said = said
        self._done = done
        self._title = title

    def does(self) -> Hashable:
        """The thing itself."""
        return (self._title, self._said)

    def page(self, paper: Paper) -> Page:
        """The question and its two answers."""
        rows = paper.paragraph(self._said, first="   ", role=Role.STRONG)
        blocks = [*title_blocks(paper, self._title), block(rows)]
        return self.laid(paper, blocks, [Hint("Enter", self._enter, first=True), Hint("-", "back")])

    async def key(self, key: str) -> None:
        """Enter does it."""
        if key == keys.ENTER:
            self.host.pop(self)
            await self._done()
        elif key in ("-", keys.BACK, "."):
            await self.leave()
