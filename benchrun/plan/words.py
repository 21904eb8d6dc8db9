"""A plan in words: tonight with clock times and reasons, what not to begin, the days after."""

import datetime as dt
from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.part_names import brief
from benchrun.plan.evening import Evening
from benchrun.plan.outlook import (
    changed_lines,
    done_lines,
    hands_words,
    other_words,
    proof_words,
)
from benchrun.plan.plan_row import PlanRow, said_at
from benchrun.plan.reasons import reason, reason_to_wait
from benchrun.plan.step_minutes import MINUTE_MS
from benchrun.plan.warming import warm_up
from benchrun.text import count, listed, shown
from benchrun.wording import clock_time

PRINTED: Final = 78
"""So long are the lines of a plan as text."""
UNBROKEN: Final = 2000
"""So long that no line is broken or cut."""


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
                name,
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


def rows_ahead(
    evening: Evening, now: Moment, zone: dt.tzinfo | None = None
) -> list[tuple[str, PlanRow]]:
    """The rows of this evening and of the next one, each with its time in words."""
    spans = [span for span in (first_evening(evening), next_evening(evening)) if span]
    return [
        (said_at(row.at, now, zone), row)
        for since, until in spans
        for row in rows_between(evening, since, until)
    ]


@lean_dataclass(frozen=True, slots=True)
class PlannedRow:
    """A row of the plan as the board tells it: its clock time and what to do, for whom."""

    at: str
    words: str


def planned_rows(
    evening: Evening, now: Moment, zone: dt.tzinfo | None = None, most: int = 5
) -> tuple[PlannedRow, ...]:
    """The next rows of this evening, for a board; none while the shop is closed."""
    span = first_evening(evening)
    if span is None or span[0] > now.utc_ms:
        return ()
    rows = rows_between(evening, max(span[0], now.utc_ms), span[1])[:most]
    titles = dict(zip(letters(evening).values(), evening.names.values(), strict=True))
    return tuple(
        PlannedRow(said_at(row.at, now, zone), f"{row.words}, {row.parts} ({titles[row.letter]})")
        for row in rows
    )


def train_called(evening: Evening, words: str) -> str:
    """The train of a row by its run's letter and the number of its first step, such as `B16`.

    Raises:
        BenchrunError: The plan has no such row.
    """
    wanted = words.replace(" ", "").upper()
    known = dict[str, str]()
    named = letters(evening)
    for name, _ in sorted(evening.plan.starts.items(), key=lambda item: (item[1], item[0])):
        if evening.workload.by_id[name].begun is not None:
            continue
        first = min(step.number for step in evening.work.steps[name])
        known.setdefault(f"{named[evening.workload.by_id[name].run]}{first}", name)
    if wanted in known:
        return known[wanted]
    raise BenchrunError(
        f"the plan has no row {shown(words, 20)!r}: give the letter of the run and the number of "
        f"the step, such as {next(iter(known), 'B16')}"
    )


def first_evening(evening: Evening) -> tuple[int, int] | None:
    """The opening that is on or comes next, milliseconds since 1970; None if there is none."""
    for opens, closes in evening.workload.openings:
        if closes > evening.workload.now:
            return opens * MINUTE_MS, closes * MINUTE_MS
    return None


def next_evening(evening: Evening) -> tuple[int, int] | None:
    """The opening after the first one, milliseconds since 1970; None if there is none."""
    spans = [span for span in evening.workload.openings if span[1] > evening.workload.now]
    return (spans[1][0] * MINUTE_MS, spans[1][1] * MINUTE_MS) if len(spans) > 1 else None


def evening_text(
    evening: Evening,
    now: Moment,
    zone: dt.tzinfo | None = None,
    *,
    told_ms: int = 0,
    heard: bool = False,
    wide: int = PRINTED,
) -> str:
    """The plan of this evening, of the next one, and what comes after, as text.

    Args:
        evening: The plan.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
        told_ms: When the plan was told that it is compared with, milliseconds since 1970; 0: none.
        heard: Whether it is said: a sentence is a line then, however long, and no sign stands
            for words.
        wide: Where its lines are broken or cut; `UNBROKEN` where a page does that by itself.
    """
    wide = UNBROKEN if heard else wide
    blocks = _blocks(evening, now, zone, told_ms, heard=heard, wide=wide)
    return "\n".join(line for block in blocks for line in block)


def _blocks(
    evening: Evening, now: Moment, zone: dt.tzinfo | None, told_ms: int, *, heard: bool, wide: int
) -> Iterator[list[str]]:
    span = first_evening(evening)
    if span is None:
        yield ["No time at which somebody is in the shop is known for the next weeks."]
        return
    since, until = max(span[0], now.utc_ms), span[1]
    kept = evening.hours.known
    end = until if kept else since + 24 * 60 * MINUTE_MS
    coming = next_evening(evening) if kept else None
    rows = rows_between(evening, since, end)
    left = not_tonight(evening, since, end)
    later = rows_between(evening, *coming) if coming else []
    yield [_head(evening, now, zone, since, until), ""]
    named = _runs_named(evening, rows, later, left)
    yield [*([line.replace("  ", ": ", 1) for line in named] if heard else named), ""]
    yield list(_tonight(evening, rows, until, now, zone, heard=heard, wide=wide))
    hot = warm_up(evening, rows, now, zone)
    if hot:
        yield [
            "",
            "To warm up first",
            *(line for words in hot for line in _wrapped(words, wide)),
        ]
    if left:
        yield [
            "",
            "Do not begin",
            *(line for words in left for line in _wrapped(words, wide)),
        ]
    yield list(_lates(evening, now, zone))
    if coming and later:
        begins, ends = (clock_time(ms, now.utc_ms, zone, day=False) for ms in coming)
        yield ["", f"{_day(coming[0], zone)} from {begins} until {ends}"]
        yield [_brief(row, now, zone, heard=heard, wide=wide) for row in later]
    if evening.ahead.follow_on:
        yield ["", "May follow, for parts without a route", *_follow_on(evening, wide)]
    yield list(_outlook(evening, now, zone, wide))
    if told_ms and evening.workload.last:
        told = clock_time(told_ms, now.utc_ms, zone)
        moved = changed_lines(
            evening, letters(evening), (coming[1] if coming else end) // MINUTE_MS, now, zone
        )
        lines = list(moved)
        if lines:
            yield ["", f"Changed since {told}", *lines]
    if evening.work.guessed:
        sign = "What" if heard else "~"
        yield ["", f"{sign} rests on a guess: these steps were never timed in this shop."]


