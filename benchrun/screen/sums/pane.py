"""A sum of the shop: a line for each thing that it is given, with what may stay empty."""

from collections.abc import Hashable
from typing import Final

from benchrun.dialogue.prompts import Blank, Form
from benchrun.screen import keys
from benchrun.screen.form import Filled
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Field, Hint, Pane, PaneHost
from benchrun.screen.text_line import Paper, Role, TextLine

_FIELD: Final = 20
"""So many cells show what is typed."""
_SAID: Final = 24
"""From so many cells on what is said of a field stands beside it."""


class SumPane(Pane):
    """One sum.

    Args:
        host: The screen.
        prompt: What it is given.
        done: What to do with what was typed.
    """

    about = "A sum of the shop: type the values with their units; nothing is recorded."

    def __init__(self, host: PaneHost, prompt: Form, done: Filled) -> None:
        super().__init__(host)
        self._prompt = prompt
        self._done = done
        self._fields = [Field(blank.typed) for blank in prompt.blanks]
        self._last = len(prompt.blanks) - 1 - prompt.extras
        self._at = 0

    def does(self) -> Hashable:
        """Go to the next field, or work it out."""
        return (self._prompt.title, self._at)

    def typing(self, key: str) -> bool:
        """Every key is typed, and Enter takes it."""
        del key
        return True

    def page(self, paper: Paper) -> Page:
        """The fields."""
        rows: list[TextLine] = []
        for number, blank in enumerate(self._prompt.blanks):
            rows += self._row(paper, number, blank)
        title = paper.paragraph(self._prompt.title, role=Role.STRONG, most=3)
        purpose = paper.paragraph(self._prompt.said, role=Role.QUIET, most=2)
        room = paper.height - 6 - len(title)
        last = self._at >= self._last
        hints = [
            Hint("Enter", self._prompt.enter if last else "next", first=True),
            Hint("Tab", "walk the fields"),
            *([] if last else [Hint("*", self._prompt.enter)]),
            Hint("Esc", "back"),
        ]
        top = max(0, min(self._at * 2 - paper.height // 2, len(rows) - room))
        return self.laid(paper, [block([*title, *purpose]), block(rows[top : top + room])], hints)

    def _row(self, paper: Paper, number: int, blank: Blank) -> list[TextLine]:
        own, field, dot = number == self._at, self._fields[number], paper.signs.dot
        # Behind the name of a tool nothing is said, so that it may be long.
        most = paper.width - 28 if self._prompt.counts else 22
        width = max(14, min(most, max(len(one.label) for one in self._prompt.blanks) + 2))
        lead = paper.line(
            "   ", (paper.padded(blank.label, width), Role.STRONG if own else Role.TEXT)
        )
        if own:
            drawn = field.drawn(paper, _FIELD)
            if self._prompt.counts and not field.text:
                drawn = drawn + paper.line((f" ({blank.offered})", Role.QUIET))
        else:
            text = field.text or (f"({blank.offered})" if blank.offered else dot)
            role = Role.TEXT if field.text else Role.QUIET
            if len(text) > _FIELD:  # what stands in a field goes before what is said of it
                return [lead + paper.line((paper.fitted(text, paper.width - lead.width - 1), role))]
            drawn = paper.line((text, role))
        head, room = lead + drawn.padded(_FIELD + 2), paper.width - lead.width - _FIELD - 4
        said, rows = self._said_of(blank), None if own else 2
        if room >= _SAID:
            told = paper.paragraph(said, first="", role=Role.QUIET, width=room, most=rows)
            space = paper.line(" " * head.width)
            return [head + told[0], *[space + line for line in told[1:]]]
        # No room beside the field: below the one in hand, and of the others the unit alone.
        if own and said != blank.unit:
            return [head, *paper.paragraph(said, first="     ", role=Role.QUIET)]
        unit = paper.fitted(blank.unit, max(0, room + _FIELD - drawn.width))
        return [lead + drawn + paper.line((f"  {unit}" if unit else "", Role.QUIET))]

    def _said_of(self, blank: Blank) -> str:
        """The words beside a field: what stands as the title is not said again."""
        ask = blank.said if blank.said != self._prompt.title.rstrip(".") else ""
        return ", ".join(filter(None, (ask, blank.unit)))

    async def key(self, key: str) -> None:
        """Type, walk, work out."""
        field = self._fields[self._at]
        if key == keys.BACK or (key == "-" and not any(one.text for one in self._fields)):
            await self.leave()
        elif key in (keys.NEXT, keys.PREVIOUS):
            by = 1 if key == keys.NEXT else -1
            self._at = (self._at + by) % len(self._fields)
            self.host.chose()
        elif key == keys.ENTER and self._at < self._last:
            self._at += 1
            self.host.chose()
        elif key in (keys.ENTER, "*"):
            self.host.pop(self)
            await self._done(tuple(one.text for one in self._fields))
            self.host.chose()
        else:
            field.take(key)


class CountPane(SumPane):
    """Things that are counted, a number a line; what is shown is taken by Enter alone."""

    about = "Things to count: Enter takes the number that is shown, a number typed goes before it."
