"""The time after the evening, in words: days and ranges, what is proven, what has moved."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Final

from benchrun.moment import Moment
from benchrun.part_names import brief
from benchrun.plan.evening import Evening, done_at
from benchrun.plan.step_minutes import MINUTE_MS
from benchrun.plan.workload import Schedule
from benchrun.text import count, slug
from benchrun.wording import clock_time

MOVED_MIN: Final = 5
"""A move of fewer minutes is not told one by one."""


def done_lines(evening: Evening, now: Moment, zone: dt.tzinfo | None = None) -> Iterator[str]:
    """When parts are done, those of one day together, each with its range.

    Args:
        evening: The plan.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    ends = done_at(evening.work, evening.workload, evening.plan)
    tags = {slug(part): part for parts in evening.work.parts.values() for part in parts}
    together: dict[tuple[str, str], list[str]] = {}
    for part, end in sorted(ends.items(), key=lambda item: item[1]):
        words = day_words(end, now, zone), _range(evening, part, end, now, zone)
        together.setdefault(words, []).append(tags[part])
    for (day, spread), parts in together.items():
        yield f"  {day:<10} {brief(tuple(parts), 40)}{spread}"
    lost = [tag for part, tag in tags.items() if part not in ends]
    if lost:
        yield f"  not known  {brief(tuple(lost), 40)}"
        yield from (f"    {words}" for words in no_place(evening))


def no_place(evening: Evening) -> list[str]:
    """The reasons for which work has no place, each once, without what only waits for another."""
    found: dict[str, list[str]] = {}
    for name, why in evening.plan.unplaced.items():
        if not why.startswith("waits for"):
            found.setdefault(why, []).append(evening.workload.by_id[name].words)
    return [f"{', '.join(dict.fromkeys(names))}: {why}" for why, names in found.items()]


def _range(evening: Evening, part: str, end: int, now: Moment, zone: dt.tzinfo | None) -> str:
    """The days between which a part is done; empty where they are one."""
    if part not in evening.quick:
        return ""
    first = day_words(min(end, evening.quick[part]), now, zone)
    late = evening.slow.get(part)
    last = day_words(max(end, late), now, zone) if late is not None else "not known"
    return "" if first == last else f": {first} to {last}"


def proof_words(evening: Evening) -> str:
    """Whether it is proven that no plan misses windows less badly."""
    proof = evening.proof
    if not evening.plan.starts:
        return ""
    if proof is None:
        return "Not proven: another plan may miss fewer windows or be done sooner."
    if not proof.fewest:
        told = evening.plan.missed()
        return (
            "Not proven: the solver came to its limit. Missed windows cost "
            f"{told} min in this plan, {proof.least_missed} min at least in any."
        )
    if not evening.plan.late:
        return "No window is missed. " + _end_words(evening)
    return "Proven: no plan misses windows less badly. " + _end_words(evening)


def _end_words(evening: Evening) -> str:
    proof = evening.proof
    if proof is not None and proof.soonest:
        return "Proven: none is done sooner."
    return "Whether one is done sooner is not proven."


def other_words(evening: Evening, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """The other answer to what is best, in one line; empty where there is none."""
    other = evening.sooner or evening.careful
    if other is None:
        return ""
    ends = [_last_end(evening, one) for one in (other, evening.plan)]
    when, same = (day_words(end, now, zone) for end in ends)
    if when == same:
        clocks = [clock_time(end * MINUTE_MS, now.utc_ms, zone, day=False) for end in ends]
        when = f"{when} at {clocks[0]} instead of {clocks[1]}"
    missed = count(len(other.late), "window") + " missed"
    return f"{'Sooner' if evening.sooner else 'Fewer missed'}: all done {when}, {missed}"


def _last_end(evening: Evening, plan: Schedule) -> int:
    return max(plan.end_of(evening.workload, name) for name in plan.starts)


def changed_lines(
    evening: Evening, letters: Mapping[str, str], until: int, now: Moment, zone: dt.tzinfo | None
) -> Iterator[str]:
    """The moves since the plan that was told last.

    Args:
        evening: The plan.
        letters: What each run is called.
        until: The minute until which a move is told.
        now: The moment.
        zone: The time zone of the clock times.
    """
    moves = []
    for name, last in evening.workload.last.items():
        if name in evening.plan.starts:
            begin = evening.plan.work_of(evening.workload, name)
            if min(last, begin) < until:
                moves.append((abs(begin - last), name, last, begin))
    far = [move for move in moves if move[0] >= MOVED_MIN]
    if moves and not far:
        most = max(move[0] for move in moves)
        yield f"  nothing moved by more than {most} min" if most else "  nothing moved"
    for _, name, last, begin in sorted(far, key=lambda move: move[3]):
        train = evening.workload.by_id[name]
        yield f"  {letters[train.run]}  {train.words}: {_moved(last, begin, now, zone)}"


def _moved(last: int, begin: int, now: Moment, zone: dt.tzinfo | None) -> str:
    if day_words(last, now, zone) != day_words(begin, now, zone):
        return f"moves to {clock_time(begin * MINUTE_MS, now.utc_ms, zone)}"
    return f"{abs(begin - last)} min {'later' if begin > last else 'sooner'}"


def hands_words(evening: Evening) -> str:
    """How much handwork is left, in hours, with what is missed."""
    minutes = sum(
        segment.minutes
        for train in evening.workload.trains
        for segment in train.segments
        if segment.hands
    )
    extra = sum(gap.late.minutes for gap in evening.plan.late.values() if gap.late)
    hours, rest = divmod(minutes + extra, 60)
    return f"{hours} h {rest:02d} of handwork left" if minutes else ""


def day_words(minute: int, now: Moment, zone: dt.tzinfo | None) -> str:
    """The day of a minute: `today`, or `Thu 10 Dec`."""
    when = dt.datetime.fromtimestamp(minute * 60, dt.UTC).astimezone(zone)
    today = dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC).astimezone(zone)
    if when.date() == today.date():
        return "today"
    return f"{when:%a} {when.day} {when:%b}"
