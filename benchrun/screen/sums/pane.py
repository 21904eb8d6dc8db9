"""The shop's sums: choose one, type what it needs, read the answer with its workings."""

from collections.abc import Awaitable, Callable, Hashable
from functools import partial

from benchrun.errors import BenchrunError
from benchrun.run.state import Run
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Field, Hint, Pane, PaneHost
from benchrun.screen.prompts import MenuChoice, MenuPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.shopmath import CALCS, Calc, Result

Use = Callable[[str, Result], Awaitable[None]]


def sums_menu(host: PaneHost, run: Callable[[], Run] | None = None, use: Use | None = None) -> Pane:
    """Every sum that the shop knows.

    Args:
        host: The screen.
        run: Gives the run whose readings fill in what fits by name, or None.
        use: Takes an answer over into the run, or None.
    """

    def choice(calc: Calc) -> MenuChoice:
        async def do() -> None:
            host.push(SumPane(host, calc, _readings(run() if run else None), use))

        return MenuChoice(calc.name.replace("_", " "), do, calc.purpose)

    return MenuPane(host, "Sums", [choice(calc) for calc in CALCS.values()])


def _readings(run: Run | None) -> dict[str, str]:
    """The newest reading under each name, as text with its unit."""
    found: dict[str, tuple[int, str]] = {}
    for marker in run.each() if run else ():
        for value in marker.values.values():
            if value.number is not None and value.n >= found.get(value.name, (-1, ""))[0]:
                found[value.name] = (value.n, f"{value.number} {value.unit}".strip())
    return {name: text for name, (_, text) in found.items()}


class SumPane(Pane):
    """One sum: a field for each thing that it is given.

    Args:
        host: The screen.
        calc: The sum.
        readings: Readings by name, for what fits.
        use: Takes the answer over into a run, or None.
    """

    def __init__(
        self, host: PaneHost, calc: Calc, readings: dict[str, str], use: Use | None = None
    ) -> None:
        super().__init__(host)
        self._use = use
        self._calc = calc
        self._fields = {i.name: Field(readings.get(i.name, "")) for i in calc.entries}
        self._names = [i.name for i in calc.entries]
        # The units of the answer come after the last input and are reached by walking alone.
        self._last = len(calc.inputs) - 1
        self._at = 0

    def does(self) -> Hashable:
        """Go to the next field, or work it out."""
        return (self._calc.name, self._at)

    def page(self, paper: Paper) -> Page:
        """The fields."""
        rows: list[TextLine] = []
        for number, given in enumerate(self._calc.entries):
            rows += self._row(paper, number, given.meaning, given.unit, given.default or "")
        top = max(0, min(self._at * 2 - paper.height // 2, len(rows) - (paper.height - 7)))
        title = paper.line(" ", (self._calc.name.replace("_", " "), Role.STRONG))
        purpose = paper.paragraph(self._calc.purpose, role=Role.QUIET, most=2)
        last = self._at >= self._last
        hints = [
            Hint("Enter", "work it out" if last else "next", first=True),
            Hint("Tab", "walk the fields"),
            Hint("*", "work it out"),
            Hint("Esc", "back"),
        ]
        shown = rows[top : top + paper.height - 7]
        return self.laid(paper, [block([title, *purpose]), block(shown)], hints)

    def _row(self, paper: Paper, number: int, meaning: str, unit: str, left: str) -> list[TextLine]:
        name = self._names[number]
        own = number == self._at
        width = max(14, min(22, max(len(n) for n in self._names) + 2))
        lead = paper.line("   ", (paper.padded(name, width), Role.STRONG if own else Role.TEXT))
        field = self._fields[name]
        if own:
            drawn = field.drawn(paper, 20)
        else:
            text = field.text or (f"({left})" if left else paper.signs.dot)
            drawn = paper.line((paper.fitted(text, 20), Role.TEXT if field.text else Role.QUIET))
        said = f"{meaning}{f', {unit}' if unit else ''}"
        head, room = lead + drawn.padded(22), paper.width - lead.width - 24
        most = None if own else 2
        told = paper.paragraph(said, first="", role=Role.QUIET, width=room, most=most)
        blank = paper.line(" " * head.width)
        return [head + told[0], *[blank + line for line in told[1:]]]

    async def key(self, key: str) -> None:
        """Type, walk, work out."""
        field = self._fields[self._names[self._at]]
        if key == keys.BACK or (key == "-" and not any(f.text for f in self._fields.values())):
            self.host.pop(self)
        elif key in (keys.NEXT, keys.PREVIOUS):
            by = 1 if key == keys.NEXT else -1
            self._at = (self._at + by) % len(self._names)
            self.host.chose()
        elif key == keys.ENTER and self._at < self._last:
            self._at += 1
            self.host.chose()
        elif key in (keys.ENTER, "*"):
            self._work()
        else:
            field.take(key)

    def _work(self) -> None:
        given = {name: field.text for name, field in self._fields.items() if field.text.strip()}
        try:
            result = self._calc.read_out(given)
        except BenchrunError as error:
            self.host.say(error.message, strong=True)
            return
        title, use = self._calc.name.replace("_", " "), self._use

        def rows(paper: Paper) -> list[TextLine]:
            return result_rows(paper, result)

        if use is None:
            self.host.push(ReadPane(self.host, title, rows))
        else:
            take = partial(use, title, result)
            self.host.push(ReadPane(self.host, title, rows, after=take, enter="use it"))
        self.host.chose()


def result_rows(paper: Paper, result: Result) -> list[TextLine]:
    """An answer: cautions first, then the values, the workings, where it comes from."""
    rows: list[TextLine] = []
    for text in result.cautions:
        rows += paper.paragraph(text, first=" caution  ", lead=Role.PLATE)
    rows += [paper.line()] if rows else []
    for name, amount in result.outputs.items():
        label = paper.padded(name.replace("_", " "), 24)
        rows.append(paper.line("   ", (label, Role.QUIET), (amount.words, Role.STRONG)))
    for title, texts in (
        ("how", result.workings),
        ("note", result.notes),
        ("from", result.sources),
    ):
        for place, text in enumerate(texts):
            rows += [paper.line()] if not place else []
            first = f" {title if not place else '':<6}"
            rows += paper.paragraph(text, first=first, lead=Role.QUIET)
    return rows
