"""How long a plan takes: of sixteen parts, and after an entry against one key press."""

import statistics
import time

import pytest
from plan_runs import JOB, Shop
from plan_shops import shop, workload_of
from played import ETCH, PAINT, PRESS, courses

from benchrun.plan.list_plan import list_plan
from benchrun.run.commands import Do

pytestmark = pytest.mark.bench
AIM_S = 0.020


def cpu(work, times=9):
    took = []
    for _ in range(times):
        began = time.process_time()
        work()
        took.append(time.process_time() - began)
    return statistics.median(took)


def test_the_first_plan_of_sixteen_parts(tmp_path):
    evenings = Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")
    evenings.begin(JOB, [f"arm {number}" for number in range(1, 9)])
    evenings.begin(evenings.ETCH, [f"arm {number}" for number in range(9, 17)])
    evenings.plan()
    evening = evenings.plan()
    first = cpu(lambda: list_plan(evening.workload, rounds=0))
    rounds = cpu(lambda: list_plan(evening.workload), times=3)
    trains = len(evening.workload.trains)
    print(f"\n{trains} trains: first plan {first * 1000:.1f} ms ({first / AIM_S:.2f} of 20 ms)")
    print(f"with its rounds {rounds * 1000:.0f} ms")


@pytest.mark.parametrize("name", ["small", "middle"])
def test_the_invented_shops(name):
    workload = workload_of(shop(name))
    first, rounds = (
        cpu(lambda: list_plan(workload, rounds=0)),
        cpu(lambda: list_plan(workload), times=3),
    )
    print(f"\n{name}: first plan {first * 1000:.1f} ms, with its rounds {rounds * 1000:.0f} ms")


def test_planning_anew_after_an_entry_against_one_entry(tmp_path):
    evenings = Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")
    session = evenings.begin(JOB, [f"arm {number}" for number in range(1, 9)])
    entries, plans = [], []
    for number in range(1, 9):
        began = time.perf_counter()
        evenings.give(session, Do("first", (f"arm {number}",), seen=0))
        entries.append(time.perf_counter() - began)
        began = time.perf_counter()
        list_plan(evenings.plan().workload, rounds=0)
        plans.append(time.perf_counter() - began)
    entry, plan = statistics.median(entries), statistics.median(plans)
    print(f"\nreading and planning anew {plan * 1000:.1f} ms, {plan / entry:.1f} of one entry")


COURSES = 200
SHOPS = {
    "six parts": ((ETCH, 3), (PAINT, 2), (PRESS, 1)),
    "nine parts": ((ETCH, 4), (PAINT, 3), (PRESS, 2)),
}


@pytest.mark.parametrize("name", SHOPS)
@pytest.mark.timeout(3600)
def test_plans_played_forward_through_the_real_rules(name):
    count = sum(parts for _, parts in SHOPS[name])
    by_plan, by_next, parts, lasts = courses(COURSES, SHOPS[name])
    inside, lasting = parts / (COURSES * count), lasts / COURSES
    print(
        f"\n{name}, {COURSES} courses: windows missed {by_plan} by the plan, {by_next} by always "
    )
    print(f"taking the next step; parts done on a day told {inside:.0%}, the last {lasting:.0%}")
