"""Why not now: what would be different if something were begun now, or this evening."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from benchrun.moment import Moment
from benchrun.plan.evening import Evening, done_at
from benchrun.plan.list_plan import list_plan
from benchrun.plan.outlook import day_words
from benchrun.plan.reasons import reason, reason_to_wait
from benchrun.plan.workload import Gap, Schedule
from benchrun.text import count, listed

_ROUNDS: Final = 10
_NOW_MIN: Final = 5


def why_not_now(
    evening: Evening, train: str, now: Moment, zone: dt.tzinfo | None = None
) -> tuple[str, ...]:
    """Why a train is not begun now, what it rests on, and the difference that it would make.

    Args:
        evening: The plan.
        train: The train.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    workload, plan = evening.workload, evening.plan
    named = dict(evening.names)
    begin = plan.starts[train]
    closes = next((end for opens, end in workload.openings if end > workload.now), workload.now)
    tonight = begin < closes
    why = reason(workload, plan, train, named)
    if not tonight:
        why = reason_to_wait(workload, plan, train, closes)
    lines = [f"Why then: {why}.", *_rests_on(evening, train)]
    if begin - workload.now <= _NOW_MIN:
        return (*lines, "It can begin now.")
    most = _NOW_MIN if tonight else max(0, closes - workload.now)
    pinned = Gap(train, "", workload.now, 0, most, None, "begun now")
    other = list_plan(replace(workload, gaps=(*workload.gaps, pinned)), rounds=_ROUNDS)
    when = "now" if tonight else "this evening"
    if train in other.unplaced or len(other.unplaced) > len(plan.unplaced):
        return (*lines, f"Begun {when}: not possible, whatever else is moved.")
    told = list(_differences(evening, other, now, zone))
    return (*lines, f"Begun {when}: {'; '.join(told) or 'nothing else would change'}.")


def _rests_on(evening: Evening, train: str) -> Iterator[str]:
    """The times that its steps are planned with, and what those rest on."""
    run = evening.workload.by_id[train].run
    procedure = next(one.procedure for one in evening.ahead.runs if one.id == run)
    found: dict[str, list[str]] = {}
    for step in evening.work.steps[train]:
        words = evening.ahead.takes(procedure, step).words
        found.setdefault(words, []).append(str(step.number))
    for words, numbers in found.items():
        yield f"{'Step' if len(numbers) == 1 else 'Steps'} {listed(numbers, most=20)}: {words}."


def _differences(
    evening: Evening, other: Schedule, now: Moment, zone: dt.tzinfo | None
) -> Iterator[str]:
    workload, plan = evening.workload, evening.plan
    more = [gap for name, gap in other.late.items() if name not in plan.late]
    fewer = [gap for name, gap in plan.late.items() if name not in other.late]
    if more:
        ways = dict.fromkeys(gap.late.words.removesuffix(".") for gap in more if gap.late)
        extra = sum(gap.late.minutes for gap in more if gap.late)
        minutes = f", {extra} min more" if extra else ""
        yield f"{count(len(more), 'window')} more would be missed ({', '.join(ways)}{minutes})"
    if fewer:
        yield f"{count(len(fewer), 'window')} fewer would be missed"
    was, would = (done_at(evening.work, workload, one) for one in (plan, other))
    moved: dict[tuple[str, str], list[str]] = {}
    for part, end in would.items():
        days = day_words(was.get(part, end), now, zone), day_words(end, now, zone)
        if days[0] != days[1]:
            moved.setdefault(days, []).append(part)
    for (old, new), parts in moved.items():
        who = parts[0] if len(parts) == 1 else count(len(parts), "part")
        yield f"{who} done {new} instead of {old}"
