"""How long somebody is in the shop today: asked on one key, kept among the hours of single days."""

import datetime as dt
import re
from collections.abc import Generator
from typing import Final

from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import Flow, Say, Turn, called, choose, text
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.shop.folder import Shop
from benchrun.shop.hours import (
    CLOSED,
    MOST_PEOPLE,
    Hours,
    people_words,
    times_in_words,
    with_day,
)
from benchrun.shop.people import read_people
from benchrun.shop.settings import hours_of, read_settings, settings_in_words
from benchrun.signing_keys import change_settings
from benchrun.text import shown

_NOT_SET: Final = (
    "The shop's hours of the week are not set yet: type them under settings, as Tue Thu 19:00-22:30"
)
_TIME: Final = re.compile(r"(\d{1,2})[:.]?(\d{2})")


def today_in_words(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """When the shop is attended today: `19:00-22:30 2 people`, `closed`, or that none are kept."""
    hours, day = hours_of(shop), _local(now, zone).date()
    if not hours.known:
        return "no hours are kept"
    return times_in_words(hours.on(day)) + people_words(hours.people_on(day), hours.names_on(day))


def stay_today(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> Flow:
    """Ask until when somebody is here today and how many work, and keep it.

    Args:
        shop: The shop.
        now: The moment.
        zone: The time zone of the hours; None: that of this machine.
    """
    if not hours_of(shop).known:
        yield Say(_NOT_SET, strong=True)
        return False
    words = today_in_words(shop, now, zone)
    title = f"Here today until (hours today: {words}), such as 2230; 0: nobody today"
    typed = yield from text(Text(title))
    if not typed:
        return False
    try:
        times = times_until(typed, hours_of(shop), _local(now, zone))
        if times != CLOSED:
            usual = people_today(shop, now, zone)
            many = yield from text(Text("How many work today", offered=str(usual)))
            if not many:
                return False
            named = yield from _who(shop, many)
            if named is None:
                return False
            times += people_typed(many, read_settings(shop).people, usual, named)
        yield from called(lambda: keep_today(shop, times, _local(now, zone).date()), once=True)
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False
    yield Say(f"Hours today: {times}.")
    return True


def people_today(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> int:
    """How many work today, by the hours or else as usual."""
    said = hours_of(shop).people_on(_local(now, zone).date())
    return read_settings(shop).people if said is None else said


def _who(shop: Shop, many: str) -> Generator[Turn, object, tuple[str, ...] | None]:
    """Ask who works, by their ids, where it decides what can be signed; empty: not said.

    Where all are here, or all may do the same, their number says enough.
    """
    left = list(read_people(shop))
    number = int(many) if many.isascii() and many.isdigit() else len(left)
    if not 0 < number < len(left) or len({frozenset(one.roles) for one in left}) == 1:
        return ()
    named: list[str] = []
    while len(named) < number:
        options = [Option(one.name, ", ".join(one.roles)) for one in left]
        options.append(Option("Not said", "their number alone is kept"))
        place = yield from choose(
            Choose(f"Who works today, {len(named) + 1} of {number}", tuple(options))
        )
        if place is None:
            return None
        if place == len(left):
            return ()
        named.append(left.pop(place).id)
    return tuple(named)


def people_typed(typed: str, usual: int, said: int, named: tuple[str, ...] = ()) -> str:
    """How many work as it is kept behind the times of a day; empty where it is as usual.

    Args:
        typed: What was typed.
        usual: How many work where the hours say nothing.
        said: How many work that day by the hours as they are kept.
        named: Who works, by their ids, where that is said.

    Raises:
        BenchrunError: It is no number of people.
    """
    number = typed.strip()
    if not (number.isascii() and number.isdigit() and 1 <= int(number[:4]) <= MOST_PEOPLE):
        raise BenchrunError(f"{shown(typed, 20)!r} is no number of people: 1 to {MOST_PEOPLE}")
    many = int(number)
    if named:
        return people_words(many, named)
    return "" if many == usual == said else people_words(many)


def times_until(typed: str, hours: Hours, local: dt.datetime) -> str:
    """The times of today for somebody who is here until a time of day.

    Args:
        typed: `22:30`, `2230` or `22.30`; `0` or `closed` for nobody today.
        hours: The hours as they are kept: what they say of the beginning stands.
        local: Now, in local time.

    Raises:
        BenchrunError: It is no time of the day that is still to come.
    """
    if typed.strip() in ("0", CLOSED):
        return CLOSED
    found = _TIME.fullmatch(typed.strip())
    until = int(found[1]) * 60 + int(found[2]) if found and int(found[2]) < 60 else None
    minute = local.hour * 60 + local.minute
    if until is None or until > 24 * 60:
        raise BenchrunError(f"{shown(typed, 20)!r} is no time of day: type it as 22:30 or 2230")
    if until <= minute:
        raise BenchrunError(f"{typed} is past: it is {local:%H:%M}")
    today = hours.on(local.date())
    kept = [span for span in today if span[1] <= minute]
    begun = [start for start, end in today if start <= minute < end]
    later = [start for start, _ in today if minute < start < until]
    start = min([*begun, *(later if not begun else [])], default=minute)
    return times_in_words((*kept, (start, until)))


def keep_today(shop: Shop, times: str, day: dt.date) -> None:
    """Keep the times of one day in the shop's settings; days that are over leave them.

    Raises:
        BenchrunError: No hours of the week are kept, or the file cannot be written.
    """
    settings = settings_in_words(shop)
    if not settings["hours"]:
        raise BenchrunError(_NOT_SET)
    change_settings(shop, {"other hours": with_day(settings["other hours"], day, times)})


def _local(now: Moment, zone: dt.tzinfo | None) -> dt.datetime:
    return dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC).astimezone(zone)
