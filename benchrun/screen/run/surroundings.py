"""The surroundings of the work in hand: the batch, other clocks, other work, the next steps."""

import datetime as dt
from collections.abc import Sequence
from itertools import islice
from typing import Final

from benchrun.board import offer_words
from benchrun.dialogue.hand import View, beside_clocks, main_clock, stands_at
from benchrun.part_names import part_names
from benchrun.run.act_clocks import ClockKind
from benchrun.run.offers import Deed
from benchrun.run.state import Run
from benchrun.run.steps_ahead import steps_ahead
from benchrun.screen.page import Block, block
from benchrun.screen.parts.rows import part_track, state_of
from benchrun.screen.run.so_far import clock_times, so_far
from benchrun.screen.run.typed_reading import TypedReading
from benchrun.screen.text_line import GUTTER, Paper, Role, TextLine
from benchrun.screen.widgets.clock import act_clock_row, act_clock_rows
from benchrun.text import count

AHEAD: Final = 5
"""So many of the next steps are shown."""
MOST_PARTS: Final = 8
"""Of so many parts each has a row of its own."""
MOST_ROWS: Final = 9
_TRACK: Final = 22
_BODY: Final = GUTTER + 2
"""The column in which whatever has a label begins."""


def below(paper: Paper, now: View, zone: dt.tzinfo | None) -> list[Block]:
    """The surroundings on a page with one column, below the work; what is less urgent gives way."""
    ahead = [row for rows in _steps_rows(paper, now, 1, 1) for row in rows]
    clocks = [
        act_clock_row(paper, now.run, one, now.at, zone=zone, lead=paper.line(" "))
        for one in beside_clocks(now)[:4]
    ]
    clocks += _more(paper, len(beside_clocks(now)) - 4)
    other = other_work(paper, now, 2)
    return [
        block(ahead, rank=5),
        block(clocks, short=clocks[:2], rank=1),
        block(other, short=other[:1], rank=4),
    ]


def beside(
    paper: Paper, now: View, reading: TypedReading | None, zone: dt.tzinfo | None
) -> list[Block]:
    """The surroundings in a column of their own."""
    batch, alike = _each_part(paper, now.run), _alike_parts(paper, now.run)
    ahead_rows = _steps_rows(paper, now, AHEAD, 2)
    other = other_work(paper, now, 6)
    return [
        block(batch or alike, short=alike, rank=3),
        block(clock_times(paper, main_clock(now), now.at, zone), rank=4),
        *_clocks(paper, now, zone),
        *so_far(paper, now.run, now.offer, reading),
        block(other, short=other[:2], rank=4),
        *[block(rows, rank=5, gap=int(not place)) for place, rows in enumerate(ahead_rows)],
    ]


def _clocks(paper: Paper, now: View, zone: dt.tzinfo | None) -> list[Block]:
    """The other clocks, two rows each: the loads, then the windows."""
    shown = []
    clocks = beside_clocks(now)
    windows = [one for one in clocks if one.kind is ClockKind.WINDOW]
    loads = [one for one in clocks if one.kind is not ClockKind.WINDOW]
    for label, among in (("clocks", loads), ("windows", windows)):
        rows: list[TextLine] = []
        for one in among[:4]:
            body = act_clock_rows(paper.column(paper.width - _BODY), now.run, one, now.at, zone)
            rows += [paper.line(" " * _BODY) + row for row in body]
        rows += _more(paper, len(among) - 4)
        shown.append(block(_labelled(paper, label, rows), short=rows[:4], rank=1))
    return shown


def _more(paper: Paper, more: int) -> list[TextLine]:
    if more <= 0:
        return []
    words = f"and {count(more, 'more clock')}: / then 5 shows them"
    return [paper.line(paper.label(""), (words, Role.QUIET))]


def _labelled(paper: Paper, label: str, rows: Sequence[TextLine]) -> list[TextLine]:
    """Rows that leave the column of labels free, with the label in front of the first."""
    if not rows:
        return []
    first, *rest = rows
    (blanks, role), *pieces = first.pieces
    head = paper.line((paper.label(label), Role.QUIET), (blanks[_BODY:], role))
    return [head + TextLine(tuple(pieces)), *rest]


