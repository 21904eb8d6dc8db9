"""Set-ups in a plan: what readies the place belongs to the first load of each opening.

Which load that is follows from the plan itself. So a plan is made, what it lacks is counted, and it
is made again; what was counted once stays, so that this comes to an end.
"""

from collections.abc import Callable, Collection, Mapping
from typing import Final

from benchrun.moment import Moment
from benchrun.plan.pieces import RunAhead, SetUp, TrainSet
from benchrun.plan.workload import Schedule, Workload
from benchrun.run.sittings import set_up_by

MOST_PLANS: Final = 6
"""So many plans are made; after that every load has its own set-up."""


def places_ready(runs: Collection[RunAhead], now: Moment) -> frozenset[str]:
    """The places that a set-up of this sitting has readied already."""
    return frozenset(
        f"{ahead.id}/{step.id}"
        for ahead in runs
        for step in ahead.run.route.steps.values()
        if set_up_by(ahead.run, step, now) is not None
    )


def uncounted(
    work: TrainSet, workload: Workload, plan: Schedule, ready: Collection[str]
) -> frozenset[str]:
    """The set-ups that a plan wants and does not count: the first of each place in an opening.

    Args:
        work: The trains with their set-ups.
        workload: What was planned.
        plan: The plan.
        ready: The places that are ready now, until this opening ends.
    """
    first: dict[tuple[int, str], SetUp] = {}
    for one in sorted(work.set_ups, key=lambda one: plan.starts.get(one.train, 0)):
        start = plan.starts.get(one.train)
        if start is not None:
            opening = _opening(workload, start)
            if not (one.place in ready and opening == _opening(workload, workload.now)):
                first.setdefault((opening, one.place), one)
    return frozenset(one.name for one in first.values() if not one.counted)


def planned_with_set_ups(
    trains: Callable[[frozenset[str]], tuple[TrainSet, Workload]],
    plans: Callable[[Workload], Mapping[str, Schedule]],
    ready: Collection[str],
    counted: frozenset[str] = frozenset(),
) -> tuple[TrainSet, Workload, Mapping[str, Schedule]]:
    """Plans that count every set-up which they want.

    Args:
        trains: The trains and the workload, with the set-ups that count.
        plans: The plans of a workload.
        ready: The places that are ready now.
        counted: The set-ups that count in any case.
    """
    for last in range(MOST_PLANS, 0, -1):
        work, workload = trains(counted)
        made = plans(workload)
        lacks = frozenset[str]().union(
            *(uncounted(work, workload, plan, ready) for plan in made.values())
        )
        if not lacks:
            break
        every = frozenset(one.name for one in work.set_ups)
        counted = every if last == 2 else counted | lacks
    return work, workload, made


def _opening(workload: Workload, minute: int) -> int:
    """The number of the opening that a minute lies in, or the next one."""
    known = (at for at, (_, closes) in enumerate(workload.openings) if minute < closes)
    return next(known, len(workload.openings))
