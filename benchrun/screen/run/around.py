"""What stands round the work where the window is large: the steps ahead, and who stands where."""

from collections.abc import Sequence
from typing import Final

from benchrun.dialogue.hand import View
from benchrun.part_names import part_names
from benchrun.procedure.route import Step, StepOp
from benchrun.run.offers import Offer
from benchrun.run.state import Run
from benchrun.screen.parts.rows import stands_at, state_of
from benchrun.screen.text_line import Paper, Role, TextLine

AHEAD: Final = 5
"""So many of the next steps are shown."""


def ahead_rows(paper: Paper, now: View) -> list[TextLine]:
    """The next step, or where there is room the next few, whatever the forks say."""
    steps = _steps_after(now.run, now.offer)[: AHEAD if paper.large else 1] if now.offer else []
    rows = []
    for place, step in enumerate(steps):
        lead = "then   " if not place else "       "
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


def batch_rows(paper: Paper, run: Run, most: int = 9) -> list[TextLine]:
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
