"""The hours at which the shop is attended: what falls outside them happens in the dark."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from dataclasses import field
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import shown

DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
"""The days of the week as they are written in the hours."""

CLOSED: Final = "closed"
"""Stands for the times of a day on which nobody comes."""

_DAY: Final = dt.timedelta(days=1)
_FURTHEST_DAYS: Final = 400
"""So far ahead the next opening is looked for: over a year of holidays nobody waits."""
_SPAN: Final = re.compile(r"(\d{1,2})[:.](\d{2})\s*[-–]\s*(\d{1,2})[:.](\d{2})")
_PEOPLE: Final = re.compile(r"\b(\d{1,3})\s+(?:people|person)\b")
MOST_PEOPLE: Final = 100
"""So many people can be said to work in one opening."""
_NAMES: Final = re.compile(r"\s+with\s+(.+)$")
_EXAMPLE: Final = "Tue Thu 19:00-22:30, Sat 9:00-16:00"
_OTHER_EXAMPLE: Final = "2026-12-24 closed, 2026-12-06 10:00-14:00"

Minutes = tuple[int, int]


@lean_dataclass(frozen=True, slots=True)
class Opening:
    """A time at which somebody is in the shop.

    Attributes:
        since_ms: Its begin, milliseconds since 1970.
        until_ms: Its end, milliseconds since 1970.
    """

    since_ms: int
    until_ms: int


@lean_dataclass(frozen=True, slots=True)
class Hours:
    """When the shop is attended; without any, nothing is known of it.

    Attributes:
        week: For each day of the week, 0 for Monday: from and to, in minutes from midnight.
        days: The same for single days, which go before those of the week.
        week_people: For days of the week how many work then, where it is said.
        day_people: The same for single days, which go before those of the week.
        week_names: For days of the week who works then, by their ids, where it is said.
        day_names: The same for single days.
    """

    week: Mapping[int, tuple[Minutes, ...]] = field(default_factory=lambda: MappingProxyType({}))
    days: Mapping[dt.date, tuple[Minutes, ...]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    week_people: Mapping[int, int] = field(default_factory=lambda: MappingProxyType({}))
    day_people: Mapping[dt.date, int] = field(default_factory=lambda: MappingProxyType({}))
    week_names: Mapping[int, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    day_names: Mapping[dt.date, tuple[str, ...]] = field(
        default_factory=lambda: MappingProxyType({})
    )

    @property
    def known(self) -> bool:
        """Whether anything is known of when the shop is attended."""
        return bool(self.week)

    def on(self, day: dt.date) -> tuple[Minutes, ...]:
        """The times of a day, in minutes from midnight."""
        return self.days.get(day, self.week.get(day.weekday(), ()))

    def people_on(self, day: dt.date) -> int | None:
        """How many work on a day; None where that is not said."""
        return self.day_people.get(day, self.week_people.get(day.weekday()))

    def names_on(self, day: dt.date) -> tuple[str, ...]:
        """Who works on a day, by their ids; empty where only their number is said, or nothing."""
        if day in self.day_people and day not in self.day_names:
            return ()
        return self.day_names.get(day, self.week_names.get(day.weekday(), ()))

    @property
    def named(self) -> frozenset[str]:
        """Everybody whom the hours name."""
        named = (*self.week_names.values(), *self.day_names.values())
        return frozenset(name for names in named for name in names)

    def openings(self, since_ms: int, zone: dt.tzinfo | None = None) -> Iterator[Opening]:
        """The openings that end after a moment, in order, for a little over a year.

        Args:
            since_ms: The moment, milliseconds since 1970.
            zone: The time zone of the hours; None: that of this machine.
        """
        day = dt.datetime.fromtimestamp(since_ms // 1000, dt.UTC).astimezone(zone).date() - _DAY
        for _ in range(_FURTHEST_DAYS):
            for start, end in self.on(day):
                opening = Opening(_at(day, start, zone), _at(day, end, zone))
                if opening.until_ms > since_ms:
                    yield opening
            day += _DAY

    def attended(self, since_ms: int, until_ms: int, zone: dt.tzinfo | None = None) -> int | None:
        """The first moment of a time at which somebody is in the shop; None: all of it is dark.

        Args:
            since_ms: Where it begins, milliseconds since 1970.
            until_ms: Where it ends.
            zone: The time zone of the hours; None: that of this machine.
        """
        opening = next(self.openings(since_ms, zone), None)
        if opening is None or opening.since_ms > until_ms:
            return None
        return max(since_ms, opening.since_ms)

    def next_opening(self, since_ms: int, zone: dt.tzinfo | None = None) -> Opening | None:
        """The opening that a moment lies in, or the next one; None where none is known."""
        return next(self.openings(since_ms, zone), None)


NO_HOURS: Final = Hours()
"""Nothing is known of when the shop is attended."""


def _at(day: dt.date, minutes: int, zone: dt.tzinfo | None) -> int:
    """A time of day as milliseconds since 1970; midnight at the end of a day is 24 h."""
    when = dt.datetime.combine(day, dt.time(), zone) + dt.timedelta(minutes=minutes)
    return int(when.timestamp()) * 1000


def week_of(text: str) -> Mapping[int, tuple[Minutes, ...]]:
    """The hours of a week as they are written: `Tue Thu 19:00-22:30, Sat 9:00-16:00`.

    Raises:
        BenchrunError: A day or a time is not understood, or two times of a day overlap.
    """
    week: dict[int, list[Minutes]] = {}
    for piece in _pieces(text):
        words, spans = _split(piece, _EXAMPLE)
        days = _week_days(words, piece)
        for day in days:
            week.setdefault(day, []).extend(spans)
    return MappingProxyType({day: _in_order(spans, DAYS[day]) for day, spans in week.items()})


def days_of(text: str) -> Mapping[dt.date, tuple[Minutes, ...]]:
    """The hours of single days as they are written: `2026-12-24 closed, 2026-12-06 10:00-14:00`.

    Raises:
        BenchrunError: A day or a time is not understood, or two times of a day overlap.
    """
    days: dict[dt.date, list[Minutes]] = {}
    for piece in _pieces(text):
        shut = piece.endswith(CLOSED)
        words, spans = (
            (piece.removesuffix(CLOSED).split(), []) if shut else _split(piece, _OTHER_EXAMPLE)
        )
        if not words:
            raise BenchrunError(f"{shown(piece, 40)!r} names no day, as in {_OTHER_EXAMPLE}")
        for word in words:
            days.setdefault(_date(word), []).extend(spans)
    return MappingProxyType({day: _in_order(spans, str(day)) for day, spans in days.items()})


def people_of_week(text: str) -> Mapping[int, int]:
    """How many work on days of a week, where it is written: `Sat 9:00-16:00 2 people`.

    Raises:
        BenchrunError: As for `week_of`; or they are none, or too many.
    """
    return MappingProxyType(
        {
            day: people
            for piece in _pieces(text)
            if (people := _people(piece)) is not None
            for day in _week_days(_split(piece, _EXAMPLE)[0], piece)
        }
    )


def people_of_days(text: str) -> Mapping[dt.date, int]:
    """How many work on single days, where it is written: `2026-12-06 10:00-14:00 2 people`.

    Raises:
        BenchrunError: As for `days_of`; or they are none, or too many.
    """
    return MappingProxyType(
        {
            _date(word): people
            for piece in _pieces(text)
            if (people := _people(piece)) is not None and not piece.endswith(CLOSED)
            for word in _split(piece, _OTHER_EXAMPLE)[0]
        }
    )


def names_of_week(text: str) -> Mapping[int, tuple[str, ...]]:
    """Who works on days of a week, where it is written: `Sat 9:00-16:00 with ada-brook ben-mill`.

    Raises:
        BenchrunError: As for `week_of`.
    """
    return MappingProxyType(
        {
            day: names
            for piece in _pieces(text)
            if (names := _names(piece))
            for day in _week_days(_split(piece, _EXAMPLE)[0], piece)
        }
    )


def names_of_days(text: str) -> Mapping[dt.date, tuple[str, ...]]:
    """Who works on single days, where it is written: `2026-12-06 10:00-14:00 with ada-brook`.

    Raises:
        BenchrunError: As for `days_of`.
    """
    return MappingProxyType(
        {
            _date(word): names
            for piece in _pieces(text)
            if (names := _names(piece)) and not piece.endswith(CLOSED)
            for word in _split(piece, _OTHER_EXAMPLE)[0]
        }
    )


def _names(piece: str) -> tuple[str, ...]:
    """Who works by a piece of hours, each once; empty where it does not say."""
    found = _NAMES.search(piece)
    words = found[1].split() if found else []
    return tuple(dict.fromkeys(word for word in words if word != "and"))


def _people(piece: str) -> int | None:
    """How many work by a piece of hours; None where it does not say."""
    found = _PEOPLE.search(piece)
    if found is None:
        return len(_names(piece)) or None
    if not 1 <= int(found[1]) <= MOST_PEOPLE:
        raise BenchrunError(
            f"{found[0]!r} in {shown(piece, 40)!r}: 1 to {MOST_PEOPLE} people; "
            f"where nobody comes write {CLOSED}"
        )
    return int(found[1])


def with_day(text: str, day: dt.date, times: str) -> str:
    """The hours of single days with those of one day set, and days that are over left out.

    Args:
        text: The hours of single days as they are written.
        day: The day; what lies before it is left out.
        times: Its times, `19:00-22:30`, also with `2 people` or who they are behind; or `closed`.

    Raises:
        BenchrunError: The times are not understood.
    """
    days = {one: spans for one, spans in days_of(text).items() if one > day}
    own = f"{day} {times}"
    days |= days_of(own)
    people, names = people_of_days(text), names_of_days(text)
    kept = {one: people_words(people.get(one), names.get(one, ())) for one in days}
    kept[day] = people_words(people_of_days(own).get(day), names_of_days(own).get(day, ()))
    return ", ".join(f"{one} {times_in_words(days[one])}{kept[one]}" for one in sorted(days))


def people_words(people: int | None, names: tuple[str, ...] = ()) -> str:
    """Who or how many work, as it is written behind times: ` 2 people`, ` with ada-brook`.

    Args:
        people: How many; None where that is not said.
        names: Who, by their ids, where that is said.
    """
    if names:
        return f" with {' '.join(names)}"
    return "" if people is None else f" {people} {'person' if people == 1 else 'people'}"


def times_in_words(spans: tuple[Minutes, ...]) -> str:
    """The times of a day: `9:00-12:00 14:00-18:00`, or `closed`."""
    return " ".join(f"{_clock(start)}-{_clock(end)}" for start, end in spans) or CLOSED


def _clock(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


def _pieces(text: str) -> list[str]:
    return [" ".join(piece.split()) for piece in text.split(",") if piece.strip()]


def _split(piece: str, example: str) -> tuple[list[str], list[Minutes]]:
    """The days of a piece, and its times."""
    spans = [_minutes(found) for found in _SPAN.finditer(piece)]
    words = _PEOPLE.sub(" ", _SPAN.sub(" ", _NAMES.sub("", piece))).split()
    if not spans:
        raise BenchrunError(f"{shown(piece, 40)!r} has no times: write it as in {example}")
    return words, spans


def _minutes(found: re.Match[str]) -> Minutes:
    numbers = [int(number) for number in found.groups()]
    start, end = numbers[0] * 60 + numbers[1], numbers[2] * 60 + numbers[3]
    if max(numbers[1], numbers[3]) > 59 or end > 24 * 60:
        raise BenchrunError(f"{found.group()!r} is no time of a day: from 0:00 to 24:00")
    if start >= end:
        raise BenchrunError(f"{found.group()!r} ends before it begins; past midnight is a next day")
    return start, end


def _week_days(words: list[str], piece: str) -> list[int]:
    days: list[int] = []
    for word in words:
        first, dash, last = word.replace("–", "-").partition("-")
        one, other = _week_day(first, piece), _week_day(last or first, piece)
        days += [(one + step) % 7 for step in range((other - one) % 7 + 1)] if dash else [one]
    if not days:
        raise BenchrunError(f"{shown(piece, 40)!r} names no day, as in {_EXAMPLE}")
    return days


def _week_day(word: str, piece: str) -> int:
    for number, name in enumerate(DAYS):
        if word.lower().startswith(name.lower()):
            return number
    where = f"{shown(word, 20)!r} in {shown(piece, 40)!r}"
    raise BenchrunError(f"{where} is no day: {', '.join(DAYS)}, as in {_EXAMPLE}")


def _date(word: str) -> dt.date:
    try:
        return dt.date.fromisoformat(word)
    except ValueError:
        raise BenchrunError(
            f"{shown(word, 20)!r} is no day: year-month-day, as in {_OTHER_EXAMPLE}"
        ) from None


def _in_order(spans: list[Minutes], day: str) -> tuple[Minutes, ...]:
    ordered = sorted(spans)
    for before, after in pairwise(ordered):
        if after[0] < before[1]:
            times = times_in_words((before, after)).replace(" ", " and ")
            raise BenchrunError(f"the times of {day} overlap: {times}")
    return tuple(ordered)
