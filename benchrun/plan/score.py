"""The faults of a plan, worked out from the workload alone and apart from what makes plans."""

from collections.abc import Iterator

from benchrun.plan.workload import Schedule, VesselHold, Workload


def faults(workload: Workload, plan: Schedule) -> list[str]:
    """Everything in a plan that cannot be done or is not told; none in a sound plan."""
    return [
        *_missing(workload, plan),
        *_outside_hours(workload, plan),
        *_lacks_somebody(workload, plan),
        *_too_many_hands(workload, plan),
        *_overfull(workload, plan),
        *_gaps_broken(workload, plan),
    ]


def _missing(workload: Workload, plan: Schedule) -> Iterator[str]:
    for train in workload.trains:
        if train.id in plan.starts and train.id in plan.unplaced:
            yield f"{train.id} has a place and is told to have none"
        if train.id not in plan.starts and train.id not in plan.unplaced:
            yield f"{train.id} is not in the plan"
        if train.begun is not None and plan.starts.get(train.id) != train.begun:
            yield f"{train.id} was begun at {train.begun} and is planned for another time"


def _outside_hours(workload: Workload, plan: Schedule) -> Iterator[str]:
    for name, start in plan.starts.items():
        train = workload.by_id[name]
        if train.begun is not None:
            continue
        end = plan.end_of(workload, name)
        if start < workload.now or plan.work_of(workload, name) < train.not_before:
            yield f"{name} begins before it may"
        if end > start and not any(
            opens <= start and end <= closes - workload.reserve
            for opens, closes in workload.openings
        ):
            yield f"{name} is not within the hours"


def _lacks_somebody(workload: Workload, plan: Schedule) -> Iterator[str]:
    """Trains in an opening in which nobody has the role that they want, or too few are here."""
    most = max((one.people for one in workload.here.values()), default=1)
    for name, start in plan.starts.items():
        train = workload.by_id[name]
        if train.begun is not None:
            continue
        for (opens, closes), one in workload.here.items():
            if not opens <= start < closes:
                continue
            for role in sorted(train.roles - (train.roles if one.roles is None else one.roles)):
                yield f"{name} wants a {role}, and none is here at {start}"
            if one.people < min(train.people, most):
                yield f"{name} wants {train.people} people, and {one.people} are here at {start}"


def _too_many_hands(workload: Workload, plan: Schedule) -> Iterator[str]:
    changes: list[tuple[int, int]] = []
    for since, until, missing in workload.fewer:
        changes += [(since, missing), (until, -missing)]
    for name, start in plan.starts.items():
        at = plan.work_of(workload, name)
        spans = [(start, at)]
        for segment in workload.by_id[name].segments:
            if segment.hands:
                spans.append((at, at + segment.minutes))
            at += segment.minutes
        for since, until in spans:
            if until > since:
                changes += [(since, 1), (until, -1)]
    busy = 0
    for at, change in sorted(changes):
        busy += change
        if busy > workload.people:
            yield f"at {at} more hands are wanted than there are"


def _overfull(workload: Workload, plan: Schedule) -> Iterator[str]:
    taken: dict[str, list[tuple[int, int]]] = {vessel: [] for vessel in workload.vessels}
    for name in plan.starts:
        train, at = workload.by_id[name], plan.work_of(workload, name)
        for segment in train.segments:
            if segment.vessel:
                taken[segment.vessel] += [(at, train.parts), (at + segment.minutes, -train.parts)]
            at += segment.minutes
    for hold in workload.holds:
        span = _held(workload, plan, hold)
        if span is not None and span[0] < span[1]:
            taken[hold.vessel] += [(span[0], hold.room), (span[1], -hold.room)]
    for vessel, changes in taken.items():
        room = workload.vessels[vessel]
        for at, change in sorted(changes):
            room -= change
            if room < 0:
                yield f"at {at} the {vessel} holds more than it can"


def _held(workload: Workload, plan: Schedule, hold: VesselHold) -> tuple[int, int] | None:
    if hold.since and hold.since not in plan.starts:
        return None
    since = plan.work_of(workload, hold.since) + hold.lead if hold.since else workload.now
    if hold.until in plan.starts:
        return since, plan.work_of(workload, hold.until)
    return since, max(workload.openings[-1][1] if workload.openings else since, since)


def _gaps_broken(workload: Workload, plan: Schedule) -> Iterator[str]:
    for gap in workload.gaps:
        if gap.after not in plan.starts:
            continue
        if gap.before and gap.before not in plan.starts:
            yield f"{gap.after} has a place and {gap.before} before it has none"
            continue
        since = plan.work_of(workload, gap.before) if gap.before else gap.since
        work = plan.work_of(workload, gap.after)
        if workload.by_id[gap.after].begun is not None:
            continue
        if work - since < gap.least:
            yield f"{gap.after} comes too early after {gap.before or 'what was done'}"
        if gap.most is not None and work - since > gap.most and plan.late.get(gap.after) != gap:
            yield f"{gap.after} misses a window and it is not told"
