"""The evening of a shop with real runs: rows with reasons, running clocks kept, the dark told."""

import datetime as dt

import pytest
from plan_runs import JOB, Shop

from benchrun.plan.card import card_html
from benchrun.plan.counterfactual import why_not_now
from benchrun.plan.score import faults
from benchrun.plan.told_plans import ToldPlan, keep_told
from benchrun.plan.words import evening_text, not_tonight, rows_between, train_called
from benchrun.run.commands import Do, PutIn
from benchrun.shopkeeping.data import plan_data

MINUTE = 60_000


@pytest.fixture
def evenings(tmp_path):
    return Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")


def test_coats_whose_window_would_close_in_the_dark_are_not_begun_late_in_the_evening(evenings):
    evenings.begin(JOB, ["arm 1", "arm 2"])
    evenings.clock.wait(2 * 60 * MINUTE)  # 16:02: two hours and a coat no longer fit in
    evening = evenings.plan()
    assert faults(evening.workload, evening.plan) == []
    text = evening_text(evening, evenings.now, dt.UTC)
    dont = " ".join(text.partition("Do not begin")[2].split())
    assert "Brush on the first coat, arm 1/2" in dont, text
    assert "what it opens would close in the dark" in dont, text
    assert evening.plan.late == {}


def test_why_not_now_tells_the_window_that_would_be_missed_and_the_work_it_adds(evenings):
    evenings.begin(JOB, ["arm 1", "arm 2"])
    evenings.clock.wait(2 * 60 * MINUTE)
    evening = evenings.plan()
    first = train_called(evening, "A1")
    lines = why_not_now(evening, first, evenings.now, dt.UTC)
    assert lines[0] == "Why then: begun sooner, what it opens would close in the dark."
    missed = "1 window more would be missed (first scuff the coat, 5 min more)"
    assert lines[-1] == f"Begun this evening: {missed}."


def test_the_plan_as_data_of_a_shop_with_two_plans_is_the_one_that_was_chosen(evenings):
    evenings.begin(JOB, ["arm 1", "arm 2"])
    evenings.clock.wait(2 * 60 * MINUTE)
    assert evenings.plan().sooner is not None

    def told(soonest=None):
        return plan_data(evenings.shop, evenings.now, soonest=soonest).work

    careful, sooner = told(soonest=False), told(soonest=True)
    assert [one.act for one in careful] == [one.act for one in sooner]
    assert [one.utc[:10] for one in careful[:2]] == ["2026-11-27", "2026-11-27"]
    assert [one.utc[:10] for one in sooner[:2]] == ["2026-11-25", "2026-11-27"]
    assert sooner[-1].utc < careful[-1].utc
    assert [one.late for one in careful] == ["", ""]
    assert [one.late for one in sooner] == ["", "first scuff the coat"]
    assert told() == careful
    keep_told(evenings.shop.path, ToldPlan(evenings.now.utc_ms, {}, soonest=True))
    assert told() == sooner


def test_early_in_the_evening_both_coats_are_planned_two_hours_apart(evenings):
    evenings.begin(JOB, ["arm 1", "arm 2"])
    evening = evenings.plan()
    rows = rows_between(evening, evenings.now.utc_ms, evenings.now.utc_ms + 4 * 60 * MINUTE)
    words = [row.words for row in rows]
    assert words[0].endswith("Brush on the first coat")
    assert any("second coat" in one for one in words)
    first, second = (
        next(row for row in rows if which in row.words) for which in ("first", "second")
    )
    assert 120 * MINUTE <= second.at - first.at <= 130 * MINUTE
    assert second.why.startswith("2 h 00 after")


def test_a_coat_that_is_on_already_has_its_window_kept(evenings):
    session = evenings.begin(JOB, ["arm 1", "arm 2"])
    evenings.give(session, Do("first", ("arm 1", "arm 2"), seen=0))
    evenings.clock.wait(30 * MINUTE)
    evening = evenings.plan()
    row = rows_between(evening, evenings.now.utc_ms, evenings.now.utc_ms + 4 * 60 * MINUTE)[0]
    assert "second coat" in row.words
    assert 89 <= (row.at - evenings.now.utc_ms) / MINUTE <= 91


