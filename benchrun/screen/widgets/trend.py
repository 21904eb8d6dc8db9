"""The trend: values in the order of time, the mean and the control limits ruled across them."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from benchrun.dialogue.tables import TrendCurve
from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.text_line import Paper, Role, TextLine

ROWS: Final = 9
_INDENT: Final = 1


@lean_dataclass(frozen=True, slots=True)
class _Height:
    """Which row a number stands in: row 0 is the highest."""

    top: Decimal
    bottom: Decimal
    rows: int

    def row(self, number: Decimal) -> int:
        reach = self.top - self.bottom
        if not reach:
            return self.rows // 2
        return int((self.top - number) / reach * (self.rows - 1) + Decimal("0.5"))


def room(paper: Paper, labels: Sequence[str]) -> int:
    """How many values stand beside each other on a paper with these labels at its left."""
    return max(8, paper.width - _INDENT - max(map(len, labels)) - 4)


def trend_plot(paper: Paper, curve: TrendCurve) -> list[TextLine]:
    """Draw the trend: a hole is a value inside the control limits, a bead one outside them.

    Of more values than there is room for, the latest stand; each has a column of its own.

    Args:
        paper: What it is drawn on.
        curve: What is shown.
    """
    labels = curve.labels
    wide = max(map(len, labels))
    values = curve.values[-room(paper, labels) :]
    apart = 2 if len(values) * 2 <= room(paper, labels) else 1
    numbers = (*values, curve.lower, curve.upper)
    height = _Height(max(numbers), min(numbers), ROWS)
    columns = max(20, len(values) * apart + 1)
    grid = [[" "] * columns for _ in range(ROWS)]
    named = _ruled(paper, curve, height, grid, labels)
    signs = paper.signs
    lines = (signs.thin, signs.dash)
    beads: set[tuple[int, int]] = set()
    for place, value in enumerate(values):
        at = (height.row(value), place * apart + 1)
        out = curve.outside(value)
        grid[at[0]][at[1]] = signs.chosen if out else signs.hole
        beads |= {at} if out else set()
    rows = []
    for number, cells in enumerate(grid):
        label = f"{' ' * _INDENT}{named.get(number, ''):>{wide}} "
        pieces = [
            (cell, _role(ruled=cell in lines, bead=(number, at) in beads))
            for at, cell in enumerate(cells)
        ]
        rows.append(paper.line((label, Role.QUIET), (signs.stage_ahead, Role.QUIET), *pieces))
    return rows


def _ruled(
    paper: Paper,
    curve: TrendCurve,
    height: _Height,
    grid: list[list[str]],
    labels: tuple[str, str, str],
) -> dict[int, str]:
    """Rule the three lines; where two fall into one row, the limits go before the mean."""
    named: dict[int, str] = {}
    numbers = (curve.centre, curve.upper, curve.lower)
    for number, label in zip(numbers, (labels[1], labels[0], labels[2]), strict=True):
        row = height.row(number)
        sign = paper.signs.thin if number == curve.centre else paper.signs.dash
        named[row] = label
        grid[row] = [sign] * len(grid[row])
    return named


def _role(*, ruled: bool, bead: bool) -> Role:
    return Role.ACCENT if bead else Role.QUIET if ruled else Role.TEXT
