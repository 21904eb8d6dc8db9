"""How the page of a run is laid out: which blocks, in which order."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from benchrun.dialogue.acts import choices_of, finding_prompt, stroke_inspection
from benchrun.dialogue.hand import View, main_clock
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Inspect
from benchrun.run.act_clocks import ActClock, ClockKind
from benchrun.run.offers import Deed
from benchrun.run.state import Use
from benchrun.screen.lessons import Learned
from benchrun.screen.page import SPARE, Block, TwoColumns, block
from benchrun.screen.prompts import option_rows
from benchrun.screen.run import bodies, header, surroundings
from benchrun.screen.run.typed_reading import TypedReading, reading_blocks
from benchrun.screen.text_line import Paper, Role, TextLine, TextPiece
from benchrun.screen.theme import Appearance
from benchrun.screen.widgets.clock import large_clock

LEFT_MOST: Final = 100
RIGHT_MOST: Final = 76
"""Wider columns would part things that belong together."""


@lean_dataclass(frozen=True, slots=True)
class LogLine:
    """An entry of the log as the foot of a page shows it: when, its number, its words."""

    when: str
    n: int
    text: str


@lean_dataclass(frozen=True, slots=True)
class Beside:
    """The words of past runs and the shop on the step in hand.

    Attributes:
        learned: Lessons of past runs.
        took: How long it took in past runs, or empty.
        uses: What it uses of the shop's supplies, with the tins in hand.
        dark: What it opens that would close while nobody is in the shop.
        resumed: What is said of a run that was just resumed, or empty.
        tail: The last entries of the log, for a page with room for them.
        put_in: What is known before parts go in, see `put_in_notes`.
    """

    learned: Sequence[Learned] = ()
    took: str = ""
    uses: Sequence[Use] = ()
    dark: Sequence[str] = ()
    resumed: str = ""
    tail: Sequence[LogLine] = ()
    put_in: Sequence[tuple[str, Sequence[str]]] = ()


def work_blocks(
    paper: Paper,
    now: View,
    parts: tuple[str, ...],
    reading: TypedReading | None,
    *,
    title: header.RunTitle,
    whose: TextPiece,
    look: Appearance,
    crowded: bool = False,
    beside: Beside | None = None,
) -> list[Block] | TwoColumns:
    """Everything on the page of a run, from the top.

    Args:
        paper: What it is drawn on.
        now: The run as it is shown.
        parts: For whom the offer in hand would be taken up.
        reading: The reading that may be typed, if one is in hand.
        title: The procedure's title and edition.
        whose: Who works, and how strongly that is said.
        look: How the time of day is told.
        crowded: Whether the cautions have a page of their own because they do not fit here.
        beside: What past runs and the shop have to say of the step in hand.
    """
    head = [
        block([header.title_row(paper, title, whose, look.clock(now.at))], gap=0),
        header.rule_block(paper, now),
    ]
    if not paper.large:
        work = _work(paper, now, parts, reading, look, beside or Beside(), crowded)
        return [*head, *work, *surroundings.below(paper, now, look.zone)]
    edge = min(LEFT_MOST, paper.width * 55 // 100)
    left = paper.column(edge)
    right = paper.column(min(RIGHT_MOST, paper.width - edge - 3))
    return TwoColumns(
        tuple(head),
        tuple(_work(left, now, parts, reading, look, beside or Beside(), crowded)),
        tuple(surroundings.beside(right, now, reading, look.zone)),
        tuple(_tail_rows(paper, beside.tail if beside else ())),
        edge,
        paper.signs.stage_ahead,
    )


def _tail_rows(paper: Paper, tail: Sequence[LogLine]) -> list[TextLine]:
    """The last entries of the log, a row each; more of them on a higher page."""
    rows = []
    shown = tail[-max(2, (paper.height - 24) // 5) :]
    when = max((len(one.when) for one in shown), default=0)
    number = max((len(str(one.n)) for one in shown), default=0)
    for place, one in enumerate(shown):
        lead = f"{paper.label('' if place else 'log')}{one.when:>{when}}  {one.n:>{number}}  "
        text = paper.fitted(one.text, min(paper.width, LEFT_MOST + RIGHT_MOST) - len(lead) - 1)
        rows.append(paper.line((lead, Role.QUIET), (text, Role.QUIET)))
    return rows


def _work(
    paper: Paper,
    now: View,
    parts: tuple[str, ...],
    reading: TypedReading | None,
    look: Appearance,
    beside: Beside,
    crowded: bool,
) -> list[Block]:
    """The work in hand: the cautions, the step, what it asks for."""
    shown = []
    if beside.resumed:
        rows = paper.paragraph(beside.resumed, role=Role.QUIET, most=2)
        short = paper.paragraph(beside.resumed, role=Role.QUIET, most=1)
        shown.append(block(rows, short=short, rank=2))
    hazards = header.guards(now.offer)
    if hazards:
        plate = header.covered if crowded else header.plate_block
        shown.append(plate(paper, hazards))
    middle = _middle(paper, now, parts, reading, beside, look.zone)
    return [*shown, *middle, header.took_block(paper, now.offer, beside.took)]


def _middle(
    paper: Paper,
    now: View,
    parts: tuple[str, ...],
    reading: TypedReading | None,
    beside: Beside,
    zone: dt.tzinfo | None,
) -> list[Block]:
    run, offer = now.run, now.offer
    large = main_clock(now)
    clock = large_clock(paper, run, large, now.at, zone) if large else []
    if offer is None:
        return [block(paper.paragraph("Nothing to do at the moment."), gap=1), *clock]
    if offer.deed is Deed.ANSWER:
        return [*bodies.question_blocks(paper, run, offer, parts), *_spare(clock)]
    if offer.deed is Deed.CLOSE:
        return bodies.closing_blocks(paper, run, offer)
    if offer.deed is Deed.RESUME:
        words = f"The run is stopped: {run.stopped.removesuffix('.')}."
        return [block(paper.paragraph(words, first="   ", role=Role.STRONG)), *clock]
    # A window that is still to open says itself how long.
    own_window = large is not None and large.kind is ClockKind.WINDOW and large.step is offer.step
    waits = block([] if own_window else bodies.waits_line(paper, run, offer, parts))
    if offer.clock is not None and large is not None and large.step is offer.step:
        return [header.step_block(paper, run, offer), *clock, header.beside_step(paper, run, offer)]
    if not offer.ready and large is not None:
        return [_waiting_step(paper, large), *clock, waits]
    body = _body(paper, now, parts, reading, beside)
    numbers = reading is not None or choices_of(run, offer) is not None
    return [
        header.step_block(paper, run, offer),
        *([] if numbers else clock),
        header.critical_block(paper, offer),
        header.beside_step(paper, run, offer),
        header.learned_block(paper, beside.learned, now.at),
        *body,
        *(_spare(clock) if numbers else []),
        bodies.load_block(paper, run, offer),
        block([]) if own_window and not numbers else bodies.window_block(paper, run, offer),
        bodies.dark_block(paper, beside.dark),
        waits,
    ]


def _spare(clock: Sequence[Block]) -> list[Block]:
    """A clock on a page of figures or numbers: there where there is room for it."""
    return [replace(one, rank=SPARE) for one in clock]


def _waiting_step(paper: Paper, clock: ActClock) -> Block:
    step = clock.step
    return block(paper.paragraph(step.text, first=f" {step.number}  ", role=Role.STRONG))


def _body(
    paper: Paper, now: View, parts: tuple[str, ...], reading: TypedReading | None, beside: Beside
) -> list[Block]:
    run, offer = now.run, now.offer
    if offer is None or offer.step is None:
        return []
    step, uses = offer.step, bodies.uses_block(paper, beside.uses)
    who = bodies.who_block(paper, run, offer, parts)
    if offer.figures:
        return [bodies.figures_block(paper, run, offer), who]
    if beside.put_in:
        return [*bodies.put_in_blocks(paper, beside.put_in), uses, who]
    if reading is not None:
        whose = block([]) if len(run.parts) == 1 else who
        return [whose, *reading_blocks(paper, reading)]
    choices = choices_of(run, offer)
    if choices is not None:
        return [who, uses, block(option_rows(paper, choices))]
    judged = stroke_inspection(run, offer)
    if judged is not None and isinstance(judged.detail, Inspect):
        first = f" done, and {judged.number}  "
        then = paper.paragraph(judged.text, first=first, lead=Role.QUIET)
        rows = option_rows(paper, finding_prompt(run, judged.detail))
        return [who, block([*then, *rows])]
    sums = bodies.work_out_blocks(paper, run, step, parts, now.at)
    return [*bodies.hold_blocks(paper, run, step), *sums, uses, who]
