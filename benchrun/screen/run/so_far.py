"""The facts beside the act in hand: times of day, limits, what was found, lines of the close."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Reading
from benchrun.quantity import limits_words
from benchrun.run.act_clocks import ActClock, ClockKind
from benchrun.run.amendable import kept_value_words
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run, Value
from benchrun.screen.page import Block, block
from benchrun.screen.run.bodies import close_block
from benchrun.screen.run.typed_reading import TypedReading
from benchrun.screen.text_line import GUTTER, Paper, Role, TextLine
from benchrun.shop_use.instruments import limits_for
from benchrun.shopmath.accepting import sure_limits
from benchrun.wording import clock_time, grouped

_WITHOUT: Final = (ClockKind.TEND, ClockKind.NOTICE)
MOST_FOUND: Final = 8
"""So many steps or parts are told at most, the last first."""


def so_far(
    paper: Paper, run: Run, offer: Offer | None, reading: TypedReading | None
) -> list[Block]:
    """The limits of the act in hand, what was read and found, the lines of the close.

    Of one part alone its steps, the last first; of several what the others came to at the step
    in hand.

    Args:
        paper: What it is drawn on.
        run: The run.
        offer: What is in hand.
        reading: The reading that may be typed, if one is in hand.
    """
    if offer is None:
        return []
    found = _of_steps(run) if len(run.parts) == 1 else _of_parts(run, offer)
    rows: list[TextLine] = []
    wide = max((len(paper.clean(name)) for name, _ in found), default=0)
    for place, (name, words) in enumerate(found[:MOST_FOUND]):
        lead = paper.label("" if place else "found")
        # Long names give way to the values.
        side = min(wide, max(8, (paper.width - GUTTER) // 3))
        rest = " " * len(lead) + " " * (side + 2)
        first = f"{lead}{paper.padded(name, side)}  "
        rows += paper.paragraph(words, first=first, rest=rest, role=Role.QUIET, most=2)
    held = _held_against(paper, reading) if reading is not None else _limits(paper, run, offer)
    limits = block(held, rank=4)
    close = close_block(paper, run) if offer.deed is Deed.CLOSE else block([])
    return [limits, block(rows, short=rows[:2], rank=4), close]


def _of_steps(run: Run) -> Sequence[tuple[str, str]]:
    """The values of the only part, step by step, the last first."""
    kept = [one for one in run.markers[run.parts[0]].values.values() if one.step in run.route.steps]
    by_step: dict[str, list[Value]] = {}
    for value in kept:
        by_step.setdefault(value.step, []).append(value)
    last_first = sorted(by_step, key=lambda step: -max(one.n for one in by_step[step]))
    wide = max((len(str(run.route.steps[step].number)) for step in last_first), default=1)
    return [
        (f"{run.route.steps[step].number:>{wide}}  {_name(by_step[step])}", _words(by_step[step]))
        for step in last_first
    ]


def _of_parts(run: Run, offer: Offer) -> Sequence[tuple[str, str]]:
    """The values of the parts at the step in hand, in batch order."""
    if offer.step is None:
        return []
    told: dict[str, str] = {}
    for marker in run.each():
        values = [one for one in marker.values.values() if one.step == offer.step.id]
        if values:
            told[marker.part] = _words(values)
    return [(part_names(parts, run.parts), words) for words, parts in grouped(told)]


def _name(values: Sequence[Value]) -> str:
    return values[0].name.replace("_", " ")


def _words(values: Sequence[Value]) -> str:
    """The values of one step: of several places each with its own, alike ones once."""
    if len(values) > 1 and len({kept_value_words(one) for one in values}) == 1:
        return f"{kept_value_words(values[0])} ({len(values)} times)"
    return ", ".join(f"{one.place} {kept_value_words(one)}".strip() for one in values)


def _held_against(paper: Paper, reading: TypedReading) -> list[TextLine]:
    """The limits of a reading in figures, and between which its instrument can tell them kept."""
    limits, unit = reading.limits, reading.detail.unit
    words = limits_words(_figure(limits.low), _figure(limits.high), unit)
    if not words:
        return []
    rows = paper.labelled("limits", words, role=Role.QUIET)
    sure = sure_limits(limits.low, limits.high, limits.doubt)
    if reading.tool is None or not limits.doubt or sure is None:
        return rows
    low, high = sure
    words = limits_words(_figure(low), _figure(high), unit)
    text = f"{words}: surely inside, by {reading.tool.name}"
    return [*rows, *paper.labelled("", text, role=Role.QUIET)]


def _figure(number: Decimal | None) -> str:
    return "" if number is None else str(number)


def _limits(paper: Paper, run: Run, offer: Offer) -> list[TextLine]:
    """The limits of a reading about which something is asked; the gauge shows them elsewhere."""
    step = offer.step
    if offer.deed is not Deed.ANSWER or step is None or not isinstance(step.detail, Reading):
        return []
    low, high = limits_for(run, offer.parts[0], step.detail)
    words = limits_words(_figure(low), _figure(high), step.detail.unit)
    tool = step.detail.instrument
    words = ", ".join(filter(None, (words, f"by {tool}" if tool else "")))
    return paper.labelled("limits", words, role=Role.QUIET) if words else []


def clock_times(
    paper: Paper, clock: ActClock | None, now: Moment, zone: dt.tzinfo | None
) -> list[TextLine]:
    """When a clock began, and its limits as times of day; nothing where these are not certain."""
    spent = clock.spent if clock is not None else None
    if clock is None or spent is None or not spent.exact or clock.kind in _WITHOUT:
        return []
    load = clock.load
    began = -spent.proven_ms
    there = "out since" if clock.kind is ClockKind.AWAY else "in since" if load else "since"
    marks = [(there, began)]
    if clock.least is not None:
        # The words beside the clock of a window say from which whole minute on it is open.
        marks.append(("earliest", began + clock.least + (0 if load else 59_999)))
    marks += [("aim", began + load.aim)] if load is not None and load.aim is not None else []
    marks += [("latest", began + clock.most)] if clock.most is not None else []
    rows: list[TextLine] = []
    for place, (name, at) in enumerate(marks if len(marks) > 1 else []):
        label = paper.label("" if place else "times")
        words = clock_time(now.utc_ms + at, now.utc_ms, zone)
        rows.append(paper.line((f"{label}{name:<10}", Role.QUIET), (words, Role.QUIET)))
    return rows