def _head(evening: Evening, now: Moment, zone: dt.tzinfo | None, since: int, until: int) -> str:
    head = f"{_day(since, zone)} from {said_at(since, now, zone)}"
    if not evening.hours.known:
        return f"{head}; the hours are not kept"
    here, usual = evening.ahead.people_at(now), evening.ahead.people
    people = f", {count(here, 'person', 'people')}" if max(here, usual) > 1 else ""
    if names := evening.ahead.names_at(now):
        people = f", {listed(names)}"
    return f"{head} until {said_at(until, now, zone)}{people}"


def _runs_named(
    evening: Evening, rows: Sequence[PlanRow], later: Sequence[PlanRow], left: Sequence[str]
) -> list[str]:
    """The runs that the evening speaks of, by their letters."""
    named = letters(evening)
    told = {row.letter for row in (*rows, *later)} | {words.split(" ", 1)[0] for words in left}
    told |= {named[evening.workload.by_id[name].run] for name in evening.plan.late}
    comes = {run.id for run in evening.ahead.runs if run.comes}
    return [
        f"{letter}  {evening.names[run]}" + (" (to be begun)" if run in comes else "")
        for run, letter in named.items()
        if letter in told
    ]


def _tonight(
    evening: Evening,
    rows: Sequence[PlanRow],
    until: int,
    now: Moment,
    zone: dt.tzinfo | None,
    *,
    heard: bool,
    wide: int,
) -> Iterator[str]:
    for row in rows:
        yield from _row(row, now, zone, heard=heard, wide=wide)
    if not rows:
        yield "Nothing to do in this time."
    elif evening.hours.known:
        last = max(row.at + row.minutes * MINUTE_MS for row in rows)
        yield f"{said_at(last, now, zone)}  in hand: {max(0, until - last) // MINUTE_MS} min"


def _row(
    row: PlanRow, now: Moment, zone: dt.tzinfo | None, *, heard: bool, wide: int
) -> Iterator[str]:
    hands = "" if row.hands == row.minutes else f", hands {row.hands}"
    at = said_at(row.at, now, zone)
    late = f"; too late, then {row.late}" if row.late else ""
    if heard:
        guess = ", a guess" if row.guess else ""
        minutes = f"{row.minutes} min{hands and f'{hands} min'}{guess}"
        yield f"{at}, {row.letter}: step {row.words}; {row.parts}: {minutes}; {row.why}{late}."
        return
    guess = "~" if row.guess else " "
    yield f"{at}{guess} {row.letter}  {shown(row.words, wide - 14)}"
    yield f"{' ' * len(at)}     {row.parts}: {row.minutes} min{hands} ({row.why}{late})"


def _brief(row: PlanRow, now: Moment, zone: dt.tzinfo | None, *, heard: bool, wide: int) -> str:
    at = clock_time(row.at, now.utc_ms, zone, day=False)
    if heard:
        return f"  {at}, {row.letter}: step {row.words}; {row.parts}: {row.minutes} min"
    return shown(f"  {at}  {row.letter}  {row.words}, {row.parts}: {row.minutes} min", wide)


def _lates(evening: Evening, now: Moment, zone: dt.tzinfo | None) -> Iterator[str]:
    named = letters(evening)
    if evening.plan.late:
        yield from ("", "Windows that will be missed")
    for name, gap in evening.plan.late.items():
        train = evening.workload.by_id[name]
        at = said_at(evening.plan.starts[name] * MINUTE_MS, now, zone)
        follows = f"; then {gap.late.words.removesuffix('.')}" if gap.late else ""
        minutes = f", {gap.late.minutes} min more" if gap.late and gap.late.minutes else ""
        yield f"  {named[train.run]}  {train.words}, {at}{follows}{minutes}"


def _follow_on(evening: Evening, wide: int) -> Iterator[str]:
    for name, parts in evening.ahead.follow_on.items():
        yield shown(f"  {name}: {brief(parts, 50)}", wide)


def _outlook(evening: Evening, now: Moment, zone: dt.tzinfo | None, wide: int) -> Iterator[str]:
    done = list(done_lines(evening, now, zone))
    yield from ("", "Done", *done) if done else ()
    said = (hands_words(evening), other_words(evening, now, zone), proof_words(evening))
    for words in evening.ahead.faults:
        yield from _wrapped(words, wide)
    yield from ("", *filter(None, said))


def _wrapped(words: str, wide: int) -> list[str]:
    return wrap(words, wide, initial_indent="  ", subsequent_indent="     ") or [""]


def _day(ms: int, zone: dt.tzinfo | None) -> str:
    when = dt.datetime.fromtimestamp(ms // 1000, dt.UTC).astimezone(zone)
    return f"{when:%a} {when.day} {when:%b}"
