"""A reading as it is typed: its field or grid, and how it lies to its limits."""

from dataclasses import replace

from benchrun import quantity
from benchrun.account.rounding import uncertainty_shown
from benchrun.dialogue.run_prompts import WANTS_CALIBRATED, ReadingPrompt
from benchrun.dialogue.typed_value import TypedValue, uncertainty_of
from benchrun.dialogue.work import Work
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Reading
from benchrun.run.entries import Tool
from benchrun.run.state import Marker
from benchrun.screen.page import Block, block
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine
from benchrun.screen.widgets.digits import large_digits
from benchrun.screen.widgets.gauge import Limits, limit_gauge


@lean_dataclass(frozen=True, slots=True)
class TypedReading:
    """A reading that is being typed.

    Attributes:
        prompt: What is asked.
        marker: The part.
        typed: What stands in the field.
    """

    prompt: ReadingPrompt
    marker: Marker
    typed: str

    @property
    def detail(self) -> Reading:
        """The quantity measured."""
        return self.prompt.detail

    @property
    def place(self) -> str:
        """Where it is measured."""
        return self.prompt.place

    @property
    def tool(self) -> Tool | None:
        """The instrument it is measured with."""
        return self.prompt.tool

    @property
    def value(self) -> TypedValue:
        """The value that would be recorded of what is typed."""
        return self.prompt.value(self.typed)

    @property
    def limits(self) -> Limits:
        """The limits as the rules give them now."""
        prompt = self.prompt
        return Limits(prompt.low, prompt.high, self.detail.unit, uncertainty_of(prompt.tool))


def reading_of(work: Work, typed: str) -> TypedReading | None:
    """The reading that may be typed, if one is in hand.

    Args:
        work: What is in hand.
        typed: What stands in the field.
    """
    prompt = work.measure_prompt()
    if prompt is None:
        return None
    reading = TypedReading(prompt, work.now.run.markers[prompt.parts[0]], typed)
    # Half a number would seem to lie outside an instrument's range.
    if typed and reading.value.whole:
        return replace(reading, prompt=work.measure_prompt(typed) or prompt)
    return reading


def reading_blocks(paper: Paper, reading: TypedReading) -> list[Block]:
    """The field or the grid, the gauge, and the verdict."""
    if len(reading.detail.places) < 2:
        shown = [_field(paper, reading)]
    else:
        figures = _figures(paper, reading) if paper.large else []
        shown = [_table(paper, reading), block(figures, rank=5)]
    gauge = limit_gauge(paper, reading.limits, reading.value.value)
    if gauge:
        shown.append(block(gauge, rank=2))
    return [*shown, _verdict(paper, reading), _unfit(paper, reading)]


def _unfit(paper: Paper, reading: TypedReading) -> Block:
    """Why the instrument in hand needs a reason or none will do, told before the reading."""
    if reading.prompt.lacks_calibration:
        return block(paper.paragraph(WANTS_CALIBRATED, first="     "), rank=2, gap=0)
    if reading.tool is None or not reading.prompt.misgivings or reading.prompt.rivals:
        return block([])
    words = f"{reading.tool.name} {'; it '.join(reading.prompt.misgivings)}: a reason is asked."
    return block(paper.paragraph(words, first="     "), rank=2, gap=0)


def _typed(paper: Paper, reading: TypedReading) -> TextLine:
    return paper.line((reading.typed, Role.FIELD), (paper.signs.caret, Role.ACCENT))


def _with(reading: TypedReading) -> str:
    """The instrument in hand; of pieces that are counted, how they are typed."""
    if reading.tool is None:
        pieces = reading.detail.pieces
        return f"how many {pieces}, or which: 2, 5 or #3" if pieces else ""
    if reading.prompt.rivals:
        return f"{' or '.join(reading.prompt.rivals)}, asked once"
    doubt = uncertainty_of(reading.tool)
    return f"{reading.tool.name}, ±{uncertainty_shown(str(doubt))}" if doubt else reading.tool.name


