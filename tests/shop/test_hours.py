"""The hours of a shop as people write them: read, refused with a reason, set for one day."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from benchrun.dialogue.hours import times_until
from benchrun.errors import BenchrunError
from benchrun.shop.hours import (
    CLOSED,
    Hours,
    days_of,
    people_of_days,
    people_of_week,
    times_in_words,
    week_of,
    with_day,
)
from benchrun.shop.settings import hours_of, read_settings

ZONE = ZoneInfo("Europe/Zurich")
MINUTE = 60_000
EVENINGS = Hours(week_of("Tue Thu 19:00-22:30, Sat 9:00-16:00"))


def at(text):
    return int(dt.datetime.fromisoformat(text).replace(tzinfo=ZONE).timestamp()) * 1000


def local(ms):
    return f"{dt.datetime.fromtimestamp(ms / 1000, ZONE):%Y-%m-%d %H:%M}"


def test_openings_follow_each_other_over_the_week():
    found = EVENINGS.openings(at("2026-12-01 20:00"), ZONE)
    told = [(local(one.since_ms), local(one.until_ms)) for one in (next(found) for _ in range(4))]
    assert told == [
        ("2026-12-01 19:00", "2026-12-01 22:30"),
        ("2026-12-03 19:00", "2026-12-03 22:30"),
        ("2026-12-05 09:00", "2026-12-05 16:00"),
        ("2026-12-08 19:00", "2026-12-08 22:30"),
    ]


def test_a_day_that_is_named_goes_before_its_weekday():
    hours = Hours(EVENINGS.week, days_of("2026-12-03 closed, 2026-12-04 10:00-12:00 14:00-18:00"))
    found = hours.openings(at("2026-12-02 08:00"), ZONE)
    told = [local(next(found).since_ms) for _ in range(3)]
    assert told == ["2026-12-04 10:00", "2026-12-04 14:00", "2026-12-05 09:00"]


def test_local_times_stay_when_the_clocks_are_changed():
    hours = Hours(week_of("Sun 1:00-4:00"))
    opening = next(hours.openings(at("2026-10-25 00:00"), ZONE))
    assert (local(opening.since_ms), local(opening.until_ms)) == (
        "2026-10-25 01:00",
        "2026-10-25 04:00",
    )
    assert opening.until_ms - opening.since_ms == 4 * 60 * MINUTE


@pytest.mark.parametrize(
    ("since", "until", "first"),
    [
        ("2026-12-01 23:00", "2026-12-03 18:59", None),
        ("2026-12-01 23:00", "2026-12-03 19:01", "2026-12-03 19:00"),
        ("2026-12-01 20:00", "2026-12-02 20:00", "2026-12-01 20:00"),
        ("2026-12-05 16:00", "2026-12-06 12:00", None),
    ],
)
def test_attended_is_the_first_moment_at_which_somebody_is_there(since, until, first):
    found = EVENINGS.attended(at(since), at(until), ZONE)
    assert (None if found is None else local(found)) == first


def test_ranges_of_days_and_dashes_are_read():
    week = week_of("Mon–Fri 8.00–12.00, Fri 13:00-15:30, Sat-Mon 20:00-24:00")
    assert {day: times_in_words(week[day]) for day in (0, 4, 5, 6)} == {
        0: "8:00-12:00 20:00-24:00",
        4: "8:00-12:00 13:00-15:30",
        5: "20:00-24:00",
        6: "20:00-24:00",
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Tuesday", "has no times: write it as in Tue Thu"),
        ("19:00-22:00", "names no day"),
        ("Tue 22:00-19:00", "ends before it begins"),
        ("Tue 19:00-24:30", "no time of a day"),
        ("Xday 19:00-20:00", "is no day: Mon, Tue"),
        ("Tue 19:00-22:00, Mon-Wed 21:00-23:00", "the times of Tue overlap"),
    ],
)
def test_hours_that_will_not_do_are_refused_with_the_reason(text, said):
    with pytest.raises(BenchrunError, match=said):
        week_of(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("24.12. closed", "year-month-day"),
        ("2026-12-24", "has no times"),
        ("closed", "names no day"),
    ],
)
def test_single_days_that_will_not_do_are_refused(text, said):
    with pytest.raises(BenchrunError, match=said):
        days_of(text)


def test_setting_one_day_leaves_out_what_is_over():
    text = "2026-11-20 closed, 2026-12-24 closed"
    kept = with_day(text, dt.date(2026, 12, 1), "19:00-23:30")
    assert kept == "2026-12-01 19:00-23:30, 2026-12-24 closed"
    assert with_day(kept, dt.date(2026, 12, 1), CLOSED) == "2026-12-01 closed, 2026-12-24 closed"


def test_how_many_work_stands_behind_the_times_and_stays_when_another_day_is_set():
    text = "2026-12-24 closed, 2026-12-06 10:00-14:00 2 people"
    assert people_of_days(text) == {dt.date(2026, 12, 6): 2}
    assert days_of(text)[dt.date(2026, 12, 6)] == ((600, 840),)
    kept = with_day(text, dt.date(2026, 12, 1), "19:00-23:30 1 person")
    assert kept == (
        "2026-12-01 19:00-23:30 1 person, 2026-12-06 10:00-14:00 2 people, 2026-12-24 closed"
    )
    again = with_day(kept, dt.date(2026, 12, 1), "19:00-23:00")
    assert again.startswith("2026-12-01 19:00-23:00, ")
    week = people_of_week("Tue Thu 19:00-22:30, Sat 9:00-16:00 3 people")
    hours = Hours(EVENINGS.week, {}, week, people_of_days(text))
    assert hours.people_on(dt.date(2026, 12, 5)) == 3
    assert hours.people_on(dt.date(2026, 12, 6)) == 2
    assert hours.people_on(dt.date(2026, 12, 1)) is None


def test_nobody_at_all_is_written_as_closed():
    with pytest.raises(BenchrunError, match="where nobody comes write closed"):
        people_of_days("2026-12-06 10:00-14:00 0 people")


@pytest.mark.parametrize(
    ("now", "typed", "times"),
    [
        ("2026-12-01 20:00", "2330", "19:00-23:30"),
        ("2026-12-01 18:00", "21:00", "19:00-21:00"),
        ("2026-12-02 20:15", "22.30", "20:15-22:30"),
        ("2026-12-01 20:00", "0", "closed"),
    ],
)
def test_until_when_today_keeps_when_it_began(now, typed, times):
    when = dt.datetime.fromisoformat(now).replace(tzinfo=ZONE)
    assert times_until(typed, EVENINGS, when) == times


@pytest.mark.parametrize(
    ("typed", "said"), [("1900", "is past"), ("late", "no time of day"), ("2575", "no time")]
)
def test_an_end_that_will_not_do_is_refused(typed, said):
    when = dt.datetime.fromisoformat("2026-12-01 20:00").replace(tzinfo=ZONE)
    with pytest.raises(BenchrunError, match=said):
        times_until(typed, EVENINGS, when)


@pytest.mark.parametrize(
    "lines",
    [
        "hours: Tue 19:00-22:30",
        "  # said below\nhours: Tue 19:00-22:30  # as ever",
        '"hours": Tue 19:00-22:30',
        '"hou\\x72s": Tue 19:00-22:30',
        "? hours\n: Tue 19:00-22:30",
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_hours_are_found_however_their_key_is_written(shop, lines, end):
    path = shop.path / "shop.yaml"
    text = path.read_text() + lines + "\n"
    path.write_bytes(text.replace("\n", end).encode())
    assert hours_of(shop) == read_settings(shop).hours
    assert hours_of(shop).known


def test_a_shop_that_tells_its_hours_in_a_comment_alone_has_none(shop):
    assert "hours:" in (shop.path / "shop.yaml").read_text()
    assert not hours_of(shop).known
