"""How a running clock is shown: large for the one in hand, one row for each of the others."""

from benchrun.alarms.calls import Alarm
from benchrun.alarms.words import clock_words
from benchrun.moment import Moment
from benchrun.part_names import brief
from benchrun.procedure.route import Dwell
from benchrun.procedure.steps import PlainDo
from benchrun.run.act_clocks import ActClock, Band, ClockKind
from benchrun.run.clocks import LoadClock
from benchrun.run.offers import Deed, Offer
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
from benchrun.wording import ruling_words, time_limits, timing_words


def dial_of(clock: LoadClock) -> Dial:
    """The scale of a clock."""
    return Dial(clock.spent.proven_ms, clock.least, clock.most, clock.aim, clock.spent.possible_ms)


def where_words(run: Run, clock: LoadClock) -> str:
    """Where a load is: the vessel's title, or the place it was sent to."""
    detail = clock.step.detail
    if isinstance(detail, Dwell) and detail.place:
        return f"away, {detail.place}"
    vessel = run.route.vessels.get(clock.vessel)
    return vessel.title if vessel else "on the bench"


def state_words(clock: LoadClock) -> str:
    """The state of a clock: too early, in time, late by, or both ends where it is uncertain."""
    return timing_words(clock.spent, clock.least, clock.most)


def calls(clock: LoadClock) -> bool:
    """Whether the state of a clock wants a hand."""
    return clock.state not in (EARLY, IN_TIME) or (
        clock.to_most is not None and clock.most is not None and clock.to_most <= clock.most // 4
    )


def alarm_settled_by(offer: Offer, alarm: Alarm, run_id: str) -> str:
    """The word for the act in hand where it is the very one that an alarm calls for, or empty.

    Args:
        offer: What is in hand.
        alarm: The alarm that stands.
        run_id: The run's id.
    """
    if not offer.ready or alarm.run_id != run_id or not set(offer.parts) & set(alarm.clock.parts):
        return ""
    if alarm.clock.kind is ClockKind.WINDOW:
        return _window_word(offer) if offer.step == alarm.clock.step else ""
    clock, called = offer.clock, alarm.clock.load
    if clock is None or called is None:
        return ""
    if (clock.load, clock.step.id) != (called.load, called.step.id):
        return ""
    if offer.deed is Deed.TEND:
        return "tended" if alarm.clock.kind is ClockKind.TEND else ""
    is_load = alarm.clock.kind is ClockKind.LOAD
    return "taken out" if offer.deed is Deed.LIFT and is_load else ""


def _window_word(offer: Offer) -> str:
    """The word for the act that a window waits for; empty where 1 is a figure or an answer."""
    if offer.deed is Deed.PUT_IN:
        return "put in"
    plain = offer.step is not None and isinstance(offer.step.detail, PlainDo)
    return "done" if offer.deed is Deed.DO and plain else ""


def large_clock(paper: Paper, run: Run, clock: LoadClock) -> list[Block]:
    """The clock in hand: digits, state in words, the scale, the load, the tending."""
    digits = large_digits(paper, dial(clock.spent.proven_ms))
    words = state_words(clock)
    role = Role.ACCENT if calls(clock) or clock.state == LATE else Role.STRONG
    middle = len(digits) // 2
    room = paper.width - digits[middle].width - 5
    if len(words) <= room:
        digits[middle] = digits[middle] + paper.line("    ", (words, role))
    else:
        digits += paper.paragraph(words, first="     ", role=role)
    shown = [block(digits)]
    if clock.least is not None or clock.most is not None or clock.aim is not None:
        width = min(paper.width - 24, 96)
        shown.append(block(dwell_scale(paper, dial_of(clock), width), rank=2))
    shown.append(block(tags(paper, clock.parts, first=f"{where_words(run, clock)}  "), rank=1))
    if clock.tend_in is not None:
        shown.append(_tending(paper, clock))
    return shown


def _tending(paper: Paper, clock: LoadClock) -> Block:
    due = (clock.tend_in or 0) <= 0
    when = "due now" if due else f"next in {dial(clock.tend_in or 0)}"
    right = paper.line(
        (f"  every {span(clock.every or 0)}, ", Role.QUIET),
        (when, Role.ACCENT if due else Role.TEXT),
    )
    lead = " tend  "
    rows = paper.paragraph(clock.tend, first=lead, lead=Role.QUIET)
    if rows[-1].width + right.width >= paper.width:
        rows.append(paper.line(" " * (len(lead) - 2)))
    rows[-1] = rows[-1] + right
    text = paper.fitted(clock.tend, paper.width - len(lead) - right.width - 1)
    short = paper.line((lead, Role.QUIET), text) + right
    return block(rows, short=[short], rank=2, gap=0)


def clock_row(
    paper: Paper, run: Run, clock: LoadClock, *, name: str = "", indent: int = 3
) -> TextLine:
    """One clock in one row: where, who, how long, the scale, the limits."""
    limits = time_limits(clock.least, clock.most)
    left, middle = (12, 20) if paper.width < 120 else (20, 36)
    scale = 16 if paper.width < 120 else 30
    lead = f"{name}: " if name else ""
    who = lead + brief(clock.parts, middle - len(lead), run.parts)
    mark = (dial(clock.spent.proven_ms).rjust(9), Role.ACCENT if calls(clock) else Role.STRONG)
    row = paper.line(
        " " * indent,
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


def window_row(
    paper: Paper, run: Run, clock: ActClock, now: Moment, *, name: str = "", indent: int = 3
) -> TextLine:
    """One window in one row: for whom, the time left or past, the act that waits, by when."""
    words = clock_words(run, clock, now)
    left, middle = (12, 20) if paper.width < 120 else (20, 36)
    lead = f"{name}: " if name else ""
    who = lead + brief(clock.parts, middle - len(lead), run.parts)
    counted = clock.harm_in if clock.harm_in is not None and clock.harm_in >= 0 else clock.over_ms
    role = Role.ACCENT if clock.band > Band.RUNNING else Role.STRONG
    row = paper.line(
        " " * indent,
        paper.padded(words.signal.lower() if clock.band == Band.LATE else "window", left),
        " ",
        paper.padded(who, middle),
        (dial(counted).rjust(9) if counted else " " * 9, role),
        "  ",
    )
    said = paper.fitted(f"{words.when}: {words.act}", max(4, paper.width - row.width - 1))
    return row + paper.line((said, Role.ACCENT if clock.band > Band.RUNNING else Role.QUIET))


def _brief(clock: LoadClock, limits: str) -> str:
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
