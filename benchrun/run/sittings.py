"""Sittings: how long one goes on, and what readied the place in it."""

from typing import Final

from benchrun.moment import Moment
from benchrun.procedure.route import Step
from benchrun.run import entries as e
from benchrun.run.drafts import RunDraft
from benchrun.run.state import Run

PAUSE_MS: Final = 4 * 3_600_000
"""A sitting is over when nobody has done anything for longer; common practice, no source."""

_DEEDS: Final = (
    *(e.Begun, e.Did, e.WentIn, e.CameOut, e.Told, e.Witnessed, e.Tended, e.Skipped),
    *(e.Answered, e.Moved),
)


def is_over(run: Run, at: Moment) -> bool:
    """Whether so long has passed since the last deed that a new sitting begins, or may have."""
    if run.worked is None:
        return True
    pause = run.timeline.elapsed(run.worked, at).possible_ms
    return pause is None or pause > PAUSE_MS


def set_up_by(run: Run, step: Step | None, at: Moment) -> int | None:
    """The entry by which a step readied the place in this sitting already; None for no such."""
    if step is None or not step.set_up or is_over(run, at):
        return None
    return run.set_ups.get(step.id)


def note_set_up(draft: RunDraft, entry: e.Entry) -> None:
    """Keep what readied the place in this sitting, once an entry is folded."""
    data = entry.data
    if isinstance(data, e.Retracted):
        draft.set_ups = {step: n for step, n in draft.set_ups.items() if n != data.of}
    elif isinstance(data, _DEEDS):
        known = {} if is_over(draft, entry.at) else dict(draft.set_ups)
        if isinstance(data, e.Did) and data.step in draft.course.set_ups and data.set_up is None:
            known[data.step] = entry.n
        draft.set_ups = known
        draft.worked = draft.timeline.mark(entry.at)
