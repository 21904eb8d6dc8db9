"""Small drawings in SVG: readings against their limits, dwells against least and most.

Each drawn figure carries the number it stands for in `data-v`, so that a drawing can be checked
against the record. Shapes, not colours, tell inside from outside.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from html import escape

from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import shown, span
from benchrun.wording import elapsed_words, time_limits

WIDTH, LABEL, ROW, RIGHT = 640, 150, 18, 14
MOST_ROWS = 24  # in one drawing, so that a page holds it
_LETTERS = 20  # that fit beside a row


@lean_dataclass(frozen=True, slots=True)
class Point:
    """One reading: its number, its uncertainty, its verdict, and what it was before, if at all."""

    value: Decimal
    reach: Decimal = Decimal(0)
    verdict: str = ""
    was: Decimal | None = None


@lean_dataclass(frozen=True, slots=True)
class PlotLine:
    """The readings of one row, with the limits that they are judged by."""

    label: str
    points: tuple[Point, ...]
    low: Decimal | None = None
    high: Decimal | None = None


@lean_dataclass(frozen=True, slots=True)
class Spell:
    """One dwell: how long it is proven and possible to have been, with its limits (ms)."""

    label: str
    proven: int | None
    possible: int | None
    least: int | None
    most: int | None
    verdict: str


class Scale:
    """Maps numbers of one axis to the width of a drawing."""

    def __init__(self, low: Decimal, high: Decimal) -> None:
        self.low, self.high = low, high

    def x(self, value: Decimal) -> str:
        """Where a number stands, in the units of the drawing."""
        share = (value - self.low) / (self.high - self.low)
        return f"{LABEL + share * (WIDTH - LABEL - RIGHT):.2f}"


def readings_plot(
    lines: Sequence[PlotLine], unit: str, title: str, beside: Sequence[PlotLine] = ()
) -> str:
    """Draw readings against their limits, a row a part.

    Args:
        lines: The rows.
        unit: The unit as shown.
        title: What is drawn, for those who cannot see it.
        beside: Rows of other drawings that must have the same scale.

    Returns:
        An `svg` element, or nothing where there is nothing to draw.
    """
    numbers = [n for line in (*lines, *beside) for n in _numbers(line)]
    if not any(line.points for line in lines):
        return ""
    scale = _scale(numbers)
    height = ROW * len(lines) + 26
    parts = [_open(height, title)]
    for row, line in enumerate(lines):
        parts += _row(line, row, scale)
    parts += _axis(scale, ROW * len(lines), unit)
    return "".join((*parts, "</svg>"))


def _numbers(line: PlotLine) -> Iterator[Decimal]:
    for point in line.points:
        yield point.value - point.reach
        yield point.value + point.reach
        if point.was is not None:
            yield point.was
    yield from (limit for limit in (line.low, line.high) if limit is not None)


def _scale(numbers: Sequence[Decimal]) -> Scale:
    low, high = min(numbers), max(numbers)
    margin = (high - low) * Decimal("0.06") or abs(low) * Decimal("0.01") or Decimal(1)
    return Scale(low - margin, high + margin)


def _open(height: int, title: str) -> str:
    return (
        f'<svg viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{escape(shown(title, 200))}">'
    )


def _label(text: str, y: float) -> str:
    full = shown(text, 200)
    short = full if len(full) <= _LETTERS else full[: _LETTERS - 1] + "…"
    return f'<text class="lab" x="{LABEL - 8}" y="{y + 4}">{escape(short)}</text>'


def _row(line: PlotLine, row: int, scale: Scale) -> Iterator[str]:
    top, mid = row * ROW + 3, row * ROW + ROW / 2
    left = scale.low if line.low is None else line.low
    right = scale.high if line.high is None else line.high
    if left <= right and (line.low is not None or line.high is not None):
        begin, end = scale.x(left), scale.x(right)
        yield (
            f'<rect class="band" x="{begin}" y="{top}" '
            f'width="{Decimal(end) - Decimal(begin):.2f}" height="{ROW - 6}"/>'
        )
    for name, limit in (("low", line.low), ("high", line.high)):
        if limit is not None:
            x = scale.x(limit)
            yield (
                f'<path class="limit {name}" data-v="{limit:f}" '
                f'd="M{x} {top - 1}V{top + ROW - 5}"/>'
            )
    yield _label(line.label, mid)
    for point in line.points:
        yield from _point(point, mid, scale)


def _point(point: Point, y: float, scale: Scale) -> Iterator[str]:
    x, value = scale.x(point.value), f'data-v="{point.value:f}"'
    if point.was is not None:
        was = f'data-v="{point.was:f}" cx="{scale.x(point.was)}"'
        yield f'<circle class="was" {was} cy="{y}" r="3"/>'
    if point.reach:
        begin, end = scale.x(point.value - point.reach), scale.x(point.value + point.reach)
        yield f'<path class="reach" data-v="{point.reach:f}" d="M{begin} {y}H{end}"/>'
    if point.verdict == "outside":
        at = Decimal(x)
        yield (
            f'<path class="out" {value} data-x="{x}" '
            f'd="M{at - 4} {y - 4}L{at + 4} {y + 4}M{at - 4} {y + 4}L{at + 4} {y - 4}"/>'
        )
    else:
        kind = "doubt" if point.verdict == "in doubt" else "dot"
        yield f'<circle class="{kind}" {value} cx="{x}" cy="{y}" r="3.2"/>'


def _axis(scale: Scale, y: int, unit: str) -> Iterator[str]:
    yield f'<path class="axis" d="M{LABEL} {y + 2}H{WIDTH - RIGHT}"/>'
    marks = list(ticks(scale.low, scale.high))
    for mark in marks:
        x = scale.x(mark)
        yield f'<path class="axis" d="M{x} {y + 2}v4"/>'
        yield f'<text class="tick" data-v="{mark:f}" x="{x}" y="{y + 17}">{mark:f}</text>'
    if unit:
        yield f'<text class="lab" x="{LABEL - 8}" y="{y + 17}">{escape(unit)}</text>'


def ticks(low: Decimal, high: Decimal, most: int = 8) -> Iterator[Decimal]:
    """Round numbers between two, at steps of 1, 2 or 5 times a power of ten."""
    reach = high - low
    power = (reach / most).adjusted()
    steps = (Decimal(digit).scaleb(power) for digit in (1, 2, 5, 10))
    step = next((step for step in steps if reach / step <= most), Decimal(10).scaleb(power))
    number = (low / step).to_integral_value("ROUND_CEILING")
    while number * step <= high:
        mark = number * step
        # Adding nought turns a negative nought into a plain one.
        yield (mark if power < 0 else mark.quantize(Decimal(1))) + 0
        number += 1


def spells_plot(spells: Sequence[Spell], title: str, beside: Sequence[Spell] = ()) -> str:
    """Draw dwells as bars from their start, with least and most.

    Full: proven. Open: possible beyond what is proven. Upright strokes: least and most. The scale
    is that of `beside` too.
    """
    ends = [
        ms
        for spell in (*spells, *beside)
        for ms in (spell.proven, spell.possible, spell.least, spell.most)
        if ms is not None
    ]
    if not ends or max(ends) == 0:
        return ""
    scale = Scale(Decimal(0), Decimal(max(ends)) * Decimal("1.08"))
    parts = [_open(ROW * len(spells) + 26, title)]
    for row, spell in enumerate(spells):
        parts += _bar(spell, row, scale)
    parts += _hours(scale, ROW * len(spells))
    return "".join((*parts, "</svg>"))


def _bar(spell: Spell, row: int, scale: Scale) -> Iterator[str]:
    top, mid = row * ROW + 3, row * ROW + ROW / 2
    limits = (spell.least, spell.most)
    said = f"{elapsed_words(spell.proven, spell.possible, beside=limits)}; {time_limits(*limits)}"
    yield f"<g><title>{escape(said)}</title>{_label(spell.label, mid)}"
    zero = Decimal(scale.x(Decimal(0)))
    if spell.least is not None or spell.most is not None:
        begin = Decimal(scale.x(Decimal(spell.least or 0)))
        end = Decimal(scale.x(scale.high if spell.most is None else Decimal(spell.most)))
        yield (
            f'<rect class="band" x="{begin}" y="{top}" width="{end - begin}" height="{ROW - 6}"/>'
        )
    for kind, ms in (("proven", spell.proven), ("possible", spell.possible)):
        if ms is not None and (kind == "proven" or ms != spell.proven):
            width = Decimal(scale.x(Decimal(ms))) - zero
            yield (
                f'<rect class="{kind}" data-v="{ms}" x="{zero}" y="{mid - 3}" '
                f'width="{width}" height="6"/>'
            )
    for name, ms in (("low", spell.least), ("high", spell.most)):
        if ms is not None:
            x = scale.x(Decimal(ms))
            yield f'<path class="limit {name}" data-v="{ms}" d="M{x} {top - 1}V{top + ROW - 5}"/>'
    yield "</g>"


_STEPS_MS = (
    *(1000 * n for n in (1, 2, 5, 10, 15, 30)),
    *(60_000 * n for n in (1, 2, 5, 10, 15, 30)),
    *(3_600_000 * n for n in (1, 2, 4, 6, 12)),
    *(86_400_000 * n for n in (1, 2, 7, 14, 28, 91, 364)),
)


def _hours(scale: Scale, y: int) -> Iterator[str]:
    yield f'<path class="axis" d="M{LABEL} {y + 2}H{WIDTH - RIGHT}"/>'
    step = next((ms for ms in _STEPS_MS if scale.high / ms <= 7), _STEPS_MS[-1])
    for number in range(int(scale.high // step) + 1):
        ms = number * step
        x = scale.x(Decimal(ms))
        yield f'<path class="axis" d="M{x} {y + 2}v4"/>'
        yield f'<text class="tick" data-v="{ms}" x="{x}" y="{y + 17}">{span(ms)}</text>'
