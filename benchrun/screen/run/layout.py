"""How the page of a run is laid out: which blocks, in which order."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from benchrun.board import offer_words
from benchrun.dialogue.acts import choices_of, finding_prompt, stroke_inspection
from benchrun.dialogue.hand import View, beside_clocks, main_clock, stands_at
from benchrun.part_names import part_names
from benchrun.procedure.route import Inspect, Step, StepOp
from benchrun.run.act_clocks import ActClock, ClockKind
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run, Use
from benchrun.screen.lessons import Learned
from benchrun.screen.page import SPARE, Block, block
from benchrun.screen.parts.rows import state_of
from benchrun.screen.prompts import option_rows
from benchrun.screen.run import bodies, header
from benchrun.screen.run.typed_reading import TypedReading, reading_blocks
from benchrun.screen.text_line import Paper, Role, TextLine, TextPiece
from benchrun.screen.theme import Appearance
from benchrun.screen.widgets.clock import act_clock_row, large_clock
from benchrun.text import count

AHEAD: Final = 5
"""So many of the next steps are shown."""


@dataclass(frozen=True, slots=True)
class Beside:
    """The words of past runs and the shop on the step in hand.

    Attributes:
        learned: Lessons of past runs.
        took: How long it took in past runs, or empty.
        uses: What it uses of the shop's supplies, with the tins in hand.
        dark: What it opens that would close while nobody is in the shop.
    """

    learned: Sequence[Learned] = ()
    took: str = ""
    uses: Sequence[Use] = ()
    dark: Sequence[str] = ()


def work_blocks(
    paper: Paper,
    now: View,
    parts: tuple[str, ...],
    reading: TypedReading | None,
    *,
    title: str,
    whose: TextPiece,
    look: Appearance,
    crowded: bool = False,
    beside: Beside | None = None,
    resumed: str = "",
) -> list[Block]:
    """Everything on the page of a run, from the top.

    Args:
        paper: What it is drawn on.
        now: The run as it is shown.
        parts: For whom the offer in hand would be taken up.
        reading: The reading that may be typed, if one is in hand.
        title: The procedure's title.
        whose: Who works, and how strongly that is said.
        look: How the time of day is told.
        crowded: Whether the cautions have a page of their own because they do not fit here.
        beside: What past runs and the shop have to say of the step in hand.
        resumed: What is said of a run that was just resumed, or empty.
    """
    head = [
        block([header.title_row(paper, title, whose, look.clock(now.at))], gap=0),
        header.rule_block(paper, now),
    ]
    if resumed:
        head.append(block([paper.line(" ", (paper.fitted(resumed, paper.width - 2), Role.QUIET))]))
    hazards = header.guards(now.offer)
    if hazards:
        shown = header.covered if crowded else header.plate_block
        head.append(shown(paper, hazards))
    beside = beside or Beside()
    middle = _middle(paper, now, parts, reading, beside, look.zone)
    took = header.took_block(paper, now.offer, beside.took)
    return [*head, *middle, took, *_below(paper, now, look.zone)]


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
        return [_closing(paper, now)]
    if offer.deed is Deed.RESUME:
        words = f"The run is stopped: {run.stopped.removesuffix('.')}."
        return [block(paper.paragraph(words, first="   ", role=Role.STRONG)), *clock]
    waits = block(bodies.waits_line(paper, run, offer, parts))
    if offer.clock is not None and large is not None and large.step is offer.step:
        return [header.step_block(paper, run, offer), *clock]
    if not offer.ready and large is not None:
        return [_waiting_step(paper, large), *clock, waits]
    uses = bodies.uses_block(paper, beside.uses)
    body = _body(paper, now, parts, reading, uses)
    window = large is not None and large.kind is ClockKind.WINDOW and large.step is offer.step
    numbers = reading is not None or choices_of(run, offer) is not None
    return [
        header.step_block(paper, run, offer),
        *([] if numbers else clock),
        header.beside_step(paper, offer.step),
        header.learned_block(paper, beside.learned, now.at),
        *body,
        *(_spare(clock) if numbers else []),
        bodies.load_block(paper, run, offer),
        block([]) if window and not numbers else bodies.window_block(paper, run, offer),
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
    paper: Paper, now: View, parts: tuple[str, ...], reading: TypedReading | None, uses: Block
) -> list[Block]:
    run, offer = now.run, now.offer
    if offer is None or offer.step is None:
        return []
    step = offer.step
    who = bodies.who_block(paper, run, offer, parts)
    if offer.figures:
        return [bodies.figures_block(paper, run, offer), who]
    if offer.deed is Deed.PUT_IN:
        return [*bodies.put_in_blocks(paper, run, offer), uses, who]
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
    return [*bodies.hold_blocks(paper, step), *sums, uses, who]


def _closing(paper: Paper, now: View) -> Block:
    offer = now.offer
    if offer is not None and not offer.ready:
        why = offer.why[:1].upper() + offer.why[1:]
        return block(paper.paragraph(why, first="   ", role=Role.STRONG))
    words = "Everything on the route is done. Close the run and sign its record."
    return block(paper.paragraph(words, first="   ", role=Role.STRONG))


def _below(paper: Paper, now: View, zone: dt.tzinfo | None) -> list[Block]:
    """The next steps, the clocks that run beside, and the other work."""
    shown = []
    then = _next_rows(paper, now)
    if then:
        shown.append(block(then, short=then[:1], rank=5))
    beside = _other_clocks(paper, now, zone)
    if beside:
        shown.append(block(beside, short=beside[:2], rank=1))
    other = _other_work(paper, now)
    if other:
        shown.append(block(other, short=other[:1], rank=4))
    if paper.large:
        shown.append(block(_batch_rows(paper, now.run), rank=5))
    return shown


def _other_clocks(paper: Paper, now: View, zone: dt.tzinfo | None) -> list[TextLine]:
    rest = beside_clocks(now)
    shown = rest[: 8 if paper.large else 4]
    rows = [act_clock_row(paper, now.run, one, now.at, zone=zone, indent=1) for one in shown]
    if len(rest) > len(shown):
        more = count(len(rest) - len(shown), "more clock")
        rows.append(paper.line(" ", (f"and {more}: / 5 shows them", Role.QUIET)))
    return rows


def _other_work(paper: Paper, now: View) -> list[TextLine]:
    ready = [one for one in now.others if one.ready]
    most = 4 if paper.large else 2
    rows = []
    for place, offer in enumerate(ready[:most]):
        lead = "also   " if not place else "       "
        text = paper.fitted(offer_words(now.run, offer), paper.width - 9)
        rows.append(paper.line(" ", (lead, Role.QUIET), text))
    waiting = [one for one in now.others if not one.ready and one.clock is None]
    if not ready and waiting:
        names = [f"{part_names(one.parts)}: {one.why}" for one in waiting[:2]]
        text = paper.fitted("; ".join(names), paper.width - 9)
        rows.append(paper.line(" ", ("later  ", Role.QUIET), (text, Role.QUIET)))
    return rows


def _next_rows(paper: Paper, now: View) -> list[TextLine]:
    """The next step, or where there is room the next few, whatever the forks say."""
    steps = _steps_after(now.run, now.offer)[: AHEAD if paper.large else 1] if now.offer else []
    rows = []
    for place, step in enumerate(steps):
        lead = "next   " if not place else "       "
        text = paper.fitted(f"{step.number:<3}{step.text}", paper.width - 9)
        rows.append(paper.line(" ", (lead, Role.QUIET), (text, Role.QUIET)))
    return rows


def _steps_after(run: Run, offer: Offer) -> Sequence[Step]:
    if offer.step is None:
        return []
    last = run.course.ops_of(offer.step.id)[-1]
    # A reading of several places stands on the route once a place.
    ops = run.route.ops[last + 1 :]
    steps = {op.step.id: op.step for op in ops if isinstance(op, StepOp)}
    return [step for step in steps.values() if step.id != offer.step.id]


def _batch_rows(paper: Paper, run: Run, most: int = 9) -> list[TextLine]:
    """Who stands where: the parts that stand alike in one row, those furthest behind first."""
    if len(run.parts) < 2:
        return []
    alike: dict[str, list[str]] = {}
    for part in sorted(run.parts, key=lambda one: stands_at(run, one)):
        alike.setdefault(state_of(paper, run, run.markers[part]), []).append(part)
    wide = min(30, max(len(words) for words in alike) + 3)
    rows = []
    for place, (words, parts) in enumerate(alike.items()):
        lead = "batch  " if not place else "       "
        state = paper.padded(words, wide)
        ordered = [part for part in run.parts if part in parts]
        who = paper.fitted(part_names(ordered, run.parts), paper.width - wide - 10)
        rows.append(paper.line(" ", (lead, Role.QUIET), state, who))
    if len(rows) > most:
        more = paper.line(" " * 8, (f"and {len(rows) - most + 1} more: . shows all", Role.QUIET))
        rows = [*rows[: most - 1], more]
    return rows
