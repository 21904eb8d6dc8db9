"""How a running clock is shown: large for the one in hand, one row for each of the others."""

import datetime as dt
from typing import Final

from benchrun.alarms.words import clock_words, large_figures
from benchrun.moment import Moment
from benchrun.part_names import brief
from benchrun.procedure.route import Dwell, Witness
from benchrun.run.act_clocks import ActClock, Band, ClockKind
from benchrun.run.clocks import LoadClock, load_clock_words
from benchrun.run.state import Run
from benchrun.run.verdict import (
    EARLY,
    EARLY_OR_LATE,
    IN_TIME,
    LATE,
    PERHAPS_EARLY,
    PERHAPS_LATE,
)
from benchrun.screen.page import Block, block
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.digits import large_digits
from benchrun.screen.widgets.scale import Dial, dwell_scale, line_of
from benchrun.screen.widgets.tag import tags
from benchrun.text import dial, span
from benchrun.wording import ruling_words, time_limits

_HOUR = 3_600_000
_DAYS: Final = 2
"""From so many days on a clock is told in days and hours."""
_BESIDE: Final = 14
"""From so many cells on the words of a clock stand beside its figures."""


def dial_of(clock: LoadClock) -> Dial:
    """The scale of a clock."""
    return Dial(clock.spent.proven_ms, clock.least, clock.most, clock.aim, clock.spent.possible_ms)


def where_words(run: Run, clock: LoadClock) -> str:
    """Where a load is: the vessel's title, or the place it was sent to."""
    detail = clock.step.detail
    if isinstance(detail, Dwell) and detail.place:
        return f"away, {detail.place}"
    if isinstance(detail, Witness):
        return "notice"
    vessel = run.route.vessels.get(clock.vessel)
    return vessel.title if vessel else "on the bench"


def calls(clock: LoadClock) -> bool:
    """Whether the state of a clock wants a hand."""
    if isinstance(clock.step.detail, Witness):
        return clock.to_least <= 0
    return clock.state not in (EARLY, IN_TIME) or (
        clock.to_most is not None and clock.most is not None and clock.to_most <= clock.most // 4
    )


def large_clock(
    paper: Paper, run: Run, clock: ActClock, now: Moment, zone: dt.tzinfo | None = None
) -> list[Block]:
    """A clock in large digits with its state in words and its scale; of a load its tending too.

    A load counts what it has been in until it is late, then how far it is over. A window counts to
    its earliest, then to its latest, then how far it is over; a tending how far it is over.
    """
    load = clock.load if clock.kind is not ClockKind.TEND else None
    when = clock_words(run, clock, now, zone).when
    figures, words, calling = (
        _load_figures(load, when if _far(clock) else "") if load else _other_figures(clock, when)
    )
    role = Role.ACCENT if calling else Role.STRONG
    digits = large_digits(paper, figures)
    room = paper.width - max(row.width for row in digits) - 5
    beside = paper.wrap(words, room) if room >= _BESIDE else []
    if 0 < len(beside) <= len(digits):
        top = (len(digits) - len(beside) + (len(beside) == 1)) // 2
        wide = max(row.width for row in digits)
        for at, text in enumerate(beside, top):
            digits[at] = digits[at].padded(wide) + paper.line("    ", (text, role))
    else:
        digits += paper.paragraph(words, first="     ", role=role)
    shown = [block(digits)]
    scale = _scale_of(clock)
    if scale is not None:
        shown.append(block(dwell_scale(paper, scale, min(paper.width - 18, 96)), rank=2))
    if clock.kind is ClockKind.TEND and clock.load is not None:
        rows = paper.labelled("tend", clock.load.tend)
        shown.append(block(rows, rank=1))
    if load is not None:
        where = f"{paper.label('load')}{where_words(run, load)}  "
        if clock.kind is ClockKind.NOTICE:
            where = paper.label("for")
        shown.append(block(tags(paper, load.parts, first=where), rank=1))
        if load.tend_in is not None:
            shown.append(_tending(paper, load))
    return shown


