"""Why a train begins when it does, and not sooner."""

from collections.abc import Mapping

from benchrun.plan.workload import Gap, Schedule, Train, Workload


def reason(workload: Workload, plan: Schedule, name: str, names: Mapping[str, str]) -> str:
    """The first thing that keeps a train from beginning a minute sooner, in a few words.

    Args:
        workload: What was planned.
        plan: The plan.
        name: The train.
        names: What each run is called.
    """
    train, start, work = workload.by_id[name], plan.starts[name], plan.work_of(workload, name)
    if train.waits:
        return train.waits
    if train.begun is not None:
        return "lies in the vessel now, and is tended"
    if start <= workload.now:
        return "can begin now"
    for gap in workload.gaps_to[name]:
        since = plan.work_of(workload, gap.before) if gap.before in plan.starts else gap.since
        if work - since == gap.least and gap.least:
            return _after(workload, gap)
    for hands, until in _busy(workload, plan, name):
        if until == start:
            other = workload.by_id[hands]
            own = other.run == train.run
            return f"hands on {other.words if own else names.get(other.run, other.run)}"
    full = _full(workload, plan, train, work)
    if full:
        return full
    opens = next((opens for opens, _ in workload.openings if opens == start), None)
    if opens is not None:
        return _dark(workload, plan, train, opens)
    return "kept for what follows"


def reason_to_wait(workload: Workload, plan: Schedule, name: str, closes: int) -> str:
    """Why a train that could begin in an opening is planned for a later one, in a few words.

    Args:
        workload: What was planned.
        plan: The plan.
        name: The train.
        closes: The minute at which the opening ends.
    """
    later = [opens for opens, _ in workload.openings if opens >= closes]
    return _dark(workload, plan, workload.by_id[name], min(later, default=closes))


def _after(workload: Workload, gap: Gap) -> str:
    if not gap.before:
        return f"not sooner: {gap.words.removesuffix('.')}" if gap.words else "not sooner"
    before = workload.by_id[gap.before]
    wait = gap.least - before.minutes
    if wait <= 0:
        return "next" if before.run == workload.by_id[gap.after].run else f"after: {before.words}"
    hours, minutes = divmod(wait, 60)
    waited = f"{hours} h {minutes:02d}" if hours else f"{minutes} min"
    return f"{waited} after: {before.words}"


def _busy(workload: Workload, plan: Schedule, but: str) -> list[tuple[str, int]]:
    """The ends of all handwork, with whose it is."""
    ends = []
    for name in plan.starts:
        if name == but:
            continue
        at = plan.work_of(workload, name)
        for segment in workload.by_id[name].segments:
            at += segment.minutes
            if segment.hands:
                ends.append((name, at))
    return ends


def _full(workload: Workload, plan: Schedule, train: Train, work: int) -> str:
    """That a vessel of the train is freed just when the train needs it, with what it holds."""
    at = work
    for segment in train.segments:
        if segment.vessel and at in _freed(workload, plan, segment.vessel, train.id):
            return f"the {segment.vessel} holds {workload.vessels[segment.vessel]}"
        at += segment.minutes
    return ""


def _freed(workload: Workload, plan: Schedule, vessel: str, but: str) -> set[int]:
    """The minutes at which something comes out of a vessel."""
    found = {
        plan.work_of(workload, hold.until)
        for hold in workload.holds
        if hold.vessel == vessel and hold.until in plan.starts and hold.until != but
    }
    for name in plan.starts:
        at = plan.work_of(workload, name)
        for segment in workload.by_id[name].segments:
            at += segment.minutes
            if segment.vessel == vessel and name != but:
                found.add(at)
    return found


def _dark(workload: Workload, plan: Schedule, train: Train, opens: int) -> str:
    """Why it waits for an opening: too little time was left, or what it opens would close."""
    before = [span for span in workload.openings if span[1] <= opens and span[1] > workload.now]
    if not before:
        return "the shop opens"
    lacks = _lacks(workload, train, before[-1])
    if lacks:
        return lacks
    first = max(
        [workload.now, before[-1][0]]
        + [
            plan.work_of(workload, gap.before) + gap.least
            if gap.before in plan.starts
            else gap.since + gap.least
            for gap in workload.gaps_to[train.id]
        ]
    )
    left = before[-1][1] - workload.reserve - first
    if left <= 0:
        return "the shop opens"
    if left < train.minutes:
        return f"{left} min were left, this takes {train.minutes}"
    for gap in workload.gaps:
        if gap.before == train.id and gap.most is not None and gap.after in plan.starts:
            return "begun sooner, what it opens would close in the dark"
    return "no hands were free before"


def _lacks(workload: Workload, train: Train, opening: tuple[int, int]) -> str:
    """Who is not here in an opening and would have to be; empty where nobody lacks."""
    if opening in workload.open_to(train):
        return ""
    one = workload.here[opening]
    roles = sorted(train.roles - one.roles) if one.roles is not None else []
    return f"no {' and no '.join(roles)} is here before" if roles else "too few are here before"
