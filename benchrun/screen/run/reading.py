"""Reading entry: what is typed, where it goes, and how it lies to its limits as it is typed."""

from dataclasses import dataclass, replace
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.procedure.route import Reading, Step
from benchrun.run.entries import Tool
from benchrun.run.offers import Deed
from benchrun.run.state import Marker
from benchrun.run.verdict import draw, limits
from benchrun.screen.page import Block, block
from benchrun.screen.run.giving import doubt_of
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.view import View
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine
from benchrun.screen.widgets.digits import large_digits
from benchrun.screen.widgets.gauge import Limits, limit_gauge
from benchrun.shop_use.instruments import tool_of
from benchrun.shopmath.accepting import verdict_words


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading that is being typed.

    Attributes:
        step, detail: What is measured.
        place: Where.
        marker: The part.
        typed: What stands in the field.
        tool: What it is measured with.
        unfit: Why a reading with it needs a reason, if it does.
    """

    step: Step
    detail: Reading
    place: str
    marker: Marker
    typed: str
    tool: Tool | None
    unfit: tuple[str, ...] = ()

    @property
    def value(self) -> Decimal | None:
        """What is typed, in the reading's unit; None when it is not (yet) a reading."""
        try:
            measure = quantity.read(self.typed, self.detail.unit)
            return quantity.convert(measure.value, measure.unit, self.detail.unit)
        except BenchrunError:
            return None

    @property
    def limits(self) -> Limits:
        """The limits as the rules give them now."""
        reads = frozenset[str]()
        for formula in (self.detail.low, self.detail.high):
            reads |= formula.reads if formula else frozenset()
        both = limits(self.detail, draw(self.marker, reads - {self.detail.name})) or (None, None)
        return Limits(both[0], both[1], self.detail.unit, doubt_of(self.tool))

    def verdict(self) -> str:
        """How the rules would rule on what is typed, in words; empty when nothing can be said."""
        value = self.value
        if value is None:
            return ""
        known = self.limits
        if not known.any and (self.detail.low or self.detail.high):
            return "its limits cannot be worked out yet"
        return verdict_words(value, known.low, known.high, known.doubt, self.detail.unit)


def entry_of(host: RunHost, now: View, parts: tuple[str, ...], typed: str) -> Entry | None:
    """The reading that may be typed, if one is in hand.

    Args:
        host: The run screen.
        now: The run as it is shown.
        parts: For whom the offer in hand would be taken up; the first is measured.
        typed: What stands in the field.
    """
    offer = now.offer
    step = offer.step if offer and offer.deed is Deed.DO else None
    if offer is None or step is None or not isinstance(step.detail, Reading):
        return None
    tool = tool_of(host.session.procedure, step.detail)
    entry = Entry(step, step.detail, offer.place, now.run.markers[parts[0]], typed, tool)
    # Half a number would seem to lie outside an instrument's range.
    probe = typed if as_long(entry) else ""
    fitted = host.instruments.fitted(now.run, step, parts[0], now.at, probe)
    if fitted is None:
        return entry
    return replace(entry, tool=fitted.tool, unfit=fitted.misgivings)


def reading_blocks(paper: Paper, entry: Entry) -> list[Block]:
    """The field or the grid, the gauge, and the verdict."""
    if len(entry.detail.places) < 2:
        shown = [_field(paper, entry)]
    else:
        figures = _figures(paper, entry) if paper.large else []
        shown = [_table(paper, entry), block(figures, rank=5)]
    gauge = limit_gauge(paper, entry.limits, entry.value)
    if gauge:
        shown.append(block(gauge, rank=2))
    return [*shown, _verdict(paper, entry), _unfit(paper, entry)]


def _unfit(paper: Paper, entry: Entry) -> Block:
    """Why the instrument in hand needs a reason, told before the reading is given."""
    if entry.tool is None or not entry.unfit:
        return block([])
    words = f"{entry.tool.name} {'; it '.join(entry.unfit)}: a reason is asked."
    return block(paper.paragraph(words, first="     "), rank=2, gap=0)


def _typed(paper: Paper, entry: Entry) -> TextLine:
    return paper.line((entry.typed, Role.FIELD), (paper.signs.caret, Role.ACCENT))


