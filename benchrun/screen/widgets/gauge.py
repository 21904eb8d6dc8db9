"""The limit gauge: good between too small and too large, a bead where the reading lies."""

from decimal import Decimal

from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import plain, unit_named
from benchrun.screen.text_line import Paper, Role, TextLine


@lean_dataclass(frozen=True, slots=True)
class Limits:
    """The data of a gauge, all in one unit.

    Attributes:
        doubt: The instrument's expanded uncertainty, 0 when none is known.
    """

    low: Decimal | None
    high: Decimal | None
    unit: str
    doubt: Decimal = Decimal(0)

    @property
    def any(self) -> bool:
        """Whether there is a limit at all."""
        return self.low is not None or self.high is not None


@lean_dataclass(frozen=True, slots=True)
class _Axis:
    """Where a number lies on the gauge."""

    start: Decimal
    reach: Decimal
    width: int

    def column(self, number: Decimal) -> int:
        last = self.width - 1
        at = int((number - self.start) / self.reach * last + Decimal("0.5"))
        return min(last, max(0, at))


def limit_gauge(
    paper: Paper, limits: Limits, value: Decimal | None, *, indent: int = 3
) -> list[TextLine]:
    """Draw the gauge with its figures below; without limits there is none.

    Args:
        paper: What it is drawn on.
        limits: What is judged by.
        value: The reading, or None while nothing is typed.
        indent: The left margin.
    """
    if not limits.any:
        return []
    axis = _Axis(*_view(limits, value), min(paper.width - 2 * indent - 22, 60))
    text = "".join(_scribed(paper, limits, axis))
    drawn = paper.line(text)
    if value is not None:
        at = axis.column(value)
        drawn = paper.line(text[:at], (paper.signs.bead, Role.ACCENT), text[at + 1 :])
    left = "too small " if limits.low is not None else " " * len("too small ")
    right = " too large" if limits.high is not None else ""
    ends = paper.line(" " * indent, (left, Role.QUIET)) + drawn + paper.line((right, Role.QUIET))
    return [ends, _figures(paper, limits, axis, indent + len(left))]


def _view(limits: Limits, value: Decimal | None) -> tuple[Decimal, Decimal]:
    """Where the gauge begins and how far it reaches: the go zone and a third of it around.

    A gauge with one end reaches as far as its reading, so that the bead always lies on it.
    """
    low, high = limits.low, limits.high
    if low is None or high is None:
        edge = low if low is not None else high
        edge = Decimal(0) if edge is None else edge
        gap = Decimal(0) if value is None else abs(value - edge)
        reach = max(abs(edge) / 5, limits.doubt * 8, gap * 3 / 2, Decimal("0.001"))
        return (edge - reach / 4 if low is not None else edge - reach * 3 / 4), reach
    zone = max(high - low, limits.doubt * 4, Decimal("0.000001"))
    return low - zone / 6, zone * 4 / 3


def _scribed(paper: Paper, limits: Limits, axis: _Axis) -> list[str]:
    signs = paper.signs
    row = [signs.thin] * axis.width
    first = 0 if limits.low is None else axis.column(limits.low)
    last = axis.width - 1 if limits.high is None else axis.column(limits.high)
    for at in range(first, last + 1):
        row[at] = signs.thick
    for limit in (limits.low, limits.high):
        if limit is None:
            continue
        if limits.doubt:
            around = range(axis.column(limit - limits.doubt), axis.column(limit + limits.doubt) + 1)
            for at in around:
                row[at] = signs.shade
        row[axis.column(limit)] = signs.limit
    return row


def _figures(paper: Paper, limits: Limits, axis: _Axis, indent: int) -> TextLine:
    row, unit = "", unit_named(limits.unit).shown
    for limit in (limits.low, limits.high):
        if limit is None:
            continue
        text = plain(limit)
        at = max(0, min(axis.column(limit) - len(text) // 2, axis.width + 6 - len(text)))
        at = at if not row or at > len(row) else len(row) + 2
        row = row.ljust(at) + text
    return paper.line(" " * indent, (f"{row} {unit}", Role.QUIET))