def test_a_load_that_is_in_is_taken_out_in_time_and_the_next_one_waits_for_the_tub(evenings):
    session = evenings.begin(evenings.ETCH, ["arm 1", "arm 2", "arm 3"])
    evenings.give(session, PutIn("etch", ("arm 1", "arm 2"), seen=0))
    evenings.clock.wait(5 * MINUTE)
    evening = evenings.plan()
    assert faults(evening.workload, evening.plan) == []
    rows = rows_between(evening, evenings.now.utc_ms, evenings.now.utc_ms + 4 * 60 * MINUTE)
    taken = next(row for row in rows if row.parts == "arm 1/2")
    waits = next(row for row in rows if row.parts == "arm 3")
    assert 15 <= (taken.at - evenings.now.utc_ms) / MINUTE <= 25
    assert (waits.at - taken.at) / MINUTE >= -2  # putting it in takes two minutes of hands
    assert waits.why == "the etch tub holds 2"


def test_an_oven_that_somebody_must_end_is_not_begun_so_late_that_it_stands_hot_in_the_dark(
    evenings,
):
    text = evenings.ETCH.replace("{title: etch tub, holds: 2}", "{title: oven, heated: yes}")
    evenings.begin(text.replace("20 min", "2 h").replace("30 min", "3 h"), ["arm 1"])
    evenings.clock.wait(2 * 60 * MINUTE)  # 16:02: the shop closes at 18:00
    evening = evenings.plan()
    until = evenings.now.utc_ms + 2 * 60 * MINUTE
    assert rows_between(evening, evenings.now.utc_ms, until) == []
    words = not_tonight(evening, evenings.now.utc_ms, until)
    assert words == ["A  Keep it wet, arm 1: 108 min were left, this takes 125"], words


def test_a_window_that_has_closed_already_keeps_nobody_from_a_load_that_must_come_out(evenings):
    arms = tuple(f"arm {number}" for number in range(1, 9))
    coats = evenings.begin(JOB, list(arms))
    evenings.give(coats, Do("first", arms, seen=0))
    evenings.clock.wait(48 * 60 * MINUTE + 30 * MINUTE)  # Friday 14:32; the coat's window is over
    etch = evenings.begin(evenings.ETCH.replace("[set aside]", "[go on]"), ["lever 1", "lever 2"])
    evenings.give(etch, PutIn("etch", ("lever 1", "lever 2"), seen=0))
    evenings.clock.wait(18 * MINUTE)
    evening = evenings.plan()
    rows = rows_between(evening, evenings.now.utc_ms, evenings.now.utc_ms + 60 * MINUTE)
    out = next(row for row in rows if row.parts == "lever 1/2")
    assert (out.at - evenings.now.utc_ms) / MINUTE <= 5, rows
    assert out.late == ""


def test_outside_the_hours_a_load_that_is_in_is_taken_out_by_whoever_is_there(evenings):
    session = evenings.begin(evenings.ETCH, ["arm 1", "arm 2"])
    evenings.clock.wait(6 * 60 * MINUTE)  # 20:02: the shop has closed at 18:00
    evenings.give(session, PutIn("etch", ("arm 1", "arm 2"), seen=0))
    evenings.clock.wait(18 * MINUTE)
    evening = evenings.plan()
    assert evening.plan.late == {}
    row = rows_between(evening, evenings.now.utc_ms, evenings.now.utc_ms + 30 * MINUTE)[0]
    assert row.parts == "arm 1/2"
    assert (row.at - evenings.now.utc_ms) / MINUTE <= 5


def test_without_hours_the_plan_says_so_and_nothing_is_kept_from_being_begun(tmp_path):
    shop = Shop(tmp_path, hours="")
    shop.begin(JOB, ["arm 1"])
    evening = shop.plan()
    assert "the hours are not kept" in evening_text(evening, shop.now, dt.UTC)
    assert not_tonight(evening, shop.now.utc_ms, shop.now.utc_ms + 24 * 60 * MINUTE) == []


def test_a_shop_with_nothing_open_has_nothing_to_do(evenings):
    assert "Nothing to do in this time." in evening_text(evenings.plan(), evenings.now, dt.UTC)


def test_the_wall_card_holds_the_rows_of_the_evening_and_loads_nothing(evenings):
    evenings.begin(JOB, ["arm <1>"])
    html = card_html(evenings.plan(), evenings.now, dt.UTC)
    assert "arm &lt;1&gt;" in html
    assert "Wednesday 25 November" in html
    assert "Brush on the first coat" in html
    assert not any(word in html for word in ("http://", "https://", "<script", "<img"))
    import html5lib

    assert html5lib.HTMLParser(strict=True).parse(html) is not None


def test_the_same_runs_give_the_same_plan(evenings):
    evenings.begin(JOB, ["arm 1", "arm 2"])
    evenings.begin(evenings.ETCH, ["arm 3", "arm 4", "arm 5"])
    assert evenings.plan().plan == evenings.plan().plan
