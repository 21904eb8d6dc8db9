"""Set-up once an opening, by its first load; people of one evening; what is overdue."""

import datetime as dt
import itertools

import pytest
from plan_runs import HEAD, Shop

from benchrun.plan.card import card_html
from benchrun.plan.evening import prove_evening
from benchrun.plan.reasons import reason
from benchrun.plan.score import faults
from benchrun.plan.solver import has_solver
from benchrun.plan.words import evening_text, rows_between
from benchrun.run.commands import Do, PutIn
from benchrun.signing_keys import change_settings

MINUTE = 60_000
LOADS = (
    HEAD.format(id="etch-arms", title="Etch arms")
    + """\
      - {do: Lay out gloves and apron and draw the rinse., id: ready, set up: yes}
      - dwell: Keep it wet.
        id: etch
        in: tub
        least: 20 min
        most: 30 min
        late: [set aside]
      - do: Rinse it.
        id: rinse
        window: {after: etch, most: 2 min, late: [set aside]}
"""
)
SENT = (
    HEAD.format(id="send-arms", title="Send arms out")
    + """\
      - dwell: Send the bag to be plated.
        id: away
        at: plater
        aim: 7 d
      - {do: Count them., id: count}
"""
)
HANDS = (
    HEAD.format(id="wipe-arms", title="Wipe arms")
    + """\
      - {do: Wipe it for long., id: wipe}
"""
)


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")


def minutes_of_set_up(evening):
    """The minutes that set-ups take in the plan, by opening."""
    found = {}
    for one in evening.work.set_ups:
        start = evening.plan.starts[one.train]
        at = next(n for n, (_, closes) in enumerate(evening.workload.openings) if start < closes)
        found.setdefault(at, []).append(one.counted)
    return found


def test_loads_of_one_evening_share_one_set_up(shop):
    shop.begin(LOADS, [f"arm {at}" for at in range(1, 7)])  # a tub for two: three loads
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    assert minutes_of_set_up(evening) == {0: [True, False, False]}


def test_a_load_that_goes_to_the_next_evening_has_its_own_set_up(shop):
    shop.clock.wait(170 * MINUTE)  # 16:52: two loads of three fit in
    shop.begin(LOADS, [f"arm {at}" for at in range(1, 7)])
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    ups = minutes_of_set_up(evening)
    assert len(ups) == 2, evening_text(evening, shop.now, dt.UTC)
    assert all(counted.count(True) == 1 for counted in ups.values()), ups


def test_what_was_readied_in_this_sitting_is_not_planned_again_today(shop):
    session = shop.begin(LOADS, ["arm 1", "arm 2", "arm 3", "arm 4"])
    shop.give(session, Do("ready", ("arm 1", "arm 2"), seen=0))
    evening = shop.plan()
    assert minutes_of_set_up(evening) == {0: [False]}


@pytest.mark.skipif(not has_solver(), reason="the extra `plan` is not installed")
def test_the_solver_counts_set_ups_alike(shop):
    shop.clock.wait(170 * MINUTE)
    shop.begin(LOADS, [f"arm {at}" for at in range(1, 7)])
    evening = prove_evening(shop.plan())
    assert faults(evening.workload, evening.plan) == []
    assert all(counted.count(True) >= 1 for counted in minutes_of_set_up(evening).values())


def test_a_second_person_for_one_evening_halves_the_work_and_is_counted_that_day_alone(shop):
    shop.begin(HANDS, [f"arm {at}" for at in range(1, 8)])
    shop.begin(HANDS, [f"lever {at}" for at in range(1, 8)])
    alone = shop.plan()
    shop.shop = change_settings(shop.shop, {"other hours": "2026-11-25 14:00-18:00 2 people"})
    both = shop.plan()
    ends = [
        max(one.plan.end_of(one.workload, name) for name in one.plan.starts)
        for one in (alone, both)
    ]
    assert ends[1] < ends[0]
    assert faults(both.workload, both.plan) == []
    assert both.workload.people == 2
    today = both.workload.openings[0]
    assert all(span[:2] != today for span in both.workload.fewer)
    assert len(both.workload.fewer) == len(both.workload.openings) - 1
    assert "2 people" in evening_text(both, shop.now, dt.UTC).splitlines()[0]


def test_somebody_who_does_not_come_is_not_counted_with(shop):
    shop.shop = change_settings(
        shop.shop, {"people": "2", "other hours": "2026-11-25 14:00-18:00 1 person"}
    )
    shop.begin(HANDS, [f"arm {at}" for at in range(1, 8)])
    shop.begin(HANDS, [f"lever {at}" for at in range(1, 8)])
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    rows = rows_between(evening, shop.now.utc_ms, evening.workload.openings[0][1] * MINUTE)
    for before, after in itertools.pairwise(rows):
        assert before.at + before.minutes * MINUTE <= after.at
    assert "1 person" in evening_text(evening, shop.now, dt.UTC).splitlines()[0]


