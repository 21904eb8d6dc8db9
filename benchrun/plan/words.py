"""A plan in words: tonight with clock times and reasons, what not to begin, the days after."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from benchrun.moment import Moment
from benchrun.part_names import brief
from benchrun.plan.evening import Evening
from benchrun.plan.reasons import reason, reason_to_wait
from benchrun.plan.trains import MINUTE_MS
from benchrun.plan.workload import Schedule
from benchrun.text import count, shown
from benchrun.wording import clock_time


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A row of a plan.

    Attributes:
        at: When it begins, milliseconds since 1970.
        letter: The letter of its run.
        words: What is done.
        parts: For which parts.
        minutes: How long it takes.
        hands: How much of that wants hands.
        why: Why not sooner.
        late: What a missed window adds, or empty.
        guess: Whether its times are guessed.
    """

    at: int
    letter: str
    words: str
    parts: str
    minutes: int
    hands: int
    why: str
    late: str
    guess: bool


def letters(evening: Evening) -> dict[str, str]:
    """A letter for each run, in the order of the board."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    runs = list(evening.names)
    return {run: alphabet[at] if at < len(alphabet) else run for at, run in enumerate(runs)}


def rows_between(evening: Evening, since_ms: int, until_ms: int) -> list[PlanRow]:
    """The rows of a plan that begin within a time, in order."""
    named = letters(evening)
    plan, workload = evening.plan, evening.workload
    found = []
    for name, start in sorted(plan.starts.items(), key=lambda item: (item[1], item[0])):
        train = workload.by_id[name]
        at = start * MINUTE_MS
        if not since_ms - MINUTE_MS < at < until_ms or not train.minutes:
            continue
        steps = evening.work.steps[name]
        numbers = sorted({step.number for step in steps})
        span = f"{numbers[0]}–{numbers[-1]}" if len(numbers) > 1 else str(numbers[0])
        gap = plan.late.get(name)
        late = gap.late.words.removesuffix(".") if gap is not None and gap.late else ""
        found.append(
            PlanRow(
                at,
                named[train.run],
                f"{span} {train.words}",
                brief(evening.work.parts[name], 24),
                plan.end_of(workload, name) - start,
                sum(segment.minutes for segment in train.segments if segment.hands),
                reason(workload, plan, name, named),
                late,
                name in evening.work.guessed,
            )
        )
    return found


def not_tonight(evening: Evening, since_ms: int, until_ms: int) -> list[str]:
    """Work that is ready before a time and had better not be begun; each with why."""
    plan, workload, named = evening.plan, evening.workload, letters(evening)
    found = []
    for name, start in plan.starts.items():
        train = workload.by_id[name]
        if start * MINUTE_MS < until_ms:
            continue
        ready = all(
            (gap.before in plan.starts and plan.end_of(workload, gap.before) * MINUTE_MS < until_ms)
            if gap.before
            else gap.since + gap.least < until_ms // MINUTE_MS
            for gap in workload.gaps_to[name]
        )
        lower = max(
            [
                (plan.work_of(workload, gap.before) if gap.before else gap.since) + gap.least
                for gap in workload.gaps_to[name]
                if not gap.before or gap.before in plan.starts
            ],
            default=0,
        )
        if ready and lower * MINUTE_MS < until_ms:
            who = brief(evening.work.parts[name], 24)
            why = reason_to_wait(workload, plan, name, until_ms // MINUTE_MS)
            found.append(f"{named[train.run]}  {train.words}, {who}: {why}")
    return found


def first_evening(evening: Evening) -> tuple[int, int] | None:
    """The opening that is on or comes next, milliseconds since 1970; None if there is none."""
    for opens, closes in evening.workload.openings:
        if closes > evening.workload.now:
            return opens * MINUTE_MS, closes * MINUTE_MS
    return None


def evening_text(evening: Evening, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """The plan of this evening, or of the next one, and what comes after, as text.

    Args:
        evening: The plan.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    return "\n".join(_lines(evening, now, zone))


