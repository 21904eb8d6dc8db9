"""A plan made anew keeps still: what has begun stands, and a slip moves little else."""

from dataclasses import replace

import pytest
from plan_shops import shop, told, workload_of

from benchrun.plan.list_plan import list_plan
from benchrun.plan.score import faults
from benchrun.plan.solver import has_solver, proved_plan

DAY = 1440
SLIP = 14
THREE_WEEKS = 21 * DAY


def with_more_weeks(workload):
    """The shop with as many openings again, as a plan of a real shop looks ten weeks ahead."""
    more = tuple((opens + THREE_WEEKS, closes + THREE_WEEKS) for opens, closes in workload.openings)
    return replace(workload, openings=(*workload.openings, *more))


def longer(train):
    segments = list(train.segments)
    first = next(at for at, segment in enumerate(segments) if segment.hands)
    segments[first] = replace(segments[first], minutes=segments[first].minutes + SLIP)
    return replace(train, segments=tuple(segments))


def slipped(workload, plan, name):
    """The shop just after the begin of a train that takes 14 minutes longer than planned."""
    begun = {one for one, start in plan.starts.items() if start <= plan.starts[name]}
    now = plan.starts[name] + 1
    trains = []
    for planned in workload.trains:
        train = longer(planned) if planned.id == name else planned
        if train.id in begun:
            trains.append(replace(train, begun=plan.work_of(workload, train.id)))
        else:
            trains.append(replace(train, not_before=now))
    gaps = [
        replace(gap, least=gap.least + SLIP, most=gap.most and gap.most + SLIP)
        if gap.before == name
        else gap
        for gap in workload.gaps
    ]
    last = {one: start for one, start in plan.starts.items() if one not in begun}
    return replace(workload, now=now, trains=tuple(trains), gaps=tuple(gaps), last=last)


def moved_days(before, after):
    return [
        name
        for name, start in before.starts.items()
        if name in after.starts and after.starts[name] // DAY != start // DAY
    ]


def proved(workload):
    return proved_plan(workload, list_plan(workload, rounds=20), effort=0.15, rounds=2).plan


@pytest.mark.parametrize(
    "planner",
    [
        lambda workload: list_plan(workload, rounds=20),
        pytest.param(proved, marks=pytest.mark.skipif(not has_solver(), reason="no solver")),
    ],
    ids=["list", "solver"],
)
def test_after_a_slip_of_fourteen_minutes_at_most_one_act_changes_its_day(planner):
    workload = with_more_weeks(workload_of(shop("middle")))
    plan = planner(workload)
    order = sorted(plan.starts, key=lambda name: (plan.starts[name], name))
    for name in order[:4]:
        after = slipped(workload, plan, name)
        again = planner(after)
        assert faults(after, again) == [], told(after, again)
        assert len(after.last) >= 37
        assert len(moved_days(plan, again)) <= 1, (name, moved_days(plan, again))
        begun = {train.id: train.begun for train in after.trains if train.begun is not None}
        assert begun.items() <= {one: again.work_of(after, one) for one in begun}.items()


def test_without_a_slip_nothing_moves():
    workload = with_more_weeks(workload_of(shop("middle")))
    plan = list_plan(workload, rounds=20)
    again = list_plan(replace(workload, last=dict(plan.starts)), rounds=20)
    assert again.worth(workload)[:2] <= plan.worth(workload)[:2]
    assert moved_days(plan, again) == []
