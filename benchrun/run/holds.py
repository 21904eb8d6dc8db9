"""Holds: who may sign one, who did the work too lately for it, and what it yields to otherwise."""

import datetime as dt
from typing import Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Hold, Step, StepOp
from benchrun.run import entries as e
from benchrun.run.close_lines import not_ticked
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.entry_builder import Making, Start, draft_of, finish
from benchrun.run.state import HOLDS_SINCE, Run, altered
from benchrun.text import span

ALONE: Final = "works_alone"
"""The name, in the first line, of the UTC offset of a shop in which one person works alone."""

_HOUR_MS: Final = 3_600_000
_REST_MS: Final = 6 * _HOUR_MS
"""The least time between the work and a check of the next day; common practice, no source."""
_DAY_MS: Final = 24 * _HOUR_MS
_OWN: Final = "checked by who did the work"


def decide_hold(making: Making, step: Step, detail: Hold, start: Start) -> e.Did | Refusal:
    """Decide the signature at a hold, or the waiver of it; it counts once it is signed."""
    run, hand, command = making.run, making.hand, making.command
    if detail.role and detail.role not in hand.roles:
        return Refusal(f"This is signed by a {detail.role}. Hand over to one.")
    open_line = not_ticked(run) if step.id == run.route.release else None
    if open_line is not None:
        return open_line
    own: tuple[str, ...] | Refusal
    if command.waives:
        if not detail.waivable:
            return Refusal(f"Step {step.number} may not be waived. {_waits(run, detail)}")
        if not command.reason.strip():
            return Refusal("A waiver needs a reason.", Want.REASON)
        says, own = waiver_words(step), ("waived",)
    else:
        says, own = detail.says or step.text, _by_own_hand(making, detail, start.parts)
    if isinstance(own, Refusal):
        return own
    draft = draft_of(making, step, start)
    signed = altered(
        draft,
        says=f"{hand.name or hand.id}: {says}",
        flags=(*draft.flags, *own),
        remarks=command.remarks,
        waived=command.waives,
    )
    return finish(making, start, signed)


def is_allowed(flag: str) -> bool:
    """Whether what a reader must know of an act is within what the procedure and the shop allow."""
    return flag.startswith(f"{_OWN}, ")


def waiver_words(step: Step) -> str:
    """The words that a waiver of a hold is signed with, behind the full name."""
    return f"I waive step {step.number}, {step.text.removesuffix('.')}. It was not met."


def not_left_out(run: Run, step: Step) -> Refusal | None:
    """Refuse to leave a hold out: it yields to its signature, or to a signed waiver."""
    detail = step.detail
    if not isinstance(detail, Hold) or run.format < HOLDS_SINCE:
        return None
    return Refusal(f"Step {step.number} is a hold: it is never skipped. {_waits(run, detail)}")


def past_a_hold(run: Run, step: str) -> Refusal | None:
    """Refuse a part that would join behind a hold, which it has not met."""
    if run.format < HOLDS_SINCE:
        return None
    for op in run.route.ops[: run.route.index[step]]:
        if isinstance(op, StepOp) and isinstance(op.step.detail, Hold):
            return Refusal(
                f"Who joins there has not met the hold at step {op.step.number}. Let it "
                "join before that, or there."
            )
    return None


def hold_from(run: Run, detail: Hold, part: str, at: Moment, hand: Hand) -> int | None:
    """How long until a person may sign a hold for a part that they worked on.

    A machine that was off over night proves little: then the clock on the wall tells.

    Args:
        run: The run.
        detail: The hold.
        part: The part.
        at: Now.
        hand: Who would sign.

    Returns:
        Milliseconds, 0 where they may now; None where only another person may.
    """
    done = run.markers[part].doers.get(hand.id)
    if done is None or not (detail.other or detail.after_hours is not None):
        return 0
    since = run.timeline.elapsed(done, at).proven_ms
    if run.format >= HOLDS_SINCE:
        since = max(since, at.utc_ms - done.utc_ms)
    return _left(run, detail, since, at)


