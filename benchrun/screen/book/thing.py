"""One thing of the shop's books: everything about it, its lines, and what can be done with it."""

from collections.abc import Hashable

from benchrun.errors import BenchrunError
from benchrun.screen import keys
from benchrun.screen.book.host import BookHost
from benchrun.screen.book.sheet_lines import fields_lines, sheet_lines
from benchrun.screen.book.thing_menu import deeds_pane
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.shop_use.book_words import Book, lines_of, thing_facts


class ThingPane(Pane):
    """Everything about one thing.

    Args:
        host: The screen.
        book: The book that it stands in.
        name: Its id.
    """

    host: BookHost

    def __init__(self, host: BookHost, book: Book, name: str) -> None:
        super().__init__(host)
        self._book = book
        self._name = name
        self._top = 0
        self._view = 1
        self._count = 0

    def does(self) -> Hashable:
        """Open what can be done with it."""
        return (self._book.key, self._name)

    def page(self, paper: Paper) -> Page:
        """All that is known of it, then its lines, or its life over all runs, a page at a time."""
        try:
            rows = self._rows(paper)
        except BenchrunError as error:  # somebody took it out of the file, or broke it
            rows = paper.paragraph(error.message, first="   ", role=Role.STRONG)
        self._count, self._view = len(rows), max(1, paper.height - 6)
        self._top = max(0, min(self._top, self._count - self._view))
        shown = rows[self._top : self._top + self._view]
        words = ""
        if self._count > self._view:
            pages = -(-self._count // self._view)
            words = f"page {-(-(self._top + len(shown)) // self._view)} of {pages}"
        sheet = self.host.sheet(self._book.key, self._name)
        named = sheet.title if sheet is not None else self._name
        title = paper.line(" ", (named, Role.STRONG), (f"   {self._book.one}", Role.QUIET)).cut(
            paper.width - len(words) - 3
        )
        head = paper.between(title, paper.line((words, Role.QUIET), " "))
        hints = [Hint("Enter", "do or change something", first=True)]
        if self._count > self._view:
            hints.append(Hint("+", "on"))
        hints.append(Hint("-", "back a page" if self._top else "back"))
        return self.laid(paper, [block([head]), block(shown)], hints)

    def _rows(self, paper: Paper) -> list[TextLine]:
        host, book = self.host, self._book
        sheet = host.sheet(book.key, self._name)
        if sheet is not None:
            return sheet_lines(paper, sheet)
        rows: list[TextLine] = []
        facts = thing_facts(book, host.shop, host.found, self._name, host.today)
        rows += fields_lines(paper, facts)
        lines = lines_of(book, host.found, self._name)
        if lines:
            columns = max(len(line) for line in lines)
            wide = [
                min(40, max(len(line[at]) for line in lines if at < len(line)))
                for at in range(columns)
            ]
            rows.append(paper.line())
            for line in reversed(lines):
                cells = [paper.padded(cell, wide[at]) for at, cell in enumerate(line)]
                rows.append(paper.line(" ", "  ".join(cells).rstrip()).cut(paper.width - 1))
        return rows

    async def key(self, key: str) -> None:
        """Turn pages; Enter opens what can be done."""
        if key in ("+", keys.NEXT, keys.DOWN):
            self._top = min(self._top + self._view, max(0, self._count - self._view))
        elif key in ("-", keys.PREVIOUS, keys.UP) and self._top:
            self._top = max(0, self._top - self._view)
        elif key in ("-", keys.BACK):
            await self.leave()
        elif key == keys.ENTER:
            try:
                self.host.push(deeds_pane(self.host, self._book, self._name))
            except BenchrunError as error:
                self.host.say(error.message, strong=True)
