"""Sittings: how long one goes on, and what readied the place in it."""

from typing import Final

from benchrun.moment import Moment
from benchrun.procedure.route import Step
from benchrun.run import entries as e
from benchrun.run.state import Run, altered

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


def with_set_ups(run: Run, entry: e.Entry) -> Run:
    """The run with what readied the place in its sitting, once an entry is folded."""
    data = entry.data
    if isinstance(data, e.Retracted):
        left = {step: n for step, n in run.set_ups.items() if n != data.of}
        return altered(run, set_ups=left)
    if not isinstance(data, _DEEDS):
        return run
    known = {} if is_over(run, entry.at) else dict(run.set_ups)
    if isinstance(data, e.Did) and data.step in run.course.set_ups and data.set_up is None:
        known[data.step] = entry.n
    return altered(run, set_ups=known, worked=run.timeline.mark(entry.at))
