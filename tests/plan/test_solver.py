"""The solver's plans: never worse than the list's, as good as trying everything, proven right."""

import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from job_shops import FT06, LA01, LA06, job_shop
from plan_shops import shop, told, workload_of
from test_list_plan import random_workload, wanting

from benchrun.plan.list_plan import list_plan
from benchrun.plan.score import faults
from benchrun.plan.solver import has_solver, proved_plan
from benchrun.plan.workload import (
    SOONER,
    Attendance,
    Gap,
    Late,
    PlannedJob,
    Segment,
    Train,
    VesselHold,
    Workload,
)

pytestmark = pytest.mark.skipif(not has_solver(), reason="the extra `plan` is not installed")


@pytest.mark.parametrize(
    ("name", "text", "soonest"),
    [
        ("ft06, Fisher and Thompson 1963", FT06, 55),
        ("la01, Lawrence 1984", LA01, 666),
        ("la06, Lawrence 1984", LA06, 926),
    ],
)
def test_published_job_shops_come_to_their_published_ends_and_that_is_proven(name, text, soonest):
    workload = job_shop(text)
    proof = proved_plan(workload, list_plan(workload, rounds=0), rounds=0, effort=0.5)
    assert faults(workload, proof.plan) == [], name
    assert proof.soonest, name
    assert proof.plan.ends(workload) == SOONER * soonest, name


@pytest.mark.parametrize(("name", "missed"), [("small", 0), ("middle", 1)])
def test_the_invented_shops_miss_as_few_windows_as_can_be_and_that_is_proven(name, missed):
    workload = workload_of(shop(name))
    listed = list_plan(workload)
    proof = proved_plan(workload, listed, rounds=0, effort=0.5)
    assert faults(workload, proof.plan) == [], told(workload, proof.plan)
    assert proof.fewest
    assert len(proof.plan.late) == missed, told(workload, proof.plan)
    assert not proof.plan.unplaced
    assert proof.plan.worth(workload) <= listed.worth(workload)


def test_the_same_shop_gives_the_same_proof():
    one, other = (workload_of(shop("small")) for _ in range(2))
    assert proved_plan(one, list_plan(one)) == proved_plan(other, list_plan(other))


def test_out_of_effort_the_plan_of_the_list_stands_and_nothing_is_called_proven():
    workload = workload_of(shop("middle"))
    listed = list_plan(workload, rounds=0)
    proof = proved_plan(workload, listed, effort=1e-9, rounds=0)
    assert not proof.fewest
    assert proof.plan.worth(workload) <= listed.worth(workload)
    assert faults(workload, proof.plan) == []


def test_what_has_no_place_at_all_is_still_told_and_the_rest_is_planned():
    trains = (
        Train("long", "a", "heat and press", 1, (Segment(300, hands=True),)),
        Train("after", "a", "look", 1, (Segment(5, hands=True),)),
        Train("short", "b", "wipe", 1, (Segment(20, hands=True),)),
    )
    gaps = (Gap("after", "long", least=300),)
    workload = Workload(0, ((0, 210),), 1, {}, trains, gaps, jobs=(PlannedJob("b", ("b",)),))
    proof = proved_plan(workload, list_plan(workload))
    assert proof.plan.starts == {"short": 0}
    assert proof.plan.unplaced["long"] == "takes 300 min; the longest opening leaves 200 min"


def small_shop(luck):
    """A few trains in two or three short openings; every choice of minutes can be tried."""
    trains, gaps, holds, jobs = [], [], [], []
    for run in "AB"[: 1 + luck.randrange(2)]:
        parts, last = 1 + luck.randrange(2), None
        for at in range(1 + luck.randrange(2 if run == "B" else 3)):
            segments = [Segment(1 + luck.randrange(3), hands=True)]
            if luck.random() < 0.5:
                segments.append(Segment(1 + luck.randrange(3), luck.random() < 0.3, "tub"))
            train = Train(f"{run}{at}", run, f"work {at}", parts, tuple(segments))
            trains.append(train)
            late = Late("again", luck.randrange(3), 1 + luck.randrange(9))
            if last is not None:
                least = last.minutes + luck.choice([0, 0, 1, 3])
                most = luck.choice([None, least, least + 2, least + 5])
                gaps.append(Gap(train.id, last.id, 0, least, most, late))
                if luck.random() < 0.3:
                    holds.append(VesselHold("rail", parts, last.id, last.minutes - 1, train.id))
            elif luck.random() < 0.3:
                gaps.append(Gap(train.id, "", 0, 0, luck.randrange(8), late))
            last = train
        due = luck.choice([None, 12])
        jobs.append(PlannedJob(run, (run,), due, 1 + luck.randrange(2)))
    openings, at = [], luck.randrange(3)
    for _ in range(2 + luck.randrange(2)):
        openings.append((at, at + 5 + luck.randrange(5)))
        at = openings[-1][1] + 1 + luck.randrange(9)
    people = 1 + luck.randrange(2)
    rooms, reserve = {"tub": 2, "rail": 3}, luck.randrange(2)
    some = [None, frozenset({"smith"}), frozenset({"smith", "painter"})]
    here = {span: Attendance(1 + luck.randrange(people), luck.choice(some)) for span in openings}
    fewer = tuple((*span, 1) for span, one in here.items() if one.people < people)
    if luck.random() < 0.5:
        trains = [wanting(train, luck) for train in trains]
    return Workload(
        openings[0][0], tuple(openings), people, rooms, tuple(trains), tuple(gaps),
        tuple(holds), tuple(jobs), reserve=reserve, fewer=fewer, here=here,
    )  # fmt: skip


