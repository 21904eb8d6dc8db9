"""The pages of a report before they are written in one form or another: sections of blocks.

Text in here is as people and files gave it; whoever writes a form makes it harmless for that form.
"""

from collections.abc import Sequence
from dataclasses import field

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table.

    Attributes:
        text: What it says.
        was: What it said before a correction; shown struck beside it.
        mark: `bad`, `doubt`, `gone` (undone) or empty.
    """

    text: str
    was: str = ""
    mark: str = ""


@lean_dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings.

    Attributes:
        figures: The columns, from 0, that hold figures and stand right.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    figures: frozenset[int] = frozenset()


@lean_dataclass(frozen=True, slots=True)
class Para:
    """A paragraph; `mark` as in a cell."""

    text: str
    mark: str = ""


@lean_dataclass(frozen=True, slots=True)
class Fields:
    """Labels with what belongs to them."""

    rows: tuple[tuple[str, str], ...]


@lean_dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short texts."""

    rows: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class Plot:
    """A drawing; the table beside it says the same, so forms without drawings leave it out."""

    svg: str


@lean_dataclass(frozen=True, slots=True)
class Picture:
    """A photograph with its caption; `content` is None where it is not shown."""

    caption: str
    kind: str = ""
    content: bytes | None = None


@lean_dataclass(frozen=True, slots=True)
class Strip:
    """Pictures side by side."""

    pictures: tuple[Picture, ...]


@lean_dataclass(frozen=True, slots=True)
class Code:
    """Commands, or text that must stay as it is."""

    text: str


@lean_dataclass(frozen=True, slots=True)
class Under:
    """A heading inside a section; `note` stands beside it in smaller letters."""

    text: str
    note: str = ""


Block = Table | Para | Fields | Bullets | Plot | Strip | Code | Under


@lean_dataclass(frozen=True, slots=True)
class Section:
    """A section with its heading."""

    title: str
    blocks: tuple[Block, ...]


@lean_dataclass(frozen=True, slots=True)
class Sheet:
    """The pages of one run, or the summary of a job.

    Attributes:
        over: A line above the title, such as what kind of sheet it is.
        card: The fields at its head.
        words: The answers that a reader looks for first: the result, and whether to trust it.
    """

    title: str
    over: str
    card: Fields
    words: tuple[Para, ...] = ()
    sections: tuple[Section, ...] = field(default=())


@lean_dataclass(frozen=True, slots=True)
class Report:
    """A whole report."""

    title: str
    sheets: tuple[Sheet, ...]


def table_of(
    columns: Sequence[str], rows: Sequence[Sequence[Cell | str]], figures: Sequence[int] = ()
) -> Table:
    """A table of texts and cells; a column in which nothing stands is left out.

    Args:
        columns: The headings.
        rows: The rows.
        figures: The columns, from 0, that hold figures.
    """
    cells = [[cell if isinstance(cell, Cell) else Cell(cell) for cell in row] for row in rows]
    kept = [
        at for at in range(len(columns)) if at == 0 or any(r[at].text or r[at].was for r in cells)
    ]
    return Table(
        tuple(columns[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for row in cells),
        frozenset(new for new, at in enumerate(kept) if at in set(figures)),
    )
