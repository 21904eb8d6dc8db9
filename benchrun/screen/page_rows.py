"""The rows of a page of the dialogue, drawn: labels, cautions, clocks, tables, trends."""

from collections.abc import Sequence
from dataclasses import replace

from benchrun.dialogue.page_prompt import PageRow, Tone
from benchrun.dialogue.tables import TrendCurve
from benchrun.screen.table import page_table_lines
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.clock import clock_row
from benchrun.screen.widgets.plate import plate

_ROLES = {
    Tone.TEXT: Role.TEXT,
    Tone.QUIET: Role.QUIET,
    Tone.STRONG: Role.STRONG,
    Tone.CALLS: Role.ACCENT,
}
_WIDEST_LABEL = 24


def row_lines(paper: Paper, rows: Sequence[PageRow]) -> list[TextLine]:
    """Rows drawn, their labels in a column of their own."""
    wide = min(
        _WIDEST_LABEL, max((len(row.label) for row in rows if row.hazard is None), default=0)
    )
    lines: list[TextLine] = []
    below = False
    for row in rows:
        new = _row_lines(paper, row, wide)
        if below and new:
            # A head never stands alone at the foot of a page.
            new[0] = replace(new[0], joined=True)
        elif row.hazard is not None and lines:
            lines.append(paper.line())
        lines += new
        below = row.heads
    return lines


def _row_lines(paper: Paper, row: PageRow, wide: int) -> list[TextLine]:
    if row.clock is not None:
        return [clock_row(paper, *row.clock)]
    if row.hazard is not None:
        return plate(paper, row.hazard)
    if row.table is not None:
        return page_table_lines(paper, row.table)
    if row.curve is not None:
        return _curve_lines(paper, row.text, row.curve)
    if not row.text and not row.label:
        return [paper.line()]
    label = f"{paper.padded(row.label, wide)}  " if wide else ""
    lead = Role.ACCENT if row.tone is Tone.CALLS else Role.QUIET
    first = " " * (1 + row.indent) + (label if row.label else "")
    if row.hangs:
        first, lead = f"{first}{row.text[: row.hangs]}", _ROLES[row.tone]
    return paper.paragraph(row.text[row.hangs :], first=first, lead=lead, role=_ROLES[row.tone])


def _curve_lines(paper: Paper, words: str, curve: TrendCurve) -> list[TextLine]:
    """The words of a trend, with how its values are marked, and the trend itself."""
    from benchrun.screen.widgets.trend import room, trend_plot

    drawn = min(len(curve.values), room(paper, curve.labels))
    part = f", the latest {drawn} drawn" if drawn < len(curve.values) else ""
    beyond = sum(map(curve.outside, curve.values))
    told = f"{words}{part}, {paper.signs.chosen} {beyond} beyond them"
    return [*paper.paragraph(told, role=Role.QUIET), paper.line(), *trend_plot(paper, curve)]
