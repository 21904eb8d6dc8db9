"""The top of a run's page: its title, the steel rule, the cautions and the step in plain words."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from benchrun.dialogue.hand import View, critical_words, furthest_behind, stands_at
from benchrun.dialogue.step_notes import step_notes, turn_words
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Hazard, worst_first
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.screen.lessons import Learned, lesson_rows
from benchrun.screen.page import Block, block
from benchrun.screen.parts.rows import graduations
from benchrun.screen.text_line import Paper, Role, TextLine, TextPiece
from benchrun.screen.widgets.plate import plates
from benchrun.screen.widgets.rule import steel_rule
from benchrun.text import count

MOST_LESSONS: Final = 2


@lean_dataclass(frozen=True, slots=True)
class RunTitle:
    """The title of a run: its procedure and the edition of it, and whether that calls."""

    title: str
    edition: str = ""
    calls: bool = False


def title_row(paper: Paper, run: RunTitle, whose: TextPiece, clock: str) -> TextLine:
    """The run's title, as much of the edition as there is room for, who works, the time of day."""
    right = paper.line(whose, (f"   {clock}", Role.QUIET), " ")
    room = paper.width - right.width - 3
    left = paper.line(" ", (paper.fitted(run.title, room), Role.STRONG))
    words = run.edition.split(", ") if run.edition else []
    while words and len(", ".join(words)) + 3 > room + 1 - left.width:
        words.pop()
    if words:
        role = Role.ACCENT if run.calls else Role.QUIET
        left = left + paper.line((f"   {', '.join(words)}", role))
    row = paper.between(left, right)
    return replace(row, yields=True)


def rule_block(paper: Paper, now: View) -> Block:
    """The steel rule with the pointer at the step in hand."""
    run, offer = now.run, now.offer
    steps = list(run.route.steps.values())
    step = offer.step if offer else None
    here = steps.index(step) if step is not None else furthest_behind(run)
    others = {stands_at(run, m.part) for m in run.each() if m.here} - {here}
    words = f"{step.number} of {len(steps)}" if step else count(len(steps), "step")
    marks, at = graduations(steps), min(here, len(steps) - 1)
    if paper.large:
        return block(_under_alarm(steel_rule(paper, marks, at, others, words, paper.width)), gap=0)
    rows = steel_rule(paper, marks, at, others, words)
    if step is not None:
        words = f"{words}, {step.stage}"
    short = steel_rule(paper, marks, at, others, words)
    return block(_under_alarm(rows), short=_under_alarm(short[:2]), rank=3, gap=0)


def _under_alarm(rows: Sequence[TextLine]) -> list[TextLine]:
    """The rule free to be covered: with the title above it an alarm of four rows moves nothing."""
    return [replace(row, yields=True) for row in rows]


def guards(offer: Offer | None) -> tuple[Hazard, ...]:
    """The cautions that stand before what is in hand."""
    if offer is None or offer.step is None or offer.deed in (Deed.ANSWER, Deed.GET_BACK):
        return ()
    return offer.step.cautions


def plate_block(paper: Paper, hazards: tuple[Hazard, ...]) -> Block:
    """The cautions in full."""
    return block(plates(paper, hazards))


def covered(paper: Paper, hazards: tuple[Hazard, ...]) -> Block:
    """The row for cautions that were read on a page of their own."""
    worst = worst_first(hazards)[0]
    bar = paper.signs.bars[0 if worst.signal.value == "danger" else 1]
    words = f" {worst.signal.value.upper()} "
    more = count(len(hazards), "caution")
    return block(
        [
            paper.line(
                " ",
                (bar, Role.STRONG),
                (words, Role.PLATE),
                f"  {paper.fitted(worst.hazard, paper.width - 40)}",
                (f"  {more}: 0", Role.QUIET),
            )
        ]
    )


def step_block(paper: Paper, run: Run, offer: Offer) -> Block:
    """The step in large plain words, with its number in front and its pass or place behind."""
    step = offer.step
    if step is None:
        return block([])
    behind = turn_words(run, offer)
    first = f" {step.number}  "
    rows = paper.paragraph(step.text, first=first, role=Role.STRONG, width=min(paper.width - 1, 92))
    if behind:
        if rows[-1].width + len(behind) + 3 < paper.width:
            rows[-1] = paper.between(rows[-1], paper.line((behind, Role.QUIET), " "))
        else:
            rows.append(paper.line(" " * len(first), (behind, Role.QUIET)))
    return block(rows)


def critical_block(paper: Paper, offer: Offer) -> Block:
    """The row that says that a step cannot be undone, before it is begun and until it is done."""
    words = critical_words(offer)
    if not words:
        return block([])
    return block(paper.labelled("critical", words, role=Role.STRONG, lead=Role.STRONG))


def beside_step(paper: Paper, run: Run, offer: Offer) -> Block:
    """The conditions, who does it, whether its order is free, and the lessons kept on the step."""
    if offer.step is None:
        return block([])
    rows: list[TextLine] = []
    for label, text in step_notes(run, offer):
        rows += paper.labelled(label, text)
    for text in offer.step.lessons:
        rows += paper.labelled("lesson", text, lead=Role.ACCENT)
    return block(rows, rank=2, short=rows[:2])


def took_block(paper: Paper, offer: Offer | None, took: str) -> Block:
    """How long the step took in past runs; the first thing to give way."""
    if not took or offer is None or offer.deed not in (Deed.DO, Deed.PUT_IN):
        return block([])
    label = paper.label("takes")
    text = paper.fitted(took, paper.width - len(label) - 1)
    return block([paper.line((label + text, Role.QUIET))], rank=5)


def learned_block(paper: Paper, learned: Sequence[Learned], now: Moment) -> Block:
    """The lessons of past runs on the step, the newest in full."""
    if not learned:
        return block([])
    rows = lesson_rows(paper, learned[:MOST_LESSONS], now, first=paper.label("lesson"))
    if len(learned) > MOST_LESSONS:
        more = count(len(learned) - MOST_LESSONS, "more lesson")
        rows.append(paper.line(paper.label(""), (f"{more}, 0 shows all", Role.QUIET)))
    words = f"{count(len(learned), 'lesson')} of past runs, 0 shows all"
    short = [paper.line((paper.label("lesson"), Role.ACCENT), (words, Role.QUIET))]
    return block(rows, rank=2, short=short, gap=0)
