"""Figures in the shop's books: what a manual or a sheet says of a job, a supply, an instrument."""

import datetime as dt
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import read_day
from benchrun.shop.book_row import BookRow

FIGURES: Final = "figures"
"""The key of a row under which its figures stand."""
FIGURE_KEYS: Final = ("figure", "value", "document", "page", "by", "on", "note")
FIGURES_WORDS: Final = "what its manual or sheet says, a line each"
FIGURE_LINES: Final = (
    "A line of `figures`, by the name that procedures ask for:",
    "  - {figure: bore_low, value: 19.05 mm, document: workshop manual, page: 4-12, by: ada,",
    "     on: 2026-03-02}",
)


@lean_dataclass(frozen=True, slots=True)
class BookFigure:
    """A figure of a row.

    Attributes:
        name: What procedures call it.
        value: A number with its unit, as it was entered.
        document, page: Which manual or sheet says it, and where.
        by: Who entered it.
        on: When, or None.
    """

    name: str
    value: str
    document: str = ""
    page: str = ""
    by: str = ""
    on: dt.date | None = None

    @property
    def words(self) -> str:
        """Its value, where it stands, and who entered it when."""
        page = f"page {self.page}" if self.page else ""
        entered = f"by {self.by}" if self.by else ""
        on = str(self.on or "")
        return ", ".join(filter(None, (self.value, self.document, page, entered, on)))

    @property
    def line(self) -> Mapping[str, str]:
        """The line of the file."""
        given = {
            "figure": self.name,
            "value": self.value,
            "document": self.document,
            "page": self.page,
            "by": self.by,
            "on": self.on.isoformat() if self.on is not None else "",
        }
        return MappingProxyType({key: text for key, text in given.items() if text})


def figures_of_row(row: BookRow) -> tuple[BookFigure, ...]:
    """The figures of a row; what is wrong with one is a fault of the row."""
    figures: list[BookFigure] = []
    for inner in row.items(FIGURES, FIGURE_KEYS):
        figures.append(
            BookFigure(
                name=inner.text("figure", needed=True),
                value=inner.text("value", needed=True),
                document=inner.text("document"),
                page=inner.text("page"),
                by=inner.text("by"),
                on=inner.take("on", read_day, None),
            )
        )
        row.gather(inner)
    return tuple(figures)


def newest(figures: tuple[BookFigure, ...], name: str) -> BookFigure | None:
    """The last line of a name: a figure is never changed, a later line takes its place."""
    return next((figure for figure in reversed(figures) if figure.name == name), None)
