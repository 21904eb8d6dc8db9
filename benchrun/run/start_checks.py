"""Whether parts may begin something now, and the refusals that say why not."""

from collections.abc import Sequence

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Step, Witness
from benchrun.run.clocks import WindowState, window
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.effects import Unfit, act_index, begin_key, held
from benchrun.run.part_values import mates
from benchrun.run.state import HOLDS_SINCE, Marker, Run, Status
from benchrun.run.vessels import VESSEL_TAKEN, empty_vessels, taken_words, vessels_open
from benchrun.text import listed, shown, span


def known_parts(run: Run, parts: tuple[str, ...], seen: int | None) -> Refusal | None:
    """Refuse an act on parts that do not exist, come twice, or were touched since `seen`."""
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if not parts:
        return Refusal("No part was named. Choose at least one.")
    stale = []
    for part in parts:
        marker = run.markers.get(part)
        if marker is None:
            return no_part(run, part)
        if seen is not None and marker.touched > seen:
            stale.append(part)
    if len(parts) > 1 and len(set(parts)) < len(parts):
        return Refusal("A part was named twice. Name each part once.")
    if stale:
        return Refusal(
            f"{listed(stale)} moved on meanwhile. Look again at what is on offer, then choose."
        )
    return None


def no_part(run: Run, part: str) -> Refusal:
    """Refuse a part that is not of the batch."""
    return Refusal(
        f"There is no part {shown(part, 40)}. The batch is {part_names(tuple(run.parts))}."
    )


def no_step(step: str) -> Refusal:
    """Refuse a step that the procedure does not have."""
    return Refusal(f"The procedure has no step {shown(step, 40)}. Choose one that is on offer.")


def in_order(run: Run, parts: Sequence[str]) -> tuple[str, ...]:
    """The parts in batch order."""
    if len(parts) == 1 and parts[0] in run.markers:
        return (parts[0],)
    chosen = set(parts)
    return tuple([part for part in run.parts if part in chosen])


def may_begin(run: Run, marker: Marker, step: Step) -> Refusal | None:
    """Refuse a start by a part that is stopped, elsewhere, busy or waiting for an answer."""
    if run.stopped:
        return Refusal(f"The run is stopped: {run.stopped}. Resume it first.")
    return stands_ready(run, marker, step)


def stands_ready(run: Run, marker: Marker, step: Step) -> Refusal | None:
    """Refuse a part that does not stand ready at a step, whether or not the run is stopped."""
    part = marker.part
    if marker.status in (Status.SCRAP, Status.ASIDE):
        return Refusal(f"{part} is {_status(marker)}. Return it to work first.")
    if marker.place:
        return Refusal(f"{part} is away at {marker.place}. Receive it first.")
    if marker.questions:
        return Refusal(f"{part} has an open question: {marker.questions[0].says} Answer it first.")
    try:
        act_index(run.course, marker, step.id)
    except Unfit:
        if marker.soak is not None and not _told(run, marker):
            return Refusal(f"{part} {stands_words(run, marker)}.")
        first = _first(run, marker)
        return Refusal(f"{part} {stands_words(run, marker)}, not at step {step.number}. {first}")
    return None


def _status(marker: Marker) -> str:
    return "scrapped" if marker.status is Status.SCRAP else marker.status.value


def _first(run: Run, marker: Marker) -> str:
    if _told(run, marker):
        return "Enter who came, or that nobody did."
    if marker.status is Status.DONE:
        return "To do a step again, put it back to that step."
    return "Take its steps in turn: do that one, or skip it with a reason."


def _told(run: Run, marker: Marker) -> bool:
    """Whether somebody was told for a part and is waited for."""
    soak = marker.soak
    return soak is not None and isinstance(run.route.steps[soak.step].detail, Witness)


def stands_words(run: Run, marker: Marker) -> str:
    """Say where a part is: `stands at step 9`, `is in the tub for step 14`, `is done`."""
    if marker.soak is not None:
        step = run.route.steps[marker.soak.step]
        if _told(run, marker):
            return f"waits for a witness at step {step.number}"
        return f"is in at step {step.number} and must come out first"
    if marker.status is Status.DONE:
        return "is done"
    op = run.route.step_at(marker.index)
    return f"is at step {op.step.number}" if op else "is at a fork"


def left_behind(run: Run, step: Step, parts: tuple[str, ...]) -> tuple[str, ...]:
    """The parts that a step done together by `parts` would leave behind.

    They are the waited parts in play or away that stand before the step and have not done it ahead,
    and those that stand at it and have not begun it; at a step of a load, those of that load, and
    none where it makes the load. `parts` can all do the step.
    """
    course, first = run.course, run.markers[parts[0]]
    index = act_index(course, first, step.id)
    line = course.order(index, first.passes[: len(run.route.within[index])])
    named = frozenset(parts)
    pair = first.pair
    return tuple(
        m.part
        for m in run.each()
        if m.waited
        and m.here
        and m.part not in named
        and _is_behind(run, m, index, line)
        and (not step.load or (m.load is not None and m.load == first.load))
        and (not step.pair or m.pair == pair)
    )


def _is_behind(run: Run, marker: Marker, index: int, line: tuple[int, ...]) -> bool:
    place = run.course.order(*marker.at)
    if place < line:
        return index not in marker.ahead
    return place == line and marker.soak is None and not held(marker.questions, index)


