"""How long a plan takes: of sixteen parts, and after an entry against one key press."""

import statistics
import time

import pytest
from plan_runs import JOB, Shop
from plan_shops import large, shop, workload_of
from played import ETCH, PAINT, PRESS, courses

from benchrun.board import look
from benchrun.plan.evening import plan_evening, shop_ahead
from benchrun.plan.list_plan import list_plan
from benchrun.plan.score import faults
from benchrun.plan.solver import has_solver, proved_plan
from benchrun.record.clock import SystemClock
from benchrun.rehearse.sample import alive
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
        runs = look(evenings.shop, evenings.now).open_runs
        ahead = shop_ahead(evenings.shop, runs, evenings.now)
        plan_evening(ahead, evenings.now, rounds=0, ranges=False)
        plans.append(time.perf_counter() - began)
    entry, plan = statistics.median(entries), statistics.median(plans)
    print(f"\nreading and planning anew {plan * 1000:.1f} ms, {plan / entry:.1f} of one entry")


@pytest.mark.parametrize("name", ["small", "middle", "large"])
@pytest.mark.skipif(not has_solver(), reason="the extra `plan` is not installed")
def test_the_gain_of_the_solver_over_the_list(name):
    workload = workload_of(large() if name == "large" else shop(name))
    began = time.process_time()
    listed = list_plan(workload, rounds=20)
    took = time.process_time() - began
    began = time.process_time()
    proof = proved_plan(workload, listed)
    solved = time.process_time() - began
    assert faults(workload, proof.plan) == []
    rows = {"list": listed, "solver": proof.plan}
    print(f"\n{name}, {len(workload.trains)} trains: list {took:.2f} s, solver {solved:.2f} s")
    for which, plan in rows.items():
        days = [plan.finish(workload, job) for job in workload.jobs]
        ends = " ".join("none" if end is None else f"{end / 1440:.1f}" for end in days)
        lost = f", {len(plan.unplaced)} trains without a place" if plan.unplaced else ""
        print(
            f"  {which}: {len(plan.late)} windows missed ({plan.missed()} min){lost}; ends {ends}"
        )
    print(f"  fewest proven {proof.fewest} (least {proof.least_missed}), end {proof.soonest}")


def test_the_first_plan_of_the_sample_shop_with_all_routes(tmp_path):
    clock = SystemClock()
    shop_now = alive(tmp_path / "shop", clock.now())
    now = clock.now()
    runs = look(shop_now, now).open_runs
    ahead = shop_ahead(shop_now, runs, now)
    work = ahead.work(now)
    workload = ahead.workload(work, now)
    took = cpu(lambda: list_plan(workload, rounds=0))
    laid = cpu(lambda: ahead.work(now))
    found = cpu(lambda: shop_ahead(shop_now, runs, now))
    parts = {part for tags in work.parts.values() for part in tags}
    print(
        f"\n{len(parts)} parts, {len(ahead.runs)} runs, {len(workload.trains)} trains: first plan"
    )
    print(
        f"{took * 1000:.1f} ms ({took / AIM_S:.2f} of 20 ms), trains laid in {laid * 1000:.1f} ms,"
    )
    print(f"the books and runs read again in {found * 1000:.1f} ms")


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
