"""The middle of a run's page, one form for each thing that can be in hand."""

from collections.abc import Sequence

from benchrun.dialogue.answers import answer_prompt
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Dwell, Hold, Step, WorkOut
from benchrun.run.clocks import window_words
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.holds import hold_terms
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run, Status, Use
from benchrun.run.sums import sums_of
from benchrun.run.supply_use import using_words
from benchrun.run.tool_counts import tools_to_count
from benchrun.run.vessels import over_capacity
from benchrun.screen.page import Block, block
from benchrun.screen.prompts import option_rows
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.tag import tags
from benchrun.text import count, listed, span
from benchrun.wording import CLOSE_LISTS, time_limits, unfit_words


def who_block(paper: Paper, run: Run, offer: Offer, parts: tuple[str, ...]) -> Block:
    """For which parts: tags, and those that come after."""
    if len(run.parts) == 1:
        return block([])
    if len(parts) == len(run.parts) and len(parts) > 6:
        return block(paper.labelled("for", f"all {len(parts)}"), rank=1)
    rest = [part for part in offer.parts if part not in parts]
    # Where only some are in hand, theirs are the filled eyelets.
    most = 4 if paper.large else 2
    first, chosen = paper.label("for"), parts if rest else ()
    rows = tags(paper, parts, first=first, chosen=chosen, most_rows=most)
    if rest:
        rows += tags(paper, rest, first=paper.label("next part"), most_rows=1)
    return block(rows, short=rows[:1], rank=1)


def window_block(paper: Paper, run: Run, offer: Offer) -> Block:
    """The time since an earlier step that this one must keep."""
    state, step = offer.window, offer.step
    if state is None or step is None or step.window is None:
        return block([])
    limits = time_limits(state.least, state.most)
    words = window_words(state)
    role = Role.ACCENT if state.late else Role.STRONG
    after = " or ".join(str(run.route.steps[one].number) for one in step.window.after)
    since = f"{span(state.since.proven_ms)} since step {after} ({limits}): "
    label = paper.label("window")
    row = paper.line((label + since, Role.QUIET), (words, role))
    if row.width < paper.width:
        return block([row], rank=1)
    return block(paper.labelled("window", f"{since}{words}", role=role), rank=1)


def figures_block(paper: Paper, run: Run, offer: Offer) -> Block:
    """The figures that must be typed before the step."""
    rows: list[TextLine] = []
    for name in offer.figures:
        ask = run.route.figures[name].ask
        rows += paper.labelled("" if rows else "figure", ask, role=Role.STRONG)
    return block(rows)


def dark_block(paper: Paper, dark: Sequence[str]) -> Block:
    """The windows and loads that the step opens and that would close while nobody is there."""
    rows: list[TextLine] = []
    for words in dark:
        rows += paper.labelled("" if rows else "dark", words, role=Role.ACCENT)
    return block(rows, short=rows[:1], rank=1)


def put_in_blocks(paper: Paper, notes: Sequence[tuple[str, Sequence[str]]]) -> list[Block]:
    """Before a dwell: where the parts go, for how long, how much room there is."""
    rows = [row for label, said in notes for row in paper.labelled(label, "   ".join(said))]
    return [block(rows, rank=1)] if rows else []


def load_block(paper: Paper, run: Run, offer: Offer) -> Block:
    """The vessel that a load has from this step on, or has already."""
    if offer.set_up is not None:
        words = f"in this sitting already, entry {offer.set_up}; Enter says that it is still so"
        return block(paper.labelled("done", words), rank=2)
    if not offer.vessel or offer.deed is Deed.PUT_IN or not offer.ready:
        return block([])
    vessel = run.route.vessels[offer.vessel]
    holds = "" if vessel.capacity is None else f", holds {vessel.capacity}"
    words = vessel.title if offer.has_vessel else f"{vessel.title} from here on{holds}"
    return block(paper.labelled("vessel", words), rank=2)


def question_blocks(paper: Paper, run: Run, offer: Offer, parts: tuple[str, ...]) -> list[Block]:
    """The question, whom it concerns, and the answers with the cautious one first."""
    question = offer.question
    if question is None:
        return []
    step = run.route.steps[question.step]
    rows = paper.paragraph(question.says, first="   ", role=Role.STRONG)
    about = paper.paragraph(step.text, first=f" {step.number}  ", role=Role.QUIET, most=2)
    shown = [block(about), block(rows)]
    if len(run.parts) > 1:
        shown.append(block(tags(paper, parts, first=paper.label("for")), rank=1))
    return [*shown, block(option_rows(paper, answer_prompt(run, question)))]