def _lines(evening: Evening, now: Moment, zone: dt.tzinfo | None) -> Iterator[str]:
    span = first_evening(evening)
    if span is None:
        yield "No time at which somebody is in the shop is known for the next weeks."
        return
    since, until = max(span[0], now.utc_ms), span[1]
    opens = _said(since, now, zone)
    kept = evening.hours.known
    head = f"{_day(since, zone)} from {opens}"
    yield f"{head} until {_said(until, now, zone)}" if kept else f"{head}; the hours are not kept"
    yield ""
    yield from (f"{letter}  {evening.names[run]}" for run, letter in letters(evening).items())
    yield ""
    end = until if kept else since + 24 * 60 * MINUTE_MS
    rows = rows_between(evening, since, end)
    for row in rows:
        yield from _row(row, now, zone)
    if not rows:
        yield "Nothing to do in this time."
    elif kept:
        last = max(row.at + row.minutes * MINUTE_MS for row in rows)
        yield f"{_said(last, now, zone)}  in hand: {max(0, until - last) // MINUTE_MS} min"
    left = not_tonight(evening, since, end)
    if left:
        yield from ("", "Do not begin", *(f"  {words}" for words in left))
    yield from _lates(evening, now, zone)
    yield from ("", *_ends(evening, now, zone))
    if evening.sooner is not None:
        yield from ("", f"Sooner: {_sooner(evening, evening.sooner, now, zone)}")
    if evening.work.guessed:
        yield from ("", "~ rests on a guess: these steps were never timed in this shop.")


def _row(row: PlanRow, now: Moment, zone: dt.tzinfo | None) -> Iterator[str]:
    guess = "~" if row.guess else " "
    hands = "" if row.hands == row.minutes else f", hands {row.hands}"
    at = _said(row.at, now, zone)
    yield f"{at}{guess} {row.letter}  {shown(row.words, 64)}"
    late = f"; late: {row.late}" if row.late else ""
    yield f"{' ' * len(at)}     {row.parts}: {row.minutes} min{hands} ({row.why}{late})"


def _lates(evening: Evening, now: Moment, zone: dt.tzinfo | None) -> Iterator[str]:
    named = letters(evening)
    if evening.plan.late:
        yield from ("", "Windows that will be missed")
    for name, gap in evening.plan.late.items():
        train = evening.workload.by_id[name]
        at = _said(evening.plan.starts[name] * MINUTE_MS, now, zone)
        follows = gap.late.words.removesuffix(".") if gap.late else ""
        minutes = f", +{gap.late.minutes} min" if gap.late and gap.late.minutes else ""
        yield f"  {named[train.run]}  {train.words}, {at}: {follows}{minutes}"


def _ends(evening: Evening, now: Moment, zone: dt.tzinfo | None) -> Iterator[str]:
    named = letters(evening)
    for job in evening.workload.jobs:
        end = evening.plan.finish(evening.workload, job)
        if end is None:
            held = next(
                why
                for name, why in evening.plan.unplaced.items()
                if evening.workload.by_id[name].run == job.id
            )
            yield f"Done  {named[job.id]}  not in the time that is known: {held}"
        else:
            yield f"Done  {named[job.id]}  {_said(end * MINUTE_MS, now, zone)} at the earliest"


def _sooner(evening: Evening, other: Schedule, now: Moment, zone: dt.tzinfo | None) -> str:
    workload = evening.workload
    end = max(other.end_of(workload, name) for name in other.starts)
    missed = count(len(other.late), "window")
    return f"all done {_said(end * MINUTE_MS, now, zone)}, with {missed} missed"


def _said(ms: int, now: Moment, zone: dt.tzinfo | None) -> str:
    return clock_time(ms, now.utc_ms, zone, day=ms - now.utc_ms > 18 * 60 * MINUTE_MS)


def _day(ms: int, zone: dt.tzinfo | None) -> str:
    when = dt.datetime.fromtimestamp(ms // 1000, dt.UTC).astimezone(zone)
    return f"{when:%a} {when.day} {when:%b}"
