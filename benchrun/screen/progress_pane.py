"""Something slow that is worked out beside: how far it has come, and the way out of it."""

from typing import Final

from benchrun.dialogue.turns import Progress
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import count

_BAR: Final = 40


class ProgressPane(Pane):
    """How far something slow has come; keys and clocks go on meanwhile.

    Args:
        host: The screen.
        progress: How far it has come.
    """

    def __init__(self, host: PaneHost, progress: Progress) -> None:
        super().__init__(host)
        self._progress = progress

    def page(self, paper: Paper) -> Page:
        """The bar, and what leaving it would lose."""
        title = paper.fitted(self._progress.title, paper.width - 2)
        head = [paper.line(" ", (title, Role.STRONG))]
        hints = [Hint("-", "back", first=True)]
        return self.laid(paper, [block(head), block(self._rows(paper))], hints)

    def _rows(self, paper: Paper) -> list[TextLine]:
        progress = self._progress
        if not progress.whole:
            return paper.paragraph(progress.before, first="   ", role=Role.QUIET)
        made = min(_BAR, _BAR * progress.done // progress.whole)
        bar = (
            (paper.signs.thick * made, Role.ACCENT),
            (paper.signs.thin * (_BAR - made), Role.QUIET),
        )
        words = f"  {progress.done} of {count(progress.whole, 'run')}"
        told = progress.after if progress.done == progress.whole else progress.kept
        return [
            paper.line("   ", *bar, words),
            paper.line(),
            *paper.paragraph(told, first="   ", role=Role.QUIET),
        ]

    async def key(self, key: str) -> None:
        """Leave it."""
        if key in ("-", keys.BACK, keys.ENTER):
            self._progress.leave()
            await self.leave()
