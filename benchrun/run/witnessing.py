"""Deciding witness points: somebody is told; then who came, that nobody comes, or nobody came."""

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Step, Witness
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.acts import may_start
from benchrun.run.advance import onward
from benchrun.run.clocks import notice_spent
from benchrun.run.commands import Hand, Refusal
from benchrun.run.drafts import marker_draft
from benchrun.run.dwelling import times_of
from benchrun.run.entry_builder import TOO_SOON, Start, window_outcome
from benchrun.run.start_checks import in_order, known_parts, not_begun
from benchrun.run.state import Run, Soak, altered
from benchrun.text import shown, span

WAITED_FOR = "a witness is waited for. Enter who came, or that nobody did."
BY_WALL = "the notice ran out by a wall clock that may be out of step"


def decide_tell(run: Run, command: c.Tell, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Decide that somebody is told of a step to come; their notice runs from then on."""
    step = run.route.steps.get(command.step)
    if step is None or not isinstance(step.detail, Witness):
        return Refusal(
            f"The procedure has no witness point {shown(command.step, 40)}. Choose one on offer."
        )
    reason = command.reason.strip()
    start = may_start(
        run, step, command.parts, command.seen, at, hand, reason, vessel=command.vessel
    )
    if not isinstance(start, Start):
        return start
    refused = not_begun(run, step, start.parts)
    if refused:
        return refused
    each = {
        part: times_of(run, step.detail, (), window_outcome(start.windows.get(part)))
        for part in start.parts
    }
    soon = any(state.too_soon for state in start.windows.values())
    flags = (*start.flags, *((TOO_SOON,) if soon else ()))
    return e.Told(step.id, start.parts, each, start.vessel, reason, start.without, flags)


def decide_witness(run: Run, command: c.EndNotice, at: Moment) -> e.Data | Refusal:
    """Decide how a witness point ended."""
    parts = in_order(run, command.parts)
    step = _waited_at(run, parts, command.seen)
    if isinstance(step, Refusal):
        return step
    name, behalf = command.name.strip(), command.behalf.strip()
    if command.end is e.NoticeEnd.CAME and not name:
        return Refusal("Who came? Type the name.")
    if command.end is e.NoticeEnd.NOT_COMING and not name:
        return Refusal("Who sent word that nobody comes? Type the name.")
    flags: tuple[str, ...] = ()
    soaks = {part: soak for part in parts if (soak := run.markers[part].soak) is not None}
    if command.end is e.NoticeEnd.RAN_OUT:
        name = behalf = ""
        left = max(notice_left(run, soak, at) for soak in soaks.values())
        if left > 0:
            return Refusal(
                f"The notice runs {span(left)} more. Wait, or enter who came, or who sent word "
                "that nobody comes."
            )
        exact = all(_left(soak, _proven(run, soak, at)) <= 0 for soak in soaks.values())
        flags = () if exact else (BY_WALL,)
    each = {part: _waited(run, soak, at) for part, soak in soaks.items()}
    draft = e.Witnessed(step.id, parts, command.end, name, behalf, each, flags)
    entry = e.Entry(run.n, at, "", draft)
    return altered(draft, each={part: _on(run, part, entry, own) for part, own in each.items()})


def notice_left(run: Run, soak: Soak, at: Moment) -> int:
    """How long a notice still runs, in milliseconds; 0 or less where it has run out."""
    return _left(soak, notice_spent(run, soak, at).proven_ms)


def waits_for_witness(run: Run, part: str) -> bool:
    """Whether somebody was told for a part and is waited for."""
    soak = run.markers[part].soak
    return soak is not None and isinstance(run.route.steps[soak.step].detail, Witness)


def _left(soak: Soak, since: int) -> int:
    return (soak.least or 0) - since


def _proven(run: Run, soak: Soak, at: Moment) -> int:
    return run.timeline.elapsed(soak.mark, at).proven_ms


def _waited_at(run: Run, parts: tuple[str, ...], seen: int) -> Step | Refusal:
    refused = known_parts(run, parts, seen)
    if refused:
        return refused
    for part in parts:
        if not waits_for_witness(run, part):
            return Refusal(f"{part} waits for no witness. Choose a part that does.")
    steps = {soak.step for part in parts if (soak := run.markers[part].soak) is not None}
    if len(steps) > 1:
        return Refusal(f"{part_names(parts)} wait at different steps. Take one step at a time.")
    return run.route.steps[steps.pop()]


def _waited(run: Run, soak: Soak, at: Moment) -> e.Outcome:
    spent = notice_spent(run, soak, at)
    return e.Outcome(least=soak.least, proven=spent.proven_ms, possible=spent.possible_ms)


def _on(run: Run, part: str, entry: e.Entry, outcome: e.Outcome) -> e.Outcome:
    old = run.markers[part]
    after = marker_draft(old)
    f.close_notice(run, after, entry, outcome)
    on = onward(run, after, old.index + 1, entry.at)
    return altered(outcome, falls=on.falls, asks=on.asks)
