"""How long somebody is in the shop today: asked on one key, kept among the hours of single days."""

import datetime as dt
import re
from typing import Final

from benchrun.dialogue.prompts import Text
from benchrun.dialogue.turns import Flow, Say, called, text
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.shop.folder import Shop
from benchrun.shop.hours import CLOSED, Hours, times_in_words, with_day
from benchrun.shop.settings import hours_of, settings_in_words
from benchrun.signing_keys import change_settings
from benchrun.text import shown

_TIME: Final = re.compile(r"(\d{1,2})[:.]?(\d{2})")


def today_in_words(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """When the shop is attended today: `19:00-22:30`, `closed`, or that no hours are kept."""
    hours = hours_of(shop)
    return times_in_words(hours.on(_local(now, zone).date())) if hours.known else "none kept"


def stay_today(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> Flow:
    """Ask until when somebody is here today, and keep it.

    Args:
        shop: The shop.
        now: The moment.
        zone: The time zone of the hours; None: that of this machine.
    """
    words = today_in_words(shop, now, zone)
    title = f"Here today until (hours today: {words}), such as 2230; 0: nobody today"
    typed = yield from text(Text(title))
    if not typed:
        return False
    try:
        times = times_until(typed, hours_of(shop), _local(now, zone))
        yield from called(lambda: keep_today(shop, times, _local(now, zone).date()))
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False
    yield Say(f"Hours today: {times}.")
    return True


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
        raise BenchrunError(
            "the shop's hours are not kept: type them under settings, as Tue Thu 19:00-22:30"
        )
    change_settings(shop, {"other hours": with_day(settings["other hours"], day, times)})


def _local(now: Moment, zone: dt.tzinfo | None) -> dt.datetime:
    return dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC).astimezone(zone)
