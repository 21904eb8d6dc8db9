"""Plans of invented shops: sound by a checker written apart, and always the same."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_shops import lot_sizes, shop, told, workload_of

from benchrun.plan.list_plan import list_plan
from benchrun.plan.score import faults
from benchrun.plan.workload import (
    Attendance,
    Gap,
    Late,
    PlannedJob,
    Segment,
    Train,
    VesselHold,
    Workload,
)

DAY = 1440


@pytest.mark.parametrize(
    ("name", "missed", "parts"), [("small", 1, [3, 2, 1]), ("middle", 2, [6, 4, 3, 2, 1])]
)
def test_the_invented_shops_are_planned_with_few_windows_missed(name, missed, parts):
    data = shop(name)
    assert [run["parts"] for run in data["runs"]] == parts
    workload = workload_of(data)
    plan = list_plan(workload)
    assert faults(workload, plan) == [], told(workload, plan)
    assert len(plan.late) <= missed, told(workload, plan)


def test_without_a_missed_window_the_small_shop_takes_three_days_more():
    workload = workload_of(shop("small"))
    axle = workload.jobs[0]
    careful, sooner = list_plan(workload), list_plan(workload, soonest=True)
    assert faults(workload, sooner) == []
    assert (len(careful.late), len(sooner.late)) == (0, 1)
    ends = [plan.finish(workload, axle) // DAY + 1 for plan in (careful, sooner)]
    assert ends == [16, 13]
    assert sooner.late["A/coat1/1"].late.words == "rub bright again"


def test_the_same_shop_gives_the_same_plan():
    workload = workload_of(shop("middle"))
    assert list_plan(workload, rounds=10) == list_plan(workload_of(shop("middle")), rounds=10)


def two_coats(most, openings, before=0):
    trains = (
        Train("one", "r", "coat 1", 2, (Segment(30, hands=True),)),
        Train("two", "r", "coat 2", 2, (Segment(30, hands=True),)),
    )
    late = Late("scuff first", 12, 60)
    gaps = (Gap("two", "one", least=150, most=most, late=late, words="recoat"),)
    return Workload(before, openings, 1, {}, trains, gaps, reserve=0)


def test_an_opener_is_begun_later_on_purpose_so_that_its_window_is_kept():
    evenings = ((19 * 60, 21 * 60), (DAY + 19 * 60, DAY + 22 * 60 + 30))
    plan = list_plan(two_coats(23 * 60, evenings))
    assert (plan.starts["one"], plan.starts["two"]) == (20 * 60, DAY + 19 * 60)
    assert plan.late == {}


def test_where_no_evening_keeps_the_window_it_is_given_up_and_told_with_its_work():
    workload = two_coats(200, ((19 * 60, 20 * 60), (2 * DAY + 19 * 60, 2 * DAY + 20 * 60)))
    plan = list_plan(workload)
    assert faults(workload, plan) == []
    assert list(plan.late) == ["two"]
    assert plan.starts["two"] == 2 * DAY + 19 * 60
    assert plan.work_of(workload, "two") == plan.starts["two"] + 12


def test_a_train_longer_than_any_opening_is_told_with_both_times():
    trains = (Train("long", "r", "heat and press", 1, (Segment(300, hands=True),)),)
    plan = list_plan(Workload(0, ((0, 210),), 1, {}, trains, ()))
    assert plan.unplaced == {"long": "takes 300 min; the longest opening leaves 200 min"}


def test_more_parts_than_a_vessel_holds_are_told():
    trains = (Train("etch", "r", "etch", 5, (Segment(15, hands=True, vessel="tub"),)),)
    plan = list_plan(Workload(0, ((0, 210),), 1, {"tub": 4}, trains, ()))
    assert plan.unplaced == {"etch": "5 parts do not fit into the tub"}


def test_a_load_that_is_in_keeps_its_place_until_it_is_taken_out():
    trains = (
        Train("out", "a", "take out", 3, (Segment(5, hands=True),)),
        Train("in", "b", "etch", 3, (Segment(15, hands=True, vessel="tub"),)),
    )
    gaps = (Gap("out", "", since=0, least=40),)
    workload = Workload(
        0, ((0, 210),), 2, {"tub": 4}, trains, gaps, (VesselHold("tub", 3, "", 0, "out"),)
    )
    plan = list_plan(workload)
    assert faults(workload, plan) == []
    assert plan.starts == {"out": 40, "in": 40}


@pytest.mark.parametrize(("count", "holds", "sizes"), [(6, 4, [3, 3]), (7, 3, [3, 2, 2])])
def test_loads_are_as_even_as_can_be(count, holds, sizes):
    assert lot_sizes(count, holds) == sizes


def wanting(train, luck):
    """A train that may want a role, or two people."""
    roles = luck.choice([(), (), (), ("smith",), ("painter",)])
    return replace(train, roles=frozenset(roles), people=luck.choice([1, 1, 1, 2]))


def random_workload(luck):
    vessels = {"tub": 4, "rail": 6}
    trains, gaps, holds, jobs = [], [], [], []
    for run in "ABCD"[: 1 + luck.randrange(4)]:
        count, last = 1 + luck.randrange(4), ""
        for at in range(1 + luck.randrange(6)):
            segments = [Segment(luck.randrange(1, 40), hands=True)]
            if luck.random() < 0.4:
                segments.append(Segment(luck.randrange(1, 60), luck.random() < 0.5, "tub"))
            train = Train(f"{run}{at}", run, f"work {at}", count, tuple(segments), 0)
            trains.append(train)
            if last:
                most = luck.choice([None, 60, 240, 1440])
                wait = luck.choice([0, 0, 30, 120])
                late = Late("again", luck.randrange(0, 20), luck.randrange(1, 300))
                least = next(one.minutes for one in trains if one.id == last) + wait
                most = None if most is None else least + most
                gaps.append(Gap(train.id, last, 0, least, most, late))
                if luck.random() < 0.2:
                    holds.append(VesselHold("rail", count, last, 0, train.id))
            elif luck.random() < 0.3:
                late = Late("again", 5, 50)
                gaps.append(Gap(train.id, "", 0, 0, luck.randrange(0, 3000), late))
            last = train.id
        jobs.append(PlannedJob(run, (run,), luck.choice([None, 3 * DAY])))
    openings = []
    at = luck.randrange(0, 600)
    for _ in range(12):
        openings.append((at, at + luck.randrange(60, 420)))
        at = openings[-1][1] + luck.randrange(60, 3000)
    people = 1 + luck.randrange(2)
    fewer = [(*span, 1) for span in openings if people == 2 and luck.random() < 0.3]
    here = {
        span: Attendance(
            people - ((*span, 1) in fewer),
            luck.choice([None, frozenset(), frozenset({"smith"}), frozenset({"smith", "painter"})]),
        )
        for span in openings
    }
    trains = [wanting(train, luck) for train in trains]
    return Workload(
        openings[0][0],
        tuple(openings),
        people,
        vessels,
        tuple(trains),
        tuple(gaps),
        tuple(holds),
        tuple(jobs),
        fewer=tuple(fewer),
        here=here,
    )


@given(st.integers(0, 2**32))
@settings(max_examples=150)
def test_plans_of_random_shops_have_no_fault_and_tell_every_missed_window(seed):
    workload = random_workload(random.Random(seed))
    for soonest in (False, True):
        plan = list_plan(workload, rounds=3, soonest=soonest)
        assert faults(workload, plan) == [], told(workload, plan)
        assert set(plan.starts) | set(plan.unplaced) == {train.id for train in workload.trains}