def other_work(paper: Paper, now: View, most: int) -> list[TextLine]:
    """The other offers; where none is ready, what is waited for."""
    ready = [one for one in now.others if one.ready]
    room = paper.width - _BODY - 1
    rows: list[TextLine] = []
    for place, offer in enumerate(ready[:most]):
        label = paper.label("" if place else "also")
        words, most_rows = offer_words(now.run, offer), 2 if paper.large else 1
        rows += paper.paragraph(words, first=label, lead=Role.QUIET, most=most_rows)
    # The close waits for everything, always: that is no news.
    waiting = [
        one
        for one in now.others
        if not one.ready and one.clock is None and one.deed is not Deed.CLOSE
    ]
    if not ready and waiting:
        names = [f"{part_names(one.parts)}: {one.why}" for one in waiting[:2]]
        text = paper.fitted("; ".join(names), room)
        rows.append(paper.line((paper.label("later"), Role.QUIET), (text, Role.QUIET)))
    return rows


def _steps_rows(paper: Paper, now: View, many: int, most: int) -> list[list[TextLine]]:
    """The rows of so many of the next steps, as far as the forks can be told.

    Args:
        paper: What they are drawn on.
        now: The run as it is shown.
        many: How many steps.
        most: How many rows each may take.
    """
    offer = now.offer
    if offer is None or offer.step is None or not offer.parts:
        return []
    ahead = list(islice(steps_ahead(now.run, offer.parts, offer.step, now.at), many))
    wide = max((len(str(one.step.number)) for one in ahead), default=1)
    rows = []
    for place, one in enumerate(ahead):
        words = f"{one.when}: {one.step.text}" if one.when else one.step.text
        first = f"{paper.label('' if place else 'next step')}{one.step.number:>{wide}}  "
        rows.append(paper.paragraph(words, first=first, role=Role.QUIET, most=most))
    return rows


def _each_part(paper: Paper, run: Run) -> list[TextLine]:
    """Where each part of a small batch stands: its name, its way along the rule, its state."""
    if not 2 <= len(run.parts) <= MOST_PARTS:
        return []
    room = paper.width - _BODY
    states = [state_of(paper, run, run.markers[part]) for part in run.parts]
    side = min(max(len(paper.clean(part)) for part in run.parts), room // 3)
    wide = min(max(len(state) for state in states), 24, room - side - 2)
    rows = []
    for place, (part, state) in enumerate(zip(run.parts, states, strict=True)):
        row = paper.line(
            (paper.label("" if place else "batch"), Role.QUIET),
            f"{paper.padded(paper.ended(part, side), side)}  {paper.padded(state, wide)}",
        )
        track = part_track(paper, run, run.markers[part], min(_TRACK, paper.width - row.width - 3))
        rows.append(row + paper.line("   ", (track.rstrip(), Role.QUIET)))
    return rows


def _alike_parts(paper: Paper, run: Run) -> list[TextLine]:
    """Who stands where: the parts that stand alike in one row, those furthest behind first."""
    if len(run.parts) < 2:
        return []
    alike: dict[str, list[str]] = {}
    for part in sorted(run.parts, key=lambda one: stands_at(run, one)):
        alike.setdefault(state_of(paper, run, run.markers[part]), []).append(part)
    wide = min(30, max(len(words) for words in alike) + 3)
    rows = []
    for place, (words, parts) in enumerate(alike.items()):
        label = paper.label("" if place else "batch")
        ordered = [part for part in run.parts if part in parts]
        who = paper.fitted(part_names(ordered, run.parts), paper.width - wide - _BODY - 1)
        rows.append(paper.line((label, Role.QUIET), paper.padded(words, wide), who))
    if len(rows) > MOST_ROWS:
        words = f"and {len(rows) - MOST_ROWS + 1} more: . shows all"
        more = paper.line(paper.label(""), (words, Role.QUIET))
        rows = [*rows[: MOST_ROWS - 1], more]
    return rows
