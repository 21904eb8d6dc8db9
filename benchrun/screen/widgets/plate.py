"""The plate: a caution, its signal word, and a bar whose weight says the same without colour."""

from collections.abc import Sequence
from dataclasses import replace

from benchrun.procedure.ghs import code_lines
from benchrun.procedure.route import Hazard, Signal, worst_first
from benchrun.screen.text_line import Paper, Role, TextLine

_ORDER = list(Signal)
MEANING = {
    Signal.DANGER: "will kill or injure for life if it is not avoided",
    Signal.WARNING: "can kill or injure for life if it is not avoided",
    Signal.CAUTION: "can cause minor injury if it is not avoided",
    Signal.NOTICE: "harms the work, not a person",
}
"""The meaning of the signal words, as ANSI Z535.4 defines them, in short."""


def plate(paper: Paper, hazard: Hazard, *, full: bool = False) -> list[TextLine]:
    """One plate: what is dangerous, what it does, how to keep out of it.

    Args:
        paper: What it is drawn on.
        hazard: The caution.
        full: With the texts of its codes, and its source.
    """
    rank = _ORDER.index(hazard.signal)
    bar, word = paper.signs.bars[rank], hazard.signal.value.upper()
    role = Role.PLATE if rank < 2 else Role.STRONG
    first = " ".join(text for text in (hazard.hazard, hazard.consequence) if text)
    width = paper.width - 13
    rows = [(row, Role.STRONG) for row in paper.wrap(first, width)]
    if hazard.avoidance:
        rows += [(row, Role.TEXT) for row in paper.wrap(hazard.avoidance, width)]
    if full:
        source = f"source: {hazard.source}" if hazard.source else ""
        for known in (*code_lines(hazard), source):
            rows += [(row, Role.QUIET) for row in paper.wrap(known, width)] if known else []
    head = paper.line(" ", (bar, Role.STRONG), (f" {word} ", role), " " * (9 - len(word)))
    after = paper.line(" ", (bar, Role.STRONG), " " * 11)
    return [
        replace((head if index == 0 else after) + paper.line(row), joined=index > 0)
        for index, row in enumerate(rows)
    ]


def plates(
    paper: Paper, hazards: Sequence[Hazard], *, full: bool = False, apart: bool = False
) -> list[TextLine]:
    """All plates, the worst first.

    Args:
        paper: What they are drawn on.
        hazards: The cautions.
        full: With their codes and sources.
        apart: With an empty row between them.
    """
    rows: list[TextLine] = []
    for hazard in worst_first(hazards):
        rows += [paper.line()] if apart and rows else []
        rows += plate(paper, hazard, full=full)
    return rows
