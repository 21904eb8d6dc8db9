"""The view of a page in the terminal, and the page of one that is too small for any other."""

from collections.abc import Sequence
from typing import ClassVar, Final

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from benchrun.screen.page import Page
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine

LEAST_WIDTH: Final = 60
LEAST_HEIGHT: Final = 16


class PageView(Widget):
    """The one widget: shows a page row by row and refreshes only what changed.

    Attributes:
        rows: The rows that are shown; none before the first page.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"page-view--{role.value}" for role in Role}

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[TextLine, ...] = ()
        self._styles: dict[Role, Style] = {}

    def show(self, page: Page) -> None:
        """Show a page; rows that are as before are left alone."""
        old, new = self.rows, page.rows
        self.rows = new
        if len(old) != len(new):
            self.refresh()
            return
        for y, (before, after) in enumerate(zip(old, new, strict=True)):
            if before != after:
                self.refresh(Region(0, y, self.size.width, 1))

    def notify_style_update(self) -> None:
        """Forget the styles when the theme changes."""
        self._styles = {}
        super().notify_style_update()

    def _style(self, role: Role) -> Style:
        if role not in self._styles:
            self._styles[role] = self.get_component_rich_style(f"page-view--{role.value}")
        return self._styles[role]

    def render_line(self, y: int) -> Strip:
        """One row of the page."""
        width = self.size.width
        line = self.rows[y] if y < len(self.rows) else BLANK
        fill = self._style(line.band or Role.TEXT)
        segments = []
        for text, role in line.cut(width).pieces:
            own = fill if line.band and role is Role.TEXT else self._style(role)
            segments.append(Segment(text, own))
        return Strip(segments).adjust_cell_length(width, fill)


def too_small(paper: Paper, band: Sequence[TextLine] = ()) -> Page:
    """The page of a terminal that is too small for any other: the alarm, else that it is so."""
    text = (
        f"This window is {paper.width} by {paper.height}. The bench screen needs "
        f"{LEAST_WIDTH} by {LEAST_HEIGHT}: make the window larger, or leave with F10 "
        "and go on line by line with benchrun --plain. Nothing is lost; the clocks go on."
    )
    said = [paper.line((row, Role.STRONG)) for row in paper.wrap(text, max(8, paper.width - 2))]
    rows = [*band, *said]
    blank = [paper.line()] * max(0, paper.height - len(rows))
    return Page(tuple([*rows, *blank][: paper.height]))
