"""Whether parts may begin something now, and the refusals that say why not."""

from collections.abc import Iterable

from benchrun.moment import Moment
from benchrun.procedure.route import Step
from benchrun.run.clocks import WindowState, window
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.effects import Unfit, act_index
from benchrun.run.state import Marker, Run, Status
from benchrun.text import listed, span


def known_parts(run: Run, parts: tuple[str, ...], seen: int | None) -> Refusal | None:
    """Refuse an act on parts that do not exist, come twice, or were touched since `seen`."""
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if not parts:
        return Refusal("No part was named. Choose at least one.")
    unknown = [part for part in parts if part not in run.markers]
    if unknown:
        return Refusal(f"There is no part {unknown[0]}. The batch is {listed(run.parts, most=12)}.")
    if len(set(parts)) < len(parts):
        return Refusal("A part was named twice. Name each part once.")
    stale = [part for part in parts if seen is not None and run.touched[part] > seen]
    if stale:
        return Refusal(
            f"{listed(stale)} moved on meanwhile. Look again at what is on offer, then choose."
        )
    return None


def in_order(run: Run, parts: Iterable[str]) -> tuple[str, ...]:
    """The parts in batch order."""
    chosen = set(parts)
    return tuple(part for part in run.parts if part in chosen)


def may_begin(run: Run, marker: Marker, step: Step) -> Refusal | None:
    """Refuse a start by a part that is stopped, elsewhere, busy or waiting for an answer."""
    if run.stopped:
        return Refusal(f"The run is stopped: {run.stopped}. Resume it first.")
    part = marker.part
    if marker.status in (Status.SCRAP, Status.ASIDE):
        return Refusal(f"{part} is {_status(marker)}. Bring it back into play first.")
    if marker.place:
        return Refusal(f"{part} is away at {marker.place}. Take it back in first.")
    if marker.questions:
        return Refusal(f"{part} has an open question: {marker.questions[0].says} Answer it first.")
    try:
        act_index(run.course, marker, step.id)
    except Unfit:
        return Refusal(f"{part} {stands_words(run, marker)}, not at step {step.number}.")
    return None


def _status(marker: Marker) -> str:
    return "scrapped" if marker.status is Status.SCRAP else marker.status.value


def stands_words(run: Run, marker: Marker) -> str:
    """Say where a part is: `stands at step 9`, `is in the tub for step 14`, `is done`."""
    if marker.soak is not None:
        step = run.route.steps[marker.soak.step]
        return f"is in at step {step.number} and must come out first"
    if marker.status is Status.DONE:
        return "is done"
    op = run.route.step_at(marker.index)
    return f"stands at step {op.step.number}" if op else "stands at a fork"


def left_behind(run: Run, parts: tuple[str, ...]) -> tuple[str, ...]:
    """The parts that a step done together by `parts` would leave behind."""
    course = run.course
    line = course.order(*run.markers[parts[0]].at)
    return tuple(
        m.part
        for m in run.each()
        if m.part not in parts and m.waited and m.here and course.order(*m.at) <= line
    )


def gathered(
    run: Run, step: Step, parts: tuple[str, ...], reason: str
) -> tuple[str, ...] | Refusal:
    """For a step done together: the parts left behind, which needs a reason; none otherwise."""
    if not step.together:
        return ()
    places = {run.markers[part].at for part in parts}
    if len(places) > 1:
        return Refusal(
            "These parts are at different passes. Do this step with parts that stand together."
        )
    without = left_behind(run, parts)
    if without and not reason:
        return Refusal(
            f"This step is done together, and {listed(without)} {_is(without)} not here yet. "
            "Wait, or give a reason to go on without.",
            Want.REASON,
        )
    return without


def _is(parts: tuple[str, ...]) -> str:
    return "is" if len(parts) == 1 else "are"


def in_window(
    run: Run, step: Step, parts: tuple[str, ...], at: Moment, reason: str
) -> dict[str, WindowState] | Refusal:
    """The windows of parts that would start a step; refused when it is too soon without a reason.

    The parts whose window is late are among the result: the caller asks about them instead.
    """
    states = {}
    for part in parts:
        state = window(run, run.markers[part], step, at)
        if state is not None:
            states[part] = state
    soon = {part: state for part, state in states.items() if state.too_soon}
    if soon and not reason:
        longest = max(soon.values(), key=lambda s: s.to_least or 0)
        return Refusal(
            f"Too soon for {listed(tuple(soon))}: {span(longest.to_least or 0)} to go until the "
            "least time is proven. Wait, or give a reason.",
            Want.REASON,
        )
    late = [part for part, state in states.items() if state.late]
    if late and len(late) < len(parts):
        return Refusal(f"{listed(late)} {_is(tuple(late))} late for this step. Settle those first.")
    return states


def right_hand(step: Step, hand: Hand, reason: str) -> Refusal | None:
    """Refuse a step that is for another role, unless there is a reason."""
    if step.who and step.who not in hand.roles and not reason:
        return Refusal(f"This step is for a {step.who}. Hand over, or give a reason.", Want.REASON)
    return None
