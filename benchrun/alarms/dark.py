"""Clocks that would end or close in the dark: those that run, and those that a step opens.

Whoever reads this is in the shop, whatever its hours say; so what comes within half an hour is
never told as dark.
"""

import datetime as dt
from collections.abc import Sequence
from typing import Final

from benchrun.moment import Moment
from benchrun.procedure.parameter import Parameter, Undetermined
from benchrun.procedure.route import Attended, Dwell, Step
from benchrun.run.act_clocks import ActClock, ClockKind
from benchrun.run.course import ACT_MS
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.run.verdict import draw, milliseconds, reads_of
from benchrun.shop.hours import Hours
from benchrun.wording import clock_time

HERE_MS: Final = 1_800_000
"""So long from now somebody is taken to be in the shop; common practice, no source."""


def dark_words(clock: ActClock, hours: Hours, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """That a clock ends or closes while nobody is in the shop; empty where somebody can act.

    Args:
        clock: A clock of a run.
        hours: When the shop is attended.
        now: The moment.
        zone: The time zone of the hours; None: that of this machine.
    """
    if clock.accepted or clock.kind in (ClockKind.AWAY, ClockKind.TEND, ClockKind.NOTICE):
        return ""
    opens = max(0, clock.opens_in or 0)
    if clock.harm_in is not None and clock.harm_in < 0:
        return ""
    if clock.harm_in is None and clock.opens_in is None:
        return ""
    closes = opens if clock.harm_in is None else max(clock.harm_in, opens)
    return _dark(hours, now, opens, closes, zone)


def _dark(hours: Hours, now: Moment, opens: int, closes: int, zone: dt.tzinfo | None) -> str:
    """That nobody is there from `opens` to `closes` milliseconds from now, and who comes when."""
    if not hours.known or closes <= HERE_MS or opens <= HERE_MS:
        return ""
    if hours.attended(now.utc_ms + opens, now.utc_ms + closes, zone) is not None:
        return ""
    coming = hours.next_opening(now.utc_ms + closes, zone)
    if coming is None:
        return "nobody is in the shop then, and no later opening is known"
    return f"shop dark until {clock_time(coming.since_ms, now.utc_ms, zone)}"


def dark_ahead(
    run: Run,
    offer: Offer,
    parts: Sequence[str],
    hours: Hours,
    now: Moment,
    zone: dt.tzinfo | None = None,
) -> tuple[str, ...]:
    """The windows and loads that a step opens and that would then close in the dark, in words.

    A time that depends on a reading not taken yet is not foreseen.

    Args:
        run: The run.
        offer: What is in hand.
        parts: For whom.
        hours: When the shop is attended.
        now: The moment.
        zone: The time zone of the hours; None: that of this machine.
    """
    step = offer.step
    if step is None or not parts or not hours.known or offer.deed not in _OPENERS:
        return ()
    told: list[str] = []
    ends = ACT_MS
    if offer.deed in (Deed.PUT_IN, Deed.BEGIN) and isinstance(step.detail, Dwell):
        least, most = _ms(run, parts, step.detail.least), _ms(run, parts, step.detail.most)
        opens = ACT_MS + (least or 0)
        if most is not None or (least is not None and _wants_ending(step.detail)):
            closes = ACT_MS + most if most is not None else opens
            if dark := _dark(hours, now, opens, closes, zone):
                by = clock_time(now.utc_ms + closes, now.utc_ms, zone)
                word = "must be out by" if most is not None else "may come out at"
                told.append(f"Step {step.number} {word} {by}; {dark}.")
        coming = hours.attended(now.utc_ms + opens, now.utc_ms + opens + _YEAR_MS, zone)
        ends = opens if opens <= HERE_MS or coming is None else coming - now.utc_ms
    for name in run.course.starts.get(step.id, ()):
        told += _window_ahead(run, parts, step, run.route.steps[name], ends, hours, now, zone)
    return tuple(told)


def _wants_ending(dwell: Dwell) -> bool:
    """Whether somebody must come to end a dwell, though nothing says by when."""
    return bool(dwell.vessel) or dwell.attended is not Attended.NO


_OPENERS: Final = (Deed.BEGIN, Deed.DO, Deed.PUT_IN, Deed.LIFT)
_YEAR_MS: Final = 366 * 24 * 3_600_000


def _window_ahead(
    run: Run,
    parts: Sequence[str],
    opener: Step,
    step: Step,
    ends: int,
    hours: Hours,
    now: Moment,
    zone: dt.tzinfo | None,
) -> list[str]:
    window = step.window
    most = _ms(run, parts, window.most) if window else None
    if window is None or most is None:
        return []
    first, target = run.route.index[opener.id] + 1, run.route.index[step.id]
    opens = ends + max(_ms(run, parts, window.least) or 0, run.course.work_between(first, target))
    closes = ends + most
    dark = _dark(hours, now, opens, closes, zone)
    if not dark:
        return []
    by = clock_time(now.utc_ms + closes, now.utc_ms, zone)
    late = f" Then: {window.late[0].text.removesuffix('.')}." if window.late else ""
    text = step.text.removesuffix(".")
    return [f"Step {step.number}, {text}, would close {by}; {dark}.{late}"]


def _ms(run: Run, parts: Sequence[str], parameter: Parameter | None) -> int | None:
    """A time for some parts, the shortest where they differ; None where it is not known."""
    if parameter is None:
        return None
    try:
        times = [milliseconds(parameter, draw(run.markers[p], reads_of(parameter))) for p in parts]
    except Undetermined:
        return None
    return min((time for time in times if time is not None), default=None)