def _left(run: Run, detail: Hold, since: int, at: Moment) -> int | None:
    """How long until the same person may sign; None where only another person may.

    Args:
        run: The run.
        detail: The hold.
        since: How long ago the work was, in milliseconds.
        at: Now.
    """
    if detail.after_hours is not None:
        return max(0, detail.after_hours * _HOUR_MS - since)
    offset = works_alone(run)
    if offset is None:
        return None
    midnight = _DAY_MS - (at.utc_ms - since + offset) % _DAY_MS  # from the work to the next day
    return max(0, max(midnight, _REST_MS) - since)


def _by_wall(run: Run, detail: Hold, parts: tuple[str, ...], at: Moment, hand: Hand) -> str:
    """The words where the wall clock alone says that it is long enough since the work."""
    for part in parts:
        done = run.markers[part].doers.get(hand.id)
        elapsed = run.timeline.elapsed(done, at) if done is not None else None
        if elapsed and _left(run, detail, max(elapsed.proven_ms, elapsed.possible_ms or 0), at):
            return ", by a wall clock that may be out of step"
    return ""


def hold_terms(run: Run, detail: Hold) -> tuple[str, ...]:
    """Who may not sign a hold, from when on the same person may, and whether it may be waived."""
    terms = []
    if detail.other or detail.after_hours is not None:
        terms.append("anyone but the person who did the work")
    if detail.after_hours is not None:
        terms[-1] += f", or they {detail.after_hours} h later"
    elif terms and works_alone(run) is not None:
        terms[-1] += ", or they on the next day, with rested eyes: one person works alone here"
    if detail.waivable:
        terms.append("may be waived by whoever may sign it, with a reason: *")
    return tuple(terms)


def works_alone(run: Run) -> int | None:
    """The UTC offset of a shop in which one person works alone, in ms; None for other shops."""
    stated = run.about.get(ALONE)
    if not isinstance(stated, str) or run.format < HOLDS_SINCE:
        return None
    try:
        offset = dt.datetime.strptime(stated, "%z").utcoffset()
    except ValueError:
        return None
    return None if offset is None else int(offset.total_seconds()) * 1000


def _by_own_hand(making: Making, detail: Hold, parts: tuple[str, ...]) -> tuple[str, ...] | Refusal:
    """The flag where whoever signs did the work, or the refusal where that was too lately."""
    run, hand = making.run, making.hand
    waits = {part: hold_from(run, detail, part, making.at, hand) for part in parts}
    own = tuple(part for part, wait in waits.items() if wait != 0)
    if run.format < HOLDS_SINCE:
        if own and not making.command.reason.strip():
            return _too_near(making, detail, own, "Give a reason, or let another person sign.")
        return (_OWN,) if own else ()
    if own:
        longest = [waits[part] or 0 for part in own]
        none_may = any(waits[part] is None for part in own)
        later = "" if none_may else f", or wait {span(max(longest))} more"
        waived = ", or waive it" if detail.waivable else ""
        return _too_near(making, detail, own, f"Let another person sign{later}{waived}.")
    checked = any(hand.id in run.markers[part].doers for part in parts)
    if not checked or not (detail.other or detail.after_hours is not None):
        return ()
    wall = _by_wall(run, detail, parts, making.at, hand)
    if detail.after_hours is not None:
        return (f"{_OWN}, {detail.after_hours} h later{wall}",)
    return (f"{_OWN}, alone in the shop, on the next day{wall}",)


def _too_near(making: Making, detail: Hold, own: tuple[str, ...], cure: str) -> Refusal:
    said = f"{making.hand.name or making.hand.id} did the work on {part_names(own)}. {cure}"
    old = making.run.format < HOLDS_SINCE
    return Refusal(said, Want.REASON if old else Want.OTHER)


def _waits(run: Run, detail: Hold) -> str:
    who = f"a {detail.role}" if detail.role else "somebody"
    whose = "signs it" if not detail.waivable else "signs it or signs a waiver"
    return f"The parts wait until {who} {whose}."
