"""Words for times, limits, values and misgivings: the same thing is said alike everywhere.

Lengths of time are milliseconds. A time that a restart or a late entry leaves uncertain has two
ends, what is proven and what is possible; where nobody can say how long it may have been, it is
told as *at least*.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.moment import Elapsed
from benchrun.text import span, span_beside

_NEAR_MS: Final = 3_600_000
_OPEN: Final = "machine was off, longest time unknown"
_COULD: Final = {
    "perhaps early": "could be early",
    "perhaps late": "could be late",
    "early or late": "could be early or late",
    "too soon": "too early",
}


STATES: Final = {"scrap": "scrapped", "in play": "in work"}
"""The states of a part that people say in other words than the log."""
CLOSE_LISTS: Final = {"restore": "put back", "follow on": "follow-on"}
"""The two lists of the close, as a person reads of them."""
CLOSE_DONE: Final = {"restore": "done", "follow on": "done or passed on"}
"""How a line of each list is ticked; of what follows somebody else may have to know."""


def elapsed_words(
    proven: int | None,
    possible: int | None,
    *,
    told_late: bool = False,
    beside: Iterable[int | None] = (),
) -> str:
    """How long it was: `9 min`, `between 9 min and 14 min (…)`, `at least 9 min; …`.

    Args:
        proven: The time that is proven; None says nothing.
        possible: The longest that it may have been; None: nobody can say.
        told_late: Whether a late entry, and no restart, is why the two differ.
        beside: The limits that are told beside it, from which it shall differ.
    """
    if proven is None:
        return ""
    limits = tuple(beside)
    if possible is None:
        return f"at least {span_beside(proven, limits)}; {_OPEN}"
    low, high = span_beside(proven, limits), span_beside(possible, limits)
    why = "late entry" if told_late else "machine restarted"
    return low if low == high else f"between {low} and {high} ({why})"


def time_limits(least: int | None, most: int | None) -> str:
    """The limits of a time: `10 min to 20 min`, `at least 2 h`, `at most 20 min`, or nothing."""
    if least is not None and most is not None:
        return f"{span(least)} to {span(most)}"
    if least is not None:
        return f"at least {span(least)}"
    return "" if most is None else f"at most {span(most)}"


def late_words(spent: Elapsed, most: int) -> str:
    """How far a time is past its most: `late by 2 min`, `could be late: …`; empty if in time."""
    proven, possible = spent.proven_ms, spent.possible_ms
    if proven > most:
        if possible is None:
            return f"late by at least {span(proven - most)}; {_OPEN}"
        low, high = span(proven - most), span(possible - most)
        return f"late by {low}" if low == high else f"late by {low} to {high}"
    if possible is None or possible > most:
        return f"could be late: {elapsed_words(proven, possible)}"
    return ""


def past_words(spent: Elapsed, most: int) -> str:
    """How far a time is past its most, for an alarm: `1 min 18 s past 20 min`.

    Args:
        spent: The time so far; it is past its most, or may be.
        most: The most that it may be.
    """
    proven, possible = spent.proven_ms, spent.possible_ms
    if proven <= most and possible is None:
        return f"may be past {span(most)}: at least {span(proven)}; machine was off"
    if proven <= most:
        return f"may be past {span(most)}: {elapsed_words(proven, possible)}"
    if possible is None:
        return f"at least {span(proven - most)} past {span(most)}; machine was off"
    return f"{span(possible - most)} past {span(most)}"


def timing_words(
    spent: Elapsed, least: int | None, most: int | None, since_most: Elapsed | None = None
) -> str:
    """How a running time stands to its limits: `too early, 4 min to go`, `in time, 8 min left`.

    Args:
        spent: The time so far.
        least: The least that it must be.
        most: The most that it may be.
        since_most: The time that counts against the most, where that is another one.
    """
    upper = since_most or spent
    proven, possible = spent.proven_ms, spent.possible_ms
    late = "" if most is None else late_words(upper, most)
    if least is not None and proven < least:
        if possible is not None and possible < least:
            return f"too early, {span(least - proven)} to go"
        could = "could be early or late" if late else "could be early"
        return f"{could}: {elapsed_words(proven, possible)}"
    if late:
        return late
    if most is not None and upper.possible_ms is not None:
        return f"in time, {span(most - upper.possible_ms)} left"
    if possible is None:
        return f"in time: {elapsed_words(proven, possible)}"
    return "in time" if least is not None else "no limit"


def ruling_words(verdict: str) -> str:
    """A verdict as people say it: `perhaps late` is `could be late`, the others stay."""
    return _COULD.get(verdict, verdict)


def value_words(number: str | None, unit: str, word: str = "") -> str:
    """A value with its unit, or the word of a finding."""
    return word if number is None else quantity.in_words(Decimal(number), unit)


def misgivings_words(about: str, misgivings: Iterable[str]) -> str:
    """A thing with why it is not good for this: `gauge 2; it is past its calibration date`."""
    return "; it ".join((about, *misgivings))


def unfit_words(name: str, misgivings: Iterable[str]) -> str:
    """A sentence that says why a thing is not good for this: `gauge-2 is past its …; it is …`."""
    return f"{name} {'; it '.join(misgivings)}"


def grouped(words: Mapping[str, str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Parts under the words that are true of them, in the order in which they come up."""
    found: dict[str, list[str]] = {}
    for part, said in words.items():
        found.setdefault(said, []).append(part)
    return tuple((said, tuple(parts)) for said, parts in found.items())


def minute_words(utc: str) -> str:
    """The day and the minute of a time: `2026-03-02 17:30`."""
    return f"{utc[:10]} {utc[11:16]}"


def clock_time(utc_ms: int, now_ms: int, zone: dt.tzinfo | None = None, *, day: bool = True) -> str:
    """A time of day as people say it: `14:43`, `20:01 tomorrow`, `Fri 20:01`, `27 Nov 20:01`.

    Args:
        utc_ms: The time, milliseconds since 1970.
        now_ms: Now, by which its day is said where it is more than an hour away.
        zone: The time zone; None: that of this machine.
        day: Whether the day is said at all.
    """
    when = dt.datetime.fromtimestamp(utc_ms // 1000, dt.UTC).astimezone(zone)
    now = dt.datetime.fromtimestamp(now_ms // 1000, dt.UTC).astimezone(zone)
    hour = f"{when:%H:%M}"
    if not day or abs(utc_ms - now_ms) <= _NEAR_MS:
        return hour
    days = (when.date() - now.date()).days
    named = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    if named:
        return f"{hour} {named}"
    if 1 < days < 7:
        return f"{when:%a} {hour}"
    return f"{when.day} {when:%b} {hour}"