class Everything:
    """Every plan of a small shop, tried one after the other; written apart from both engines."""

    def __init__(self, workload):
        self.workload, self.best = workload, None
        self.work, self.extra, self.late = {}, {}, {}

    def tried(self):
        self._next(0)
        return self.best

    def _next(self, at):
        trains = self.workload.trains
        if at == len(trains):
            value = self._value()
            if self._rooms_hold() and (self.best is None or value < self.best):
                self.best = value
            return
        train = trains[at]
        gaps = [gap for gap in self.workload.gaps if gap.after == train.id]
        for opens, closes in self.workload.openings:
            if not self._somebody(train, self.workload.here[opens, closes]):
                continue
            for start in range(opens, closes - self.workload.reserve + 1):
                for lets in (None, *(gap for gap in gaps if gap.most is not None)):
                    extra = lets.late.minutes if lets else 0
                    work = start + extra
                    if work + train.minutes <= closes - self.workload.reserve and all(
                        self._keeps(gap, work, lets) for gap in gaps
                    ):
                        self.work[train.id], self.extra[train.id] = work, extra
                        self.late[train.id] = lets
                        if self._hands_hold():
                            self._next(at + 1)
                        del self.work[train.id]

    def _somebody(self, train, here):
        """Whoever the train wants is here: a role of each that it names, and as many as can be."""
        ever = max(one.people for one in self.workload.here.values())
        known = here.roles is None or all(role in here.roles for role in train.roles)
        return known and here.people >= min(train.people, ever)

    def _keeps(self, gap, work, lets):
        since = self.work[gap.before] if gap.before else gap.since
        within = gap.most is None or work - since <= gap.most or gap is lets
        return work - since >= gap.least and within

    def _hands_hold(self):
        busy = {}
        for name, work in self.work.items():
            minutes = list(range(work - self.extra[name], work))
            at = work
            for segment in self.workload.by_id[name].segments:
                minutes += range(at, at + segment.minutes) if segment.hands else []
                at += segment.minutes
            for minute in minutes:
                busy[minute] = busy.get(minute, 0) + 1
        for since, until, missing in self.workload.fewer:
            for minute in range(since, until):
                busy[minute] = busy.get(minute, 0) + missing
        return max(busy.values(), default=0) <= self.workload.people

    def _rooms_hold(self):
        taken = {}
        for name, work in self.work.items():
            train, at = self.workload.by_id[name], work
            for segment in train.segments:
                for minute in range(at, at + segment.minutes) if segment.vessel else ():
                    key = (segment.vessel, minute)
                    taken[key] = taken.get(key, 0) + train.parts
                at += segment.minutes
        for hold in self.workload.holds:
            for minute in range(self.work[hold.since] + hold.lead, self.work[hold.until]):
                taken[hold.vessel, minute] = taken.get((hold.vessel, minute), 0) + hold.room
        return all(room <= self.workload.vessels[vessel] for (vessel, _), room in taken.items())

    def _value(self):
        missed = sum(gap.late.cost + gap.late.minutes for gap in self.late.values() if gap)
        ends = 0
        for job in self.workload.jobs:
            own = [train for train in self.workload.trains if train.run in job.runs]
            end = max(self.work[train.id] + train.minutes for train in own)
            past = max(0, end - job.due) if job.due is not None else 0
            ends += job.weight * (10 * end + 100 * past)
        return missed, ends


def compared(seeds):
    known = 0
    for seed in seeds:
        workload = small_shop(random.Random(seed))
        best = Everything(workload).tried()
        listed = list_plan(workload)
        proof = proved_plan(workload, listed, rounds=0)
        assert faults(workload, proof.plan) == [], (seed, told(workload, proof.plan))
        if best is None:
            assert proof.plan.unplaced, seed
            continue
        known += 1
        found = (proof.plan.missed(), proof.plan.ends(workload))
        assert not proof.plan.unplaced, seed
        assert (found, proof.fewest, proof.soonest) == (best, True, True), seed
    return known


def test_two_hundred_small_shops_are_planned_as_well_as_by_trying_every_plan():
    assert compared(range(200)) > 100


@pytest.mark.long
def test_further_small_shops_are_planned_as_well_as_by_trying_every_plan():
    assert compared(range(1000, 3000)) > 1000


@given(st.integers(0, 2**32))
@settings(max_examples=15)
def test_plans_of_random_shops_are_never_worse_than_those_of_the_list_and_have_no_fault(seed):
    workload = random_workload(random.Random(seed))
    listed = list_plan(workload, rounds=3)
    proof = proved_plan(workload, listed, effort=0.03, rounds=2)
    assert faults(workload, proof.plan) == [], told(workload, proof.plan)
    assert proof.plan.worth(workload) <= listed.worth(workload)
    assert proof.least_missed <= proof.plan.missed()


def test_openings_of_the_small_shops_do_not_overlap():
    for seed in range(40):
        spans = small_shop(random.Random(seed)).openings
        assert all(before[1] < after[0] for before, after in pairwise(spans))
