"""A pane that is only to be read, a page at a time."""

from collections.abc import Awaitable, Callable, Hashable, Sequence

from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost
from benchrun.screen.text_line import Paper, Role, TextLine

Done = Callable[[], Awaitable[None]]
Rows = Callable[[Paper], Sequence[TextLine]]


def _whole_rows(rows: Sequence[TextLine], top: int, most: int) -> int:
    """How many rows go on a page so that what belongs together stays together.

    What is longer than a page goes on behind the last sentence that ends in the page's lower half,
    or else behind the last thing of a list.
    """
    end = top + most
    if end >= len(rows):
        return most
    while end > top and (rows[end].joined or not rows[end].pieces):
        end -= 1
    past = next((at for at in range(end + 1, len(rows)) if not rows[at].joined), len(rows))
    if end > top and past - end <= most:
        return end - top
    lower = [at for at in range(top + most, top + most // 2, -1) if rows[at].joined]
    for sign in (".", ","):
        found = next((at for at in lower if rows[at - 1].text.rstrip().endswith(sign)), None)
        if found is not None:
            return found - top
    return end - top if end > top + most // 2 else most


def _page_tops(rows: Sequence[TextLine], most: int) -> list[int]:
    """The row at the head of each page."""
    tops = [0]
    while tops[-1] + (view := _whole_rows(rows, tops[-1], most)) < len(rows):
        tops.append(tops[-1] + view)
    return tops


class ReadPane(Pane):
    """Something to be read, a page at a time.

    Args:
        host: The screen.
        title: The head.
        rows: Makes the rows for a paper.
        after: What to do when it was read through with Enter.
        enter: What Enter is called.
        decides: Whether Enter says more than that it was read, so that the way back is named.
    """

    about = "A page to read; + and - turn it, Enter goes on."

    def __init__(
        self,
        host: PaneHost,
        title: str,
        rows: Rows,
        *,
        after: Done | None = None,
        enter: str = "back",
        decides: bool = False,
    ) -> None:
        super().__init__(host)
        self._title = title
        self._rows = rows
        self._after = after
        self._enter = enter
        self._decides = decides
        self._top = 0
        self._tops = [0]
        self._view = 1
        self._count = 0

    def does(self) -> Hashable:
        """Close it, or turn the page."""
        return (self._title, self._top)

    def page(self, paper: Paper) -> Page:
        """The part of it that fits."""
        rows = list(self._rows(paper))
        title = paper.paragraph(self._title, role=Role.STRONG, width=paper.width - 16, most=3)
        self._view = max(1, paper.height - 4 - len(title))
        self._count = len(rows)
        self._tops = _page_tops(rows, self._view)
        # In a window of another size another row is at the head of a page.
        self._top = max(top for top in self._tops if top <= self._top)
        words = f"page {self._place() + 1} of {len(self._tops)}" if len(self._tops) > 1 else ""
        self._view = _whole_rows(rows, self._top, self._view)
        shown = rows[self._top : self._top + self._view]
        head = [paper.between(title[0], paper.line((words, Role.QUIET), " ")), *title[1:]]
        hints = [Hint("Enter", "more" if self._more() else self._enter, first=True)]
        if self._more():
            hints.append(Hint("+", "on"))
        if self._count > self._view or self._decides or self.host.alarmed:
            # While an alarm has Enter, - is the way out.
            hints.append(Hint("-", "back a page" if self._top else "back"))
        return self.laid(paper, [block(head), block(shown)], hints)

    def _place(self) -> int:
        return self._tops.index(self._top)

    def _more(self) -> bool:
        return self._top + self._view < self._count

    async def key(self, key: str) -> None:
        """Turn pages; Enter at the end closes it."""
        if key in ("+", keys.NEXT, keys.DOWN) or (key == keys.ENTER and self._more()):
            if self._more():
                self._top += self._view
            self.host.chose()
        elif key in ("-", keys.PREVIOUS, keys.UP) and self._top:
            self._top = self._tops[self._place() - 1]
        elif key in (keys.ENTER, "-", keys.BACK, keys.PREVIOUS):
            if self._after is None or key != keys.ENTER:
                await self.leave()
                return
            self.host.pop(self)
            await self._after()
