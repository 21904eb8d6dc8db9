"""Deciding acts at a step: do, reading, inspect, work out, hold, and leaving a step out."""

from typing import Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Hold, Inspect, Kind, PlainDo, Reading, Step, WorkOut
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.advance import onward
from benchrun.run.clocks import WindowState
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.drafts import marker_draft
from benchrun.run.entry_builder import (
    TOO_SOON,
    Making,
    Start,
    draft_of,
    finish,
    window_outcome,
)
from benchrun.run.holds import decide_hold, not_left_out
from benchrun.run.measurement import decide_inspect, decide_reading, decide_work_out
from benchrun.run.questions import window_question
from benchrun.run.run_figures import missing_figures
from benchrun.run.sittings import set_up_by
from benchrun.run.start_checks import (
    gathered,
    has_begun,
    in_order,
    in_window,
    known_parts,
    load_vessel,
    may_begin,
    no_step,
    not_begun,
    right_hand,
    stands_ready,
    windows_of,
)
from benchrun.run.state import CARRIED_SINCE, Run, Status, Use, altered
from benchrun.run.supply_use import used
from benchrun.run.tool_counts import not_counted_back

_RESULTS: Final = frozenset({Status.DONE.value, Status.SCRAP.value})


def decide_do(run: Run, command: c.Do, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Decide a do, reading, inspect, work out or hold."""
    step = run.route.steps.get(command.step)
    if step is None:
        return no_step(command.step)
    begun = may_start(
        run, step, command.parts, command.seen, at, hand, command.reason, vessel=command.vessel
    )
    if not isinstance(begun, Start):
        return begun
    refused = not_begun(run, step, begun.parts)
    refused = refused or _carried_out(run, step, command)
    refused = refused or not_counted_back(run, step, command)
    if refused:
        return refused
    done = set_up_by(run, step, at) is not None  # what was used for it was used then
    uses = () if done else used(run, step, begun.parts, command.uses)
    if isinstance(uses, Refusal):
        return uses
    making = Making(run, at, hand, _completed(command, begun.parts, uses))
    match step.detail:
        case PlainDo():
            return finish(making, begun, draft_of(making, step, begun))
        case Hold():
            return decide_hold(making, step, step.detail, begun)
        case Reading():
            return decide_reading(making, step, step.detail, begun)
        case Inspect():
            return decide_inspect(making, step, step.detail, begun)
        case WorkOut():
            return decide_work_out(making, step, step.detail, begun)
    told = step.kind is Kind.WITNESS
    sort = "a witness point. Tell them" if told else "a dwell. Put the parts in"
    return Refusal(f"Step {step.number} is {sort} instead.")


def _completed(command: c.Do, parts: tuple[str, ...], uses: tuple[Use, ...]) -> c.Do:
    """The command with its parts in order and what the act uses; itself where these are so."""
    if command.parts == parts and command.uses == uses:
        return command
    return altered(command, parts=parts, uses=uses)


def may_start(
    run: Run,
    step: Step,
    parts: tuple[str, ...],
    seen: int,
    at: Moment,
    hand: Hand,
    reason: str,
    begun_ago: int = 0,
    vessel: str = "",
) -> Start | e.Asked | Refusal:
    """Check the start of a step by parts; a closed window becomes a question instead.

    One reason is for all that stands against it, so what a person has to know is said together.
    """
    start = _start(run, step, parts, seen, at, reason, begun_ago, vessel)
    wrong_hand = right_hand(step, hand, reason)
    if wrong_hand is None or isinstance(start, e.Asked):
        return start
    if isinstance(start, Start):
        return wrong_hand
    asks = start.want is Want.REASON
    return Refusal(f"{wrong_hand.text} {start.text}", Want.REASON) if asks else start


def _start(
    run: Run,
    step: Step,
    parts: tuple[str, ...],
    seen: int,
    at: Moment,
    reason: str,
    begun_ago: int,
    vessel: str,
) -> Start | e.Asked | Refusal:
    refused = known_parts(run, parts, seen)
    if refused:
        return refused
    parts = in_order(run, parts)
    for part in parts:
        refused = may_begin(run, run.markers[part], step)
        if refused:
            return refused
    refused = _lacks_figure(run, step, parts[0])
    if refused:
        return refused
    place = load_vessel(run, step, parts, vessel, reason)
    if isinstance(place, Refusal):
        return place
    without = gathered(run, step, parts, reason)
    if isinstance(without, Refusal):
        return without
    windows = in_window(run, step, parts, at, reason, begun_ago)
    if isinstance(windows, Refusal):
        return windows
    late = [part for part, state in windows.items() if state.late]
    if late:
        return _ask_late(run, step, windows_of(run, step, tuple(late), at))
    return Start(parts, without, windows, *place)


def _lacks_figure(run: Run, step: Step, part: str) -> Refusal | None:
    if not run.course.figures_at:
        return None
    missing = missing_figures(run, f.act_index(run.course, run.markers[part], step.id))
    if not missing:
        return None
    return Refusal(f"{missing[0].ask} Step {step.number} needs it. Type it first.", Want.FIGURE)


def _ask_late(run: Run, step: Step, late: dict[str, WindowState]) -> e.Asked:
    each = {}
    for part, state in late.items():
        marker = run.markers[part]
        asks = window_question(run, marker, step, state, index=marker.index)
        each[part] = e.Outcome(
            asks=(asks,),
            verdict=state.ruling,
            proven=state.since_most.proven_ms,
            possible=state.since_most.possible_ms,
        )
    return e.Asked(step.id, tuple(late), each)


def _carried_out(run: Run, step: Step, command: c.Do) -> Refusal | None:
    """Refuse another procedure carried out without the run of it, or by a run that does not do."""
    carried = command.carried
    if not step.carries_out or run.format < CARRIED_SINCE:
        return None
    name = f"{step.carries_out}, revision {step.carries_revision}"
    if carried is None:
        if command.reason.strip():
            return None
        return Refusal(
            f"Which run carried out {name}? Name it, or give a reason to go on without.",
            Want.REASON,
        )
    if (carried.procedure, carried.revision) != (step.carries_out, step.carries_revision):
        return Refusal(
            f"{carried.run} followed {carried.procedure}, revision {carried.revision}; this step "
            f"needs {name}. Name a run of that."
        )
    missing = tuple(part for part in command.parts if part not in carried.parts)
    if missing:
        return Refusal(f"{part_names(missing)}: not in {carried.run}. Choose the parts it holds.")
    undone = tuple(part for part in command.parts if carried.parts[part].result not in _RESULTS)
    if undone and not command.reason.strip():
        return Refusal(
            f"{part_names(undone)}: not done in {carried.run}. Finish it there, or give a reason.",
            Want.REASON,
        )
    return None


def decide_begin(run: Run, command: c.Begin, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Decide the start of a step that cannot be undone, which comes before the act."""
    step = run.route.steps.get(command.step)
    if step is None:
        return no_step(command.step)
    if not step.critical:
        return Refusal(f"Step {step.number} needs no start. Do it, and enter it as done.")
    parts, seen, reason = command.parts, command.seen, command.reason
    start = may_start(run, step, parts, seen, at, hand, reason, vessel=command.vessel)
    if not isinstance(start, Start):
        return start
    if all(has_begun(run, run.markers[part], step) for part in start.parts):
        return Refusal(f"{part_names(start.parts)}: begun already. Do it, and enter it as done.")
    soon = any(state.too_soon for state in start.windows.values())
    each = {part: window_outcome(state) for part, state in start.windows.items()}
    return e.Begun(step.id, start.parts, reason.strip(), each, (TOO_SOON,) if soon else ())


def decide_late(run: Run, command: c.FindLate, at: Moment) -> e.Data | Refusal:
    """Decide the question about parts whose window before a step has closed."""
    step = run.route.steps.get(command.step)
    if step is None:
        return no_step(command.step)
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    parts = in_order(run, command.parts)
    for part in parts:
        refused = stands_ready(run, run.markers[part], step)
        if refused:
            return refused
    late = {p: state for p, state in windows_of(run, step, parts, at).items() if state.late}
    still = tuple(part for part in parts if part not in late)
    if still:
        return Refusal(f"{part_names(still)}: no window has closed there. Go on with the step.")
    return _ask_late(run, step, late)


def decide_skip(run: Run, command: c.Skip, at: Moment) -> e.Data | Refusal:
    """Decide to leave out the step at which parts stand."""
    step = run.route.steps.get(command.step)
    if step is None:
        return no_step(command.step)
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    parts = in_order(run, command.parts)
    for part in parts:
        marker = run.markers[part]
        refused = may_begin(run, marker, step)
        if refused:
            return refused
        if marker.soak is not None:
            return Refusal(f"{part} is still in. Take it out, then skip this step.")
    refused = not_left_out(run, step)
    if refused:
        return refused
    if not command.reason.strip():
        return Refusal("Skipping a step needs a reason.", Want.REASON)
    each = {}
    for part in parts:
        after = marker_draft(run.markers[part])
        f.skip_step(run.course, after, step.id)
        on = onward(run, after, run.course.ops_of(step.id)[-1] + 1, at)
        if on.falls or on.asks:
            each[part] = e.Outcome(falls=on.falls, asks=on.asks)
    return e.Skipped(step.id, parts, command.reason.strip(), each)