def load_vessel(
    run: Run, step: Step, parts: tuple[str, ...], vessel: str, reason: str
) -> tuple[str, tuple[str, ...]] | Refusal:
    """The vessel that a load takes which a step would make, and what must be known of that.

    Returns:
        Empty where it makes none; a refusal where parts are of different loads or find no room.
    """
    if not step.load:
        return "", ()
    loads = {run.markers[part].load for part in parts}
    if len(loads) == 1 and None not in loads:
        return "", ()
    if len(loads) > 1:
        return Refusal("These parts are of different loads. Take one load at a time.")
    block = run.route.loads[step.load]
    if vessel and vessel not in block.vessels:
        return Refusal(
            f"{shown(vessel, 40)} is no vessel of this load. It is {_either(run, step)}."
        )
    open_to = vessels_open(run, step, parts)
    if vessel in open_to or (open_to and not vessel):
        return vessel or open_to[0], ()
    wanted = (vessel,) if vessel else block.vessels
    if not reason.strip():
        return Refusal(
            f"There is no room for this load: {taken_words(run, wanted)}. Make a smaller load, "
            "wait, or give a reason.",
            Want.REASON,
        )
    empty = [name for name in empty_vessels(run, step) if name in wanted]
    return (empty or wanted)[0], ("over capacity",) if empty else (VESSEL_TAKEN,)


def _either(run: Run, step: Step) -> str:
    return " or ".join(
        f"the {run.route.vessels[name].title}" for name in run.route.loads[step.load].vessels
    )


def gathered(
    run: Run, step: Step, parts: tuple[str, ...], reason: str
) -> tuple[str, ...] | Refusal:
    """For a step done together: the parts left behind, which needs a reason; none otherwise."""
    if not step.shared:
        return ()
    places = set()
    for part in parts:
        index = act_index(run.course, run.markers[part], step.id)
        passes = run.markers[part].passes[: len(run.route.within[index])]
        places.add((index, passes if step.gathers else ()))
    if step.pair:
        refused = _one_pair(run, step, parts)
        if refused:
            return refused
    if len(places) > 1:
        return Refusal(
            "These parts are at different passes or places. Choose parts that are at the same one."
        )
    without = left_behind(run, step, parts) if step.gathers else ()
    if without and not reason.strip():
        how = "together" if step.together else "by the whole load"
        return Refusal(
            f"This step is done {how}, and {listed(without)} {_is(without)} not here yet. "
            "Wait, or give a reason to go on without.",
            Want.REASON,
        )
    return without


def _one_pair(run: Run, step: Step, parts: tuple[str, ...]) -> Refusal | None:
    """Refuse a step of pairs for parts of several pairs, or for a part that has no mate."""
    tied = mates(run, parts[0])
    if any(part not in tied for part in parts[1:]):
        return Refusal("These parts are of several pairs. Do this step one pair at a time.")
    if len(tied) < len(run.route.pair):
        return Refusal(
            f"{part_names(parts)} has no mate in this batch. Skip step {step.number} with a "
            "reason, or let the mate join."
        )
    return None


def _is(parts: tuple[str, ...]) -> str:
    return "is" if len(parts) == 1 else "are"


def windows_of(
    run: Run, step: Step, parts: tuple[str, ...], at: Moment, begun_ago: int = 0
) -> dict[str, WindowState]:
    """The windows that run before a step, for each of the parts that has one."""
    if step.window is None:
        return {}
    windows = ((part, window(run, run.markers[part], step, at, begun_ago)) for part in parts)
    return {part: state for part, state in windows if state is not None}


def in_window(
    run: Run, step: Step, parts: tuple[str, ...], at: Moment, reason: str, begun_ago: int = 0
) -> dict[str, WindowState] | Refusal:
    """The windows of parts that would start a step; refused when it is too soon without a reason.

    The parts whose window is late are among the result: the caller asks about them instead.
    """
    states = windows_of(run, step, parts, at, begun_ago)
    if not states:
        return states
    for part, state in states.items():
        if state.unknown:
            return Refusal(
                f"{part}: the window of this step is not known: {state.unknown}. "
                "Correct the reading, or skip this step with a reason."
            )
    soon = {part: state for part, state in states.items() if state.too_soon}
    if soon and not reason.strip():
        longest = max(soon.values(), key=lambda s: s.to_least or 0)
        return Refusal(
            f"Too early for {listed(tuple(soon))}: {span(longest.to_least or 0)} to go until the "
            "least time is proven. Wait, or give a reason.",
            Want.REASON,
        )
    late = [part for part, state in states.items() if state.late]
    if late and len(late) < len(parts):
        return Refusal(f"{listed(late)} {_is(tuple(late))} late for this step. Answer those first.")
    return states


def has_begun(run: Run, marker: Marker, step: Step) -> bool:
    """Whether a part may do a step at once: its start was entered, or it needs none."""
    if not step.critical or run.format < HOLDS_SINCE:
        return True
    return marker.begun is not None and marker.begun == begin_key(run, marker, step.id)


def not_begun(run: Run, step: Step, parts: tuple[str, ...]) -> Refusal | None:
    """Refuse a step that cannot be undone whose start was not entered; the parts stand at it."""
    if not step.critical:
        return None
    lacking = tuple(part for part in parts if not has_begun(run, run.markers[part], step))
    if not lacking:
        return None
    return Refusal(
        f"Step {step.number} cannot be undone. Read its cautions and enter its start first: "
        f"{part_names(lacking)}."
    )


def right_hand(step: Step, hand: Hand, reason: str) -> Refusal | None:
    """Refuse a step that is for another role, unless there is a reason."""
    if step.who and step.who not in hand.roles and not reason.strip():
        return Refusal(f"This step is for a {step.who}. Hand over, or give a reason.", Want.REASON)
    return None
