"""Times, limits and values in words; a time without an end is never a lateness of nothing."""

import datetime as dt

import pytest

from benchrun.moment import Elapsed, utc_ms
from benchrun.wording import (
    clock_time,
    elapsed_words,
    grouped,
    late_words,
    minute_words,
    misgivings_words,
    past_words,
    ruling_words,
    time_limits,
    timing_words,
    unfit_words,
    value_words,
)

MIN = 60_000
OPEN = "machine was off, longest time unknown"


@pytest.mark.parametrize(
    ("proven", "possible", "told_late", "words"),
    [
        (None, None, False, ""),
        (9 * MIN, 9 * MIN, False, "9 min"),
        (9 * MIN, 9 * MIN + 400, False, "9 min"),
        (9 * MIN, 14 * MIN, False, "between 9 min and 14 min (machine restarted)"),
        (9 * MIN, 14 * MIN, True, "between 9 min and 14 min (late entry)"),
        (9 * MIN, None, False, f"at least 9 min; {OPEN}"),
        (9 * MIN, None, True, f"at least 9 min; {OPEN}"),
    ],
)
def test_how_long_it_was(proven, possible, told_late, words):
    assert elapsed_words(proven, possible, told_late=told_late) == words


@pytest.mark.parametrize(
    ("spent", "words"),
    [
        (240 * MIN + 12_000, "4 h 0 min 12 s"),
        (240 * MIN + 340, "4 h 0 min 0.3 s"),
        (240 * MIN, "4 h"),
        (241 * MIN, "4 h 01 min"),
        (72 * 60 * MIN + 1000, "3 d 0 h 0 min 1 s"),
        (10 * MIN + 400, "10 min 0.4 s"),
    ],
)
def test_a_time_beside_a_limit_never_reads_as_the_limit_which_it_is_not(spent, words):
    limits = (10 * MIN, 240 * MIN, 72 * 60 * MIN, None)
    assert elapsed_words(spent, spent, beside=limits) == words


@pytest.mark.parametrize(
    ("proven", "possible", "words"),
    [
        (19 * MIN, 19 * MIN, "in time, 1 min left"),
        (20 * MIN, 20 * MIN, "in time, 0 s left"),
        (21 * MIN, 21 * MIN, "late by 1 min"),
        (21 * MIN, 23 * MIN, "late by 1 min to 3 min"),
        (21 * MIN, None, f"late by at least 1 min; {OPEN}"),
        (20 * MIN, None, f"could be late: at least 20 min; {OPEN}"),
        (15 * MIN, 21 * MIN, "could be late: between 15 min and 21 min (machine restarted)"),
        (10 * MIN, 10 * MIN, "in time, 10 min left"),
        (9 * MIN, 9 * MIN, "too early, 1 min to go"),
        (9 * MIN, 10 * MIN, "could be early: between 9 min and 10 min (machine restarted)"),
        (9 * MIN, None, f"could be early or late: at least 9 min; {OPEN}"),
    ],
)
def test_how_a_running_time_stands_between_ten_and_twenty_minutes(proven, possible, words):
    assert timing_words(Elapsed(proven, possible), 10 * MIN, 20 * MIN) == words


def test_a_running_time_with_one_limit_or_none():
    known, open_ended = Elapsed(9 * MIN, 9 * MIN), Elapsed(9 * MIN, None)
    assert timing_words(known, None, None) == "no limit"
    assert timing_words(known, 9 * MIN, None) == "in time"
    assert timing_words(open_ended, 9 * MIN, None) == f"in time: at least 9 min; {OPEN}"
    assert timing_words(open_ended, None, None) == f"in time: at least 9 min; {OPEN}"
    late = timing_words(known, None, 5 * MIN, Elapsed(6 * MIN, 6 * MIN))
    assert late == "late by 1 min"


@pytest.mark.parametrize(
    ("proven", "possible", "words"),
    [
        (21 * MIN, 21 * MIN, "1 min past 20 min"),
        (21 * MIN, None, "at least 1 min past 20 min; machine was off"),
        (20 * MIN, None, "may be past 20 min: at least 20 min; machine was off"),
    ],
)
def test_an_alarm_says_how_far_it_is_past(proven, possible, words):
    assert past_words(Elapsed(proven, possible), 20 * MIN) == words


def test_what_is_in_time_is_not_late():
    assert late_words(Elapsed(20 * MIN, 20 * MIN), 20 * MIN) == ""


def test_limits_values_rulings_and_misgivings():
    assert time_limits(10 * MIN, 20 * MIN) == "10 min to 20 min"
    assert time_limits(10 * MIN, None) == "at least 10 min"
    assert time_limits(None, 20 * MIN) == "at most 20 min"
    assert time_limits(None, None) == ""
    assert ruling_words("perhaps late") == "could be late"
    assert ruling_words("inside") == "inside"
    assert value_words("20", "degC") == "20 °C"
    assert value_words(None, "", "crack") == "crack"
    assert misgivings_words("tin-1: lot 4", ["is empty"]) == "tin-1: lot 4; it is empty"
    assert minute_words("2026-03-02T17:30:59.999Z") == "2026-03-02 17:30"
    assert unfit_words("tin-1", ("was good until May", "is empty")) == (
        "tin-1 was good until May; it is empty"
    )


WEDNESDAY = utc_ms("2026-11-25T14:00:00.000Z")


@pytest.mark.parametrize(
    ("utc", "words"),
    [
        ("2026-11-25T15:00:00.999Z", "15:00 today"),
        ("2026-11-25T15:00:00.000Z", "15:00"),
        ("2026-11-25T13:00:00.000Z", "13:00"),
        ("2026-11-25T12:59:59.999Z", "12:59 today"),
        ("2026-11-24T23:59:59.000Z", "23:59 yesterday"),
        ("2026-11-23T14:00:00.000Z", "23 Nov 14:00"),
        ("2026-11-26T20:01:00.000Z", "20:01 tomorrow"),
        ("2026-11-27T20:01:00.000Z", "Fri 20:01"),
        ("2026-12-01T20:01:00.000Z", "Tue 20:01"),
        ("2026-12-02T20:01:00.000Z", "2 Dec 20:01"),
    ],
)
def test_a_time_of_day_says_its_day_where_it_is_more_than_an_hour_away(utc, words):
    assert clock_time(utc_ms(utc), WEDNESDAY, dt.UTC) == words
    assert clock_time(utc_ms(utc), WEDNESDAY, dt.UTC, day=False) == utc[11:16]


def test_the_day_of_a_time_is_that_of_its_zone():
    east = dt.timezone(dt.timedelta(hours=9))
    assert clock_time(utc_ms("2026-11-25T16:30:00.000Z"), WEDNESDAY, east) == "01:30 tomorrow"


def test_parts_stand_under_what_is_true_of_them_in_the_order_in_which_it_comes_up():
    words = {"a": "worn", "b": "good", "c": "worn"}
    assert grouped(words) == (("worn", ("a", "c")), ("good", ("b",)))
