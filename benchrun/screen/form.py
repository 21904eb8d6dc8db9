"""A form: several fields on one page, walked with Enter."""

import re
from collections.abc import Awaitable, Callable, Hashable, Sequence

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Field, Hint, Pane, PaneHost
from benchrun.screen.prompts import title_blocks
from benchrun.screen.text_line import Paper, Role, TextLine

Filled = Callable[[tuple[str, ...]], Awaitable[None]]


@lean_dataclass(frozen=True, slots=True)
class FormField:
    """One field of a form.

    Attributes:
        said: What is said behind it while it is empty.
    """

    label: str
    text: str = ""
    said: str = ""


class FormPane(Pane):
    """Several fields; the last Enter accepts them all.

    Args:
        host: The screen.
        title: What is asked for.
        asks: The fields.
        done: What to do with what was typed.
        said: What is said above them.
        enter: What the last Enter is called.
    """

    about = "Fields to fill, one after the other. What is marked as needed must be filled."

    def __init__(
        self,
        host: PaneHost,
        title: str,
        asks: Sequence[FormField],
        done: Filled,
        *,
        said: str = "",
        enter: str = "accept",
    ) -> None:
        super().__init__(host)
        self._title = title
        self._asks = asks
        self._fields = [Field(ask.text, most=120) for ask in asks]
        self._done = done
        self._said = said
        self._enter = enter
        self._at = 0

    def does(self) -> Hashable:
        """Go to the next field, or accept."""
        return (self._title, self._at)

    def typing(self, key: str) -> bool:
        """Every key is typed, and Enter takes it."""
        del key
        return True

    def page(self, paper: Paper) -> Page:
        """The fields, the one in hand with the caret."""
        rows = self._shown(paper, max(1, paper.height - 9))
        last = self._at == len(self._asks) - 1
        hints = [Hint("Enter", self._enter if last else "next", first=True)]
        if len(self._asks) > 1:
            hints.append(Hint("Tab", "walk the fields"))
        if self._fields[self._at].text:
            hints += [Hint("*", "rub out"), Hint("Esc", "back")]
        else:
            hints.append(Hint("-", "back a field" if self._at else "back"))
        blocks = [*title_blocks(paper, self._title, self._said), block(rows)]
        return self.laid(paper, blocks, hints)

    def _shown(self, paper: Paper, room: int) -> list[TextLine]:
        """The rows of the fields that there is room for; the one in hand is among them."""
        fields = [self._rows(paper, n, most=None) for n in range(len(self._asks))]
        if sum(map(len, fields)) > room:
            fields = [self._rows(paper, n, most=1) for n in range(len(self._asks))]
        above = sum(map(len, fields[: self._at]))
        rows = [row for field in fields for row in field]
        top = max(0, min(above - room // 2, len(rows) - room))
        return rows[top : top + room]

    def _rows(self, paper: Paper, number: int, *, most: int | None) -> list[TextLine]:
        ask, field = self._asks[number], self._fields[number]
        own = number == self._at
        width = max(12, min(28, max(len(one.label) for one in self._asks) + 2))
        label = paper.line(
            "   ", (paper.padded(ask.label, width), Role.STRONG if own else Role.TEXT)
        )
        room = paper.width - label.width - 4
        if own and not field.text:
            told = [paper.line("  ", (text, Role.QUIET)) for text in paper.wrap(ask.said, room)]
            head = label + field.drawn(paper, room)
            blank = paper.line(" " * head.width)
            return [head + told[0], *[blank + line for line in told[1:]]]
        if own:
            return [label + field.drawn(paper, room)]
        if field.text:
            return [label + paper.line(paper.fitted(field.text, room))]
        told = paper.paragraph(ask.said, first="", role=Role.QUIET, width=room, most=most)
        blank = paper.line(" " * label.width)
        return [label + told[0], *[blank + line for line in told[1:]]]

    def _refused(self, words: str) -> int:
        """The field that a refusal names; else the first that is needed and empty, else this."""
        named = [at for at, ask in enumerate(self._asks) if _names(words, ask.label)]
        empty = [
            at
            for at, (ask, field) in enumerate(zip(self._asks, self._fields, strict=True))
            if ask.said.startswith("needed") and not field.text
        ]
        return next(iter([*named, *empty]), self._at)

    async def key(self, key: str) -> None:
        """Type, walk, accept."""
        field = self._fields[self._at]
        if key == "-" and not field.text and self._at:
            self._at -= 1
            self.host.chose()
        elif key == keys.BACK or (key == "-" and not field.text):
            await self.leave()
        elif key == "*":
            field.take(keys.RUBOUT)  # a keypad has none
        elif key in (keys.NEXT, keys.PREVIOUS):
            self._at = (self._at + (1 if key == keys.NEXT else -1)) % len(self._asks)
            self.host.chose()
        elif key == keys.ENTER and self._at < len(self._asks) - 1:
            self._at += 1
            self.host.chose()
        elif key == keys.ENTER:
            self.host.pop(self)
            await self._done(tuple(one.text.strip() for one in self._fields))
            if self.host.message[1]:
                # Refused: what was typed can be mended, the field that was refused first.
                self._at = self._refused(self.host.message[0])
                self.host.push(self)
        else:
            field.take(key)


def _names(words: str, label: str) -> bool:
    """Whether a refusal names a field."""
    return re.search(rf"(?<!\w){re.escape(label)}(?!\w)", words) is not None