def hold_blocks(paper: Paper, run: Run, step: Step) -> list[Block]:
    """A stop for a signature: who may sign, and what it means."""
    detail = step.detail
    if not isinstance(detail, Hold):
        return []
    rows = paper.labelled("sign", f"“{detail.says or step.text}”")
    if detail.role:
        rows += paper.labelled("signer", f"a {detail.role}")
    for place, words in enumerate(hold_terms(run, detail)):
        rows += paper.labelled("" if detail.role or place else "signer", words)
    return [
        block(rows, rank=1),
        close_block(paper, run) if step.id == run.route.release else block([]),
    ]


def closing_blocks(paper: Paper, run: Run, offer: Offer) -> list[Block]:
    """The close: what the run came to, and what is asked before the signature."""
    words = f"{offer.why[:1].upper()}{offer.why[1:]}."
    aside = any(marker.status is Status.ASIDE for marker in run.each())
    way = paper.paragraph("* 4 4 returns to work what was set aside.", first="   ")
    if offer.ready:
        scrap = all(marker.status is Status.SCRAP for marker in run.each())
        came = "Every part is scrapped" if scrap else "Everything on the route is done"
        words = f"{came}. Close the run and sign its record."
    out = listed([f"{one.number} × {one.tool}" for one in run.tools_out], most=40)
    return [
        block(paper.paragraph(words, first="   ", role=Role.STRONG)),
        block(way if aside else []),
        block(paper.labelled("tools out", out) if tools_to_count(run) else [], rank=1),
        block([]) if paper.large else close_block(paper, run),  # there it stands beside
    ]


def close_block(paper: Paper, run: Run) -> Block:
    """The lines of the close that are to be ticked before anybody signs."""
    left = lines_to_tick(run)
    rows: list[TextLine] = []
    for place, line in enumerate(left):
        before = left[place - 1].sort if place else ""
        label = CLOSE_LISTS[line.sort] if line.sort != before else ""
        rows += paper.labelled(label, line.text)
    said = f"{count(len(left), 'line')} to tick before you sign"
    return block(rows, short=paper.labelled("close", said) if rows else [], rank=2)


_MOST_SUMS = 3


def work_out_blocks(
    paper: Paper, run: Run, step: Step, parts: tuple[str, ...], at: Moment
) -> list[Block]:
    """A value to be worked out, with the numbers put in; the formula while some are missing."""
    detail = step.detail
    if not isinstance(detail, WorkOut):
        return []
    rows: list[TextLine] = []
    for whose, words in sums_of(run, step.id, parts, at)[:_MOST_SUMS]:
        text = words if not whose or len(run.parts) == 1 else f"{whose}: {words}"
        rows += paper.labelled("from", text)
    if not rows:
        rows = paper.labelled("from", detail.formula.text)
    return [block(rows, rank=1)]


def uses_block(paper: Paper, uses: Sequence[Use]) -> Block:
    """How much of each supply the step uses for the parts in hand, and of which tin."""
    rows: list[TextLine] = []
    for use, words in zip(uses, using_words(uses), strict=True):
        tin = f" from {use.name}" if use.name else ""
        rows += paper.labelled("uses", f"{words}{tin}")
        if use.misgivings:
            text = unfit_words(use.name, use.misgivings)
            rows += paper.labelled("", text, role=Role.ACCENT)
    return block(rows, rank=1)


def waits_line(paper: Paper, run: Run, offer: Offer, parts: tuple[str, ...]) -> list[TextLine]:
    """Why an offer that was walked to is not ready; nothing where these parts would fit now."""
    detail = offer.step.detail if offer.step and offer.deed is Deed.PUT_IN else None
    chosen = len(parts) < len(offer.parts) and offer.wait_ms is None
    vessel = detail.vessel if isinstance(detail, Dwell) else ""
    if chosen and vessel and over_capacity(run, vessel, parts) == 0:
        return []
    if offer.ready or not offer.why or offer.deed in (Deed.CLOSE, Deed.RESUME):
        return []
    # Beside the clock of a load the parts that wait for its place stand nowhere else.
    who = f"{part_names(parts)}: " if detail is not None else ""
    return paper.labelled("waits", f"{who}{offer.why}", role=Role.ACCENT)