def test_what_is_overdue_from_outside_is_told_and_takes_no_time_tonight(shop):
    session = shop.begin(SENT, ["arm 1", "arm 2"])
    shop.give(session, PutIn("away", ("arm 1", "arm 2"), seen=0))
    shop.clock.wait(9 * 24 * 60 * MINUTE)  # Friday, two days over
    evening = shop.plan()
    rows = rows_between(evening, shop.now.utc_ms, evening.workload.openings[0][1] * MINUTE)
    assert rows == []
    train = min(evening.plan.starts, key=evening.plan.starts.get)
    assert reason(evening.workload, evening.plan, train, {}) == "not back, 2 days overdue"
    assert faults(evening.workload, evening.plan) == []
    assert "can begin now" not in evening_text(evening, shop.now, dt.UTC)


HOT = (
    HEAD.format(id="dry-arms", title="Dry arms").replace(
        "vessels: {tub: {title: etch tub, holds: 2}}",
        "vessels: {oven: {title: drying oven, holds: 4, heated: yes}}",
    )
    + """\
      - {do: Rinse it., id: rinse}
      - {dwell: Dry it., id: dry, in: oven, least: 1 h, most: 90 min, late: [go on]}
      - {do: Look at it., id: look}
"""
)


def test_what_is_to_be_warmed_up_stands_in_the_plan_with_its_time_until_the_parts_are_in(shop):
    session = shop.begin(HOT, ["arm 1", "arm 2"])
    text = evening_text(shop.plan(), shop.now, dt.UTC)
    assert "To warm up first\n  drying oven by 14:07, for A" in text, text
    assert "<h2>Warm up first</h2>" in card_html(shop.plan(), shop.now, dt.UTC)
    shop.give(session, Do("rinse", ("arm 1",), seen=0))
    shop.give(session, Do("rinse", ("arm 2",), seen=0))
    shop.give(session, PutIn("dry", ("arm 1", "arm 2"), seen=0))
    assert "To warm up" not in evening_text(shop.plan(), shop.now, dt.UTC)


def test_a_load_late_in_its_time_but_still_in_it_is_taken_out_now_and_nothing_is_missed(shop):
    session = shop.begin(LOADS, ["arm 1", "arm 2"])
    shop.give(session, Do("ready", ("arm 1", "arm 2"), seen=0))
    shop.give(session, PutIn("etch", ("arm 1", "arm 2"), seen=0))
    shop.clock.wait(26 * MINUTE)  # of 30 at most
    evening = shop.plan()
    assert evening.plan.late == {}
    assert faults(evening.workload, evening.plan) == []
    assert min(evening.plan.starts.values()) == evening.workload.now


TENDED = LOADS.replace(
    "        least: 20 min\n",
    "        least: 20 min\n        tend: {every: 2 min, do: Turn them.}\n",
)


def test_hands_stay_with_a_load_that_is_in_and_tended_until_it_comes_out(shop):
    session = shop.begin(TENDED, ["arm 1", "arm 2"])
    shop.begin(HANDS, ["lever 1"])
    shop.give(session, Do("ready", ("arm 1", "arm 2"), seen=0))
    shop.give(session, PutIn("etch", ("arm 1", "arm 2"), seen=0))
    shop.clock.wait(5 * MINUTE)
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    now = evening.workload.now
    lever = next(at for name, at in evening.plan.starts.items() if "wipe-arms" in name)
    assert lever >= now + 15  # it waits for hands
    assert "(lies in the vessel now, and is tended)" in evening_text(evening, shop.now, dt.UTC)
    assert evening.plan.late == {}


GO_ON = LOADS.replace("late: [set aside]", "late: [go on]")


@pytest.mark.parametrize("minutes", [5, 26, 45])
def test_a_load_in_acid_is_taken_out_in_time_or_at_once_though_the_procedure_goes_on(shop, minutes):
    session = shop.begin(GO_ON, ["arm 1", "arm 2"])
    for number in range(3):
        shop.begin(HANDS, [f"lever {number}-{at}" for at in range(6)])
    shop.give(session, Do("ready", ("arm 1", "arm 2"), seen=0))
    shop.give(session, PutIn("etch", ("arm 1", "arm 2"), seen=0))
    shop.clock.wait(minutes * MINUTE)
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    out = next(at for name, at in evening.plan.starts.items() if "etch-arms" in name)
    latest = max(30, minutes + 2)
    assert out - evening.workload.now + minutes <= latest, evening_text(evening, shop.now, dt.UTC)
