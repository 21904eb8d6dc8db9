"""Tables and curves that stand on a page: a face draws them, or says them row by row."""

from collections.abc import Sequence
from decimal import Decimal

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(frozen=True, slots=True)
class Column:
    """A column.

    Attributes:
        right: Whether it stands to the right, as figures do.
        gives: Whether it is cut where there is no room; the widest of them is cut first.
        wide: Whether it stands only where there is much room.
    """

    head: str
    right: bool = False
    gives: bool = False
    wide: bool = False


@lean_dataclass(frozen=True, slots=True)
class Row:
    """A row.

    Attributes:
        marked: Whether it is one to look at; a mark says so, not only a colour.
        note: What stands below it, quietly.
    """

    cells: Sequence[str]
    marked: bool = False
    note: str = ""


@lean_dataclass(frozen=True, slots=True)
class PageTable:
    """Rows under heads, one cell for each column."""

    columns: Sequence[Column]
    rows: Sequence[Row]

    @property
    def lines(self) -> Sequence[str]:
        """The table in sentences: its heads, then a line a row; what is empty is left out."""
        told = [", ".join(filter(None, (*row.cells, row.note))) for row in self.rows]
        heads = ", ".join(column.head for column in self.columns if column.head)
        return [f"Each line: {heads}.", *told]


@lean_dataclass(frozen=True, slots=True)
class TrendCurve:
    """The data of a trend; all numbers are in one unit.

    Attributes:
        values: In the order of time.
        centre: Their mean.
        lower, upper: The control limits.
    """

    values: tuple[Decimal, ...]
    centre: Decimal
    lower: Decimal
    upper: Decimal

    def outside(self, value: Decimal) -> bool:
        """Whether a value lies outside the control limits."""
        return not self.lower <= value <= self.upper

    @property
    def labels(self) -> tuple[str, str, str]:
        """The figures of the upper limit, the mean and the lower limit."""
        return str(self.upper), str(self.centre), str(self.lower)