def _load_figures(load: LoadClock, when: str) -> tuple[str, str, bool]:
    """The figures of a load, the words beside them, and whether they want a hand.

    Args:
        load: The load.
        when: From when, until when its act may be done, where that is more than an hour away.
    """
    if load.state == LATE and load.spent.exact and load.most is not None:
        over = dial(load.spent.proven_ms - load.most)
        return (
            f"+{over}",
            f"late, over {span(load.most)}; in for {dial(load.spent.proven_ms)}",
            True,
        )
    words = load_clock_words(load)
    if when and load.state in (EARLY, IN_TIME) and not isinstance(load.step.detail, Witness):
        words = f"{'too early' if load.state == EARLY else IN_TIME}, {when}"
    days, hours = divmod(load.spent.proven_ms // _HOUR, 24)
    if days < _DAYS:
        return dial(load.spent.proven_ms), words, calls(load)
    return str(days), f"d {hours} h: {words}", calls(load)


def _other_figures(clock: ActClock, when: str) -> tuple[str, str, bool]:
    figures, unit = large_figures(clock)
    over = clock.over_ms > 0 or (clock.kind is ClockKind.TEND and clock.band is not Band.RUNNING)
    if clock.kind is ClockKind.TEND and over:
        return f"+{figures}", f"{unit}due", True
    if clock.over_ms > 0 and clock.most is not None and clock.kind is ClockKind.WINDOW:
        closed = when.partition(", ")[0]  # how far past it is, the figures say
        return f"+{figures}", f"{unit} {span(clock.most)}, {closed}", True
    return f"+{figures}" if over else figures, f"{unit}, {when}", True


def _scale_of(clock: ActClock) -> Dial | None:
    """The scale of a clock; None where it has no limits, or none that can be told."""
    if clock.kind in (ClockKind.TEND, ClockKind.NOTICE):
        return None  # a notice has no earliest
    if clock.load is not None:
        load = clock.load
        return dial_of(load) if (load.least, load.most, load.aim) != (None, None, None) else None
    if clock.least is None and clock.most is None:
        return None
    return Dial(clock.spent.proven_ms, clock.least, clock.most, None, clock.spent.possible_ms)


def _tending(paper: Paper, clock: LoadClock) -> Block:
    due = (clock.tend_in or 0) <= 0
    when = "due now" if due else f"next in {dial(clock.tend_in or 0)}"
    right = paper.line(
        (f"  every {span(clock.every or 0)}, ", Role.QUIET),
        (when, Role.ACCENT if due else Role.TEXT),
    )
    lead = paper.label("tend")
    rows = paper.labelled("tend", clock.tend)
    if rows[-1].width + right.width >= paper.width:
        rows.append(paper.line(" " * (len(lead) - 2)))
    rows[-1] = rows[-1] + right
    text = paper.fitted(clock.tend, paper.width - len(lead) - right.width - 1)
    short = paper.line((lead, Role.QUIET), text) + right
    return block(rows, short=[short], rank=2, gap=0)


_CLOCK_SIZES: Final = ((120, 20, 36, 30), (80, 12, 20, 16), (0, 10, 10, 9))
"""From which width on how wide are the place, the parts and the scale of a clock in one row."""


def _sizes(paper: Paper) -> tuple[int, int, int]:
    narrow = (sizes for narrowest, *sizes in _CLOCK_SIZES if paper.width >= narrowest)
    left, middle, scale = next(narrow)
    return left, middle, scale


def clock_row(
    paper: Paper, run: Run, clock: LoadClock, *, lead: TextLine | None = None
) -> TextLine:
    """One clock in one row: where, who, how long, the scale, the limits.

    Args:
        paper: What it is drawn on.
        run: The run.
        clock: The clock.
        lead: What stands before it; None: three blanks.
    """
    limits = time_limits(clock.least, clock.most)
    left, middle, scale = _sizes(paper)
    who = brief(clock.parts, middle, run.parts)
    mark = (dial(clock.spent.proven_ms).rjust(9), Role.ACCENT if calls(clock) else Role.STRONG)
    row = (lead or paper.line("   ")) + paper.line(
        paper.padded(where_words(run, clock), left),
        " ",
        paper.padded(who, middle),
        mark,
        "  ",
    )
    if limits:
        row = row + line_of(paper, dial_of(clock), scale)
    state = paper.fitted(_brief(clock, limits), max(4, paper.width - row.width - 3))
    return row + paper.line("  ", (state, Role.ACCENT if calls(clock) else Role.QUIET))


def act_clock_row(
    paper: Paper,
    run: Run,
    clock: ActClock,
    now: Moment,
    *,
    zone: dt.tzinfo | None = None,
    lead: TextLine | None = None,
) -> TextLine:
    """A clock in one row: a load with its scale, a window with its act.

    By when the act is to be done is said as a clock time; of a load that has no more than an hour
    to go the scale says it.

    Args:
        paper: What it is drawn on.
        run: The run.
        clock: The clock.
        now: The moment.
        zone: The time zone of clock times; None: this machine's.
        lead: What stands before it; None: three blanks.
    """
    load = clock.load
    if load is not None and not _far(clock):
        return clock_row(paper, run, load, lead=lead)
    words = clock_words(run, clock, now, zone)
    left, middle, _ = _sizes(paper)
    counted, unit = _counted_with_unit(clock)
    # Two clock times with their days are longer than a scale.
    before = (lead or paper.line("   ")).width + left + 13 + len(unit)
    middle -= min(10, max(0, before + middle + len(words.when) + 1 - paper.width))
    who = brief(clock.parts, middle, run.parts)
    where = where_words(run, load).removeprefix("away, ") if load is not None else "window"
    role = Role.ACCENT if clock.band > Band.RUNNING else Role.STRONG
    row = (lead or paper.line("   ")) + paper.line(
        paper.padded("late" if clock.band is Band.LATE else where, left),
        " ",
        paper.padded(who, middle),
        (counted.rjust(9), role),
        (f" {unit}", Role.QUIET),
        "  ",
    )
    act = "" if load is not None else f": {words.act}"
    said = paper.fitted(f"{words.when}{act}", max(4, paper.width - row.width - 1))
    return row + paper.line((said, Role.ACCENT if clock.band > Band.RUNNING else Role.QUIET))


def act_clock_rows(
    paper: Paper, run: Run, clock: ActClock, now: Moment, zone: dt.tzinfo | None
) -> list[TextLine]:
    """A clock in two rows for a narrow column: where and who with the figures, then how it lies."""
    load, words = clock.load, clock_words(run, clock, now, zone)
    role = Role.ACCENT if clock.band > Band.RUNNING else Role.STRONG
    figures = " ".join(_counted_with_unit(clock))
    side = min(16, paper.width // 3)
    where = paper.padded(where_words(run, load) if load is not None else words.when, side)
    room = paper.width - side - 3 - max(9, len(figures))
    who = brief(clock.parts, room, run.parts)
    first = paper.line(where, "  ", paper.padded(who, room), (figures.rjust(9), role))
    if load is None:
        return [first, paper.line((paper.fitted(words.act, paper.width - 1), Role.QUIET))]
    if _far(clock):
        return [first, paper.line((paper.fitted(words.when, paper.width - 1), Role.QUIET))]
    limits = time_limits(load.least, load.most)
    below = line_of(paper, dial_of(load), side) if limits else paper.line(" " * side)
    said = _brief(load, limits)
    text = paper.fitted(said, paper.width - side - 3)
    return [first, below + paper.line("  ", (text, role if role is Role.ACCENT else Role.QUIET))]


def _counted(ms: int) -> str:
    """How long a load is in: ticking to the second, and from two days on in days and hours."""
    return dial(ms) if ms < _DAYS * 24 * _HOUR else f"{ms // (24 * _HOUR)} d {ms // _HOUR % 24} h"


def _counted_with_unit(clock: ActClock) -> tuple[str, str]:
    """The figures of a clock in a row, and what they count, as rows may count up or down.

    `22:50 left` is minutes and seconds, `21:55 h left` is hours and minutes.
    """
    load = clock.load
    if load is None:
        return large_figures(clock)
    return _counted(load.spent.proven_ms), "away" if clock.kind is ClockKind.AWAY else "in"


def _far(clock: ActClock) -> bool:
    """Whether the next that comes of a clock is more than an hour away."""
    opens = clock.opens_in if clock.opens_in is not None and clock.opens_in > 0 else None
    ahead = clock.harm_in if opens is None else opens
    return ahead is not None and ahead > _HOUR


def _brief(clock: LoadClock, limits: str) -> str:
    if isinstance(clock.step.detail, Witness):
        left = clock.to_least
        return f"{dial(left)} to go" if left > 0 else "run out"
    if clock.state == LATE:
        return "late"
    if clock.state in (PERHAPS_LATE, PERHAPS_EARLY, EARLY_OR_LATE):
        return ruling_words(clock.state)
    if clock.tend_in is not None and clock.tend_in <= 0:
        return "tend"
    if clock.state == EARLY:
        return f"{dial(clock.to_least)} to go"
    if clock.to_most is not None:
        return f"{dial(clock.to_most)} left"
    return limits and "ready"