def _with(entry: Entry) -> str:
    if entry.tool is None:
        return ""
    doubt = doubt_of(entry.tool)
    return f"{entry.tool.name}, ±{quantity.plain(doubt)}" if doubt else entry.tool.name


def _figures(paper: Paper, entry: Entry) -> list[TextLine]:
    """What is typed, to be read from afar."""
    figures = "".join(c for c in entry.typed.replace(",", ".") if c in "0123456789.-")
    return large_digits(paper, figures or " ")


def _field(paper: Paper, entry: Entry) -> Block:
    """One reading: its figures large, and the field itself below."""
    unit = quantity.unit_named(entry.detail.unit).shown
    large = _figures(paper, entry)
    row = paper.line("     ") + _typed(paper, entry) + paper.line(f" {unit}")
    said = paper.line((_with(entry), Role.QUIET), " ")
    return block([*large, paper.between(row, said)], short=[paper.between(row, said)], rank=1)


def _table(paper: Paper, entry: Entry) -> Block:
    """A grid of places with what was read so far, walked in order."""
    across, down = grid_of(entry.detail.places)
    cell = max(9, *(len(paper.clean(one)) + 2 for one in across))
    side = max(4, *(len(paper.clean(one)) + 2 for one in down))
    room = max(1, (paper.width - side - 4) // cell)
    first = _first_column(entry, across, room)
    window = across[first : first + room]
    head = paper.line("   ", " " * side, *(one.rjust(cell - 1) + " " for one in window))
    rows = [paper.line((head.text, Role.QUIET))]
    for one in down:
        row = paper.line("   ", (paper.padded(one, side), Role.QUIET))
        for other in window:
            row = row + _cell(paper, entry, place_of(one, other), cell)
        rows.append(row)
    unit = quantity.unit_named(entry.detail.unit).shown
    words = "   ".join(text for text in (unit, _with(entry)) if text)
    rows.append(paper.line("   ", " " * side, (words, Role.QUIET)))
    return block(_around(rows, entry, down), rank=0)


def _around(rows: list[TextLine], entry: Entry, down: list[str]) -> list[TextLine]:
    """Of a long table, the rows around the one in hand."""
    if len(rows) <= 8:
        return rows
    here = next((i for i, d in enumerate(down) if entry.place.startswith(d)), 0)
    start = max(1, min(here - 1, len(rows) - 6))
    return [rows[0], *rows[start : start + 5], rows[-1]]


def _first_column(entry: Entry, across: list[str], room: int) -> int:
    here = next((i for i, a in enumerate(across) if entry.place.endswith(a)), 0)
    return here // room * room


def _cell(paper: Paper, entry: Entry, place: str, cell: int) -> TextLine:
    if place == entry.place:
        text = entry.typed[-(cell - 2) :]
        return paper.line(" " * max(0, cell - 1 - len(text) - 1), (text, Role.FIELD)) + paper.line(
            (paper.signs.caret, Role.ACCENT), " "
        )
    value = entry.marker.values.get((entry.detail.name, place))
    text = (
        paper.signs.dot if value is None or value.number is None else quantity.plain(value.number)
    )
    return paper.line(paper.fitted(text, cell - 1).rjust(cell - 1), " ")


def grid_of(places: tuple[str, ...]) -> tuple[list[str], list[str]]:
    """The columns and the rows of a grid of places; a plain list is one row."""
    split = [place.rpartition(" ") for place in places]
    across = list(dict.fromkeys(last for _, _, last in split))
    down = list(dict.fromkeys(first for first, _, _ in split))
    if len(across) * len(down) == len(places):
        return across, down
    return list(places), [""]


def place_of(down: str, across: str) -> str:
    """The name of a place by its row and its column."""
    return f"{down} {across}" if down else across


def _verdict(paper: Paper, entry: Entry) -> Block:
    words = entry.verdict() if as_long(entry) else ""
    if not words:
        return block([BLANK] if entry.limits.any else [], rank=3)
    return block(paper.paragraph(words, first="     ", role=Role.STRONG))


def as_long(entry: Entry) -> bool:
    """Whether as many figures stand in the field as a limit has: half a number is no verdict."""
    known = [
        plain
        for limit in (entry.limits.low, entry.limits.high)
        if limit is not None
        for plain in (quantity.plain(limit),)
    ]
    return not known or len(entry.typed) >= min(map(len, known))