def _figures(paper: Paper, reading: TypedReading) -> list[TextLine]:
    """The value that would be recorded, to be read from afar, with its unit.

    Its rows stay empty while nothing is understood, or where it is too wide for the paper.
    """
    figures = reading.value.figures
    rows = large_digits(paper, figures or " ")
    unit = paper.line("  ", quantity.unit_named(reading.detail.unit).shown) if figures else BLANK
    if rows[-1].width + unit.width >= paper.width:
        return [paper.line() for _ in rows]
    return [*rows[:-1], rows[-1] + unit]


def _typed_row(paper: Paper, reading: TypedReading) -> TextLine:
    """The text as typed, and what it comes to where that is not the same."""
    value = reading.value
    row = paper.line("     ") + _typed(paper, reading)
    if value.converted:
        return row + paper.line((f"  = {value.words}", Role.QUIET))
    unit = quantity.unit_named(reading.detail.unit).shown
    # While what is typed is not understood it stands alone.
    return row + paper.line(f" {unit}") if value.figures or not reading.typed else row


def _field(paper: Paper, reading: TypedReading) -> Block:
    """One reading: its figures large, and the field itself below."""
    said = paper.line((_with(reading), Role.QUIET), " ")
    row = paper.between(_typed_row(paper, reading), said)
    return block([*_figures(paper, reading), row], short=[row], rank=1)


def _table(paper: Paper, reading: TypedReading) -> Block:
    """A grid of places with what was read so far, walked in order."""
    across, down = grid_of(reading.detail.places)
    cell = max(9, *(len(paper.clean(one)) + 2 for one in across))
    side = max(4, *(len(paper.clean(one)) + 2 for one in down))
    room = max(1, (paper.width - side - 4) // cell)
    row_in_hand, column = _in_hand(reading, across, down)
    first = column // room * room
    window = across[first : first + room]
    head = paper.line("   ", " " * side, *(one.rjust(cell - 1) + " " for one in window))
    rows = [paper.line((head.text, Role.QUIET))]
    for one in down:
        row = paper.line("   ", (paper.padded(one, side), Role.QUIET))
        for other in window:
            row = row + _cell(paper, reading, typed_place(one, other), cell)
        rows.append(row)
    unit = quantity.unit_named(reading.detail.unit).shown
    words = "   ".join(text for text in (unit, _with(reading)) if text)
    rows.append(paper.line("   ", " " * side, (words, Role.QUIET)))
    return block(_around(rows, row_in_hand), rank=0)


def _around(rows: list[TextLine], here: int) -> list[TextLine]:
    """Of a long table, the rows around the one in hand."""
    if len(rows) <= 8:
        return rows
    start = max(1, min(here - 1, len(rows) - 6))
    return [rows[0], *rows[start : start + 5], rows[-1]]


def _in_hand(reading: TypedReading, across: list[str], down: list[str]) -> tuple[int, int]:
    """The row and the column of the place in hand."""
    places = [typed_place(row, column) for row in down for column in across]
    at = places.index(reading.place) if reading.place in places else 0
    return divmod(at, len(across))


def _cell(paper: Paper, reading: TypedReading, place: str, cell: int) -> TextLine:
    if place == reading.place:
        text = reading.typed[-(cell - 2) :]
        return paper.line(" " * max(0, cell - 1 - len(text) - 1), (text, Role.FIELD)) + paper.line(
            (paper.signs.caret, Role.ACCENT), " "
        )
    value = reading.marker.values.get((reading.detail.name, place))
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


def typed_place(down: str, across: str) -> str:
    """The name of a place by its row and its column."""
    return f"{down} {across}" if down else across


def _verdict(paper: Paper, reading: TypedReading) -> Block:
    words = reading.value.verdict if reading.value.whole else ""
    if not words:
        return block([BLANK] if reading.limits.any else [], rank=3)
    return block(paper.paragraph(words, first="     ", role=Role.STRONG))
