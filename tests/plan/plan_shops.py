"""Shops of trains written down as data, made into planning problems; all of them invented."""

import json
from math import ceil, floor
from pathlib import Path
from statistics import NormalDist

from benchrun.plan.workload import (
    Gap,
    Late,
    PlannedJob,
    Schedule,
    Segment,
    Train,
    VesselHold,
    Workload,
)

SHOPS = Path(__file__).parent / "shops"
WINDOW_MARGIN = 30


def q65(triple):
    """The time that 65 of 100 stay under, where the logarithms of times are spread normally."""
    _, middle, high = triple
    normal = NormalDist()
    return middle * (high / middle) ** (normal.inv_cdf(0.65) / normal.inv_cdf(0.9))


def shop(name):
    return json.loads((SHOPS / f"{name}.json").read_text())


def large(times=3):
    """The middle shop several times over: as many runs, one person, six weeks of openings."""
    data = shop("middle")
    weeks = [[opens + 21 * 1440, closes + 21 * 1440] for opens, closes in data["attended"]]
    runs = [
        {**run, "id": f"{run['id']}{copy}", "job": f"{run['job']}{copy}"}
        for copy in range(times)
        for run in data["runs"]
    ]
    jobs = [{**job, "id": f"{job['id']}{copy}"} for copy in range(times) for job in data["jobs"]]
    return {**data, "runs": runs, "jobs": jobs, "attended": [*data["attended"], *weeks]}


def lot_sizes(count, holds):
    loads = ceil(count / holds)
    return [count // loads + (at < count % loads) for at in range(loads)]


class Lengths:
    """A train of a procedure for a number of parts."""

    def __init__(self, train, count):
        self.train, self.count = train, count
        self.segments = []
        self.each = 0.0
        exact = 0.0
        for segment in train["segs"]:
            # Less than a minute adds up over a train; what ends it is rounded, not each piece.
            before = round(exact)
            if "hands" in segment:
                per = q65(segment["hands"])
                exact += per * (count if segment["per"] == "part" else 1)
                if segment["per"] == "part":
                    self.each = per
                self.segments.append(Segment(round(exact) - before, hands=True))
            else:
                exact += segment["dwell"]
                hands = not segment.get("free", False)
                self.segments.append(Segment(segment["dwell"], hands, segment.get("vessel", "")))
        self.minutes = sum(one.minutes for one in self.segments)
        self.head = self.minutes - self.each * (count - 1)


def workload_of(data, *, margin=WINDOW_MARGIN, reserve=10):
    trains, gaps, holds = [], [], []
    vessels = data["vessels"]
    for run in data["runs"]:
        steps = data["procedures"][run["procedure"]]
        at = next(place for place, step in enumerate(steps) if step["id"] == run["at"])
        ahead = steps[at:]
        rooms = [run["parts"]]
        for step in ahead:
            rooms += [vessels[s["vessel"]] for s in step["segs"] if s.get("vessel")]
            rooms += [vessels[step["lotcap"]]] if "lotcap" in step else []
        loads = lot_sizes(run["parts"], min(rooms))
        _lay(run, ahead, steps, loads, trains, gaps, holds, data, margin)
    jobs = tuple(
        PlannedJob(
            job["id"],
            tuple(run["id"] for run in data["runs"] if run["job"] == job["id"]),
            job.get("due"),
            job.get("weight", 1),
        )
        for job in data["jobs"]
    )
    return Workload(
        data["now"],
        tuple(tuple(span) for span in data["attended"]),
        data["people"],
        vessels,
        tuple(trains),
        tuple(gaps),
        tuple(holds),
        jobs,
        reserve,
    )


def _lay(run, ahead, steps, loads, trains, gaps, holds, data, margin):
    done = run.get("done", {})
    last = dict.fromkeys(range(len(loads)), "")
    lengths = {}
    for step in ahead:
        once = step.get("once", False)
        for load, count in enumerate([run["parts"]] if once else loads):
            name = f"{run['id']}/{step['id']}" + ("" if once else f"/{load + 1}")
            length = Lengths(step, count)
            lengths[step["id"], None if once else load] = (name, length)
            trains.append(
                Train(name, run["id"], step["say"], count, tuple(length.segments), data["now"])
            )
            befores = last.values() if once else [last[load]]
            for before in {one for one in befores if one}:
                gaps.append(Gap(name, before, least=_minutes(trains, before)))
            if not once and load and (step["id"], load - 1) in lengths:
                gaps.append(Gap(name, lengths[step["id"], load - 1][0], least=0))
            if "gap" in step:
                gaps.append(_gap(step["gap"], name, length, lengths, load, done, data, margin))
        for load in last:
            last[load] = lengths[step["id"], None if once else load][0]
    _hold(steps, loads, lengths, done, holds)


def _hold(steps, loads, lengths, done, holds):
    for step in steps:
        if "hold" not in step:
            continue
        for load, count in enumerate(loads):
            until = lengths.get((step["until"], load))
            since = lengths.get((step["id"], load))
            if until is None:
                continue
            if since is not None:
                holds.append(
                    VesselHold(step["hold"], count, since[0], floor(since[1].head), until[0])
                )
            elif step["id"] in done:
                holds.append(VesselHold(step["hold"], count, "", 0, until[0]))


def _minutes(trains, name):
    return next(train.minutes for train in trains if train.id == name)


def _gap(gap, name, length, lengths, load, done, data, margin):
    least = gap.get("least", 0)
    if data["people"] == 1:
        least = max(least, gap.get("least_alone", 0))
    most = gap.get("most")
    if most is not None:
        most -= min(margin, most // 4)
    late = gap.get("late")
    late = late and Late(late["say"], ceil(late["extra"] * length.count), late["cost"])
    words = gap["after"]
    found = lengths.get((gap["after"], load)) or lengths.get((gap["after"], None))
    if found is None:
        return Gap(name, "", done[gap["after"]], least, most, late, words)
    before, first = found
    spread = first.count - 1
    ends = first.minutes
    head = ends - first.each * spread
    if gap.get("from") == "start":
        head, ends = 0, first.minutes - first.each
    own = length.each * (length.count - 1)
    lower = ceil(max(head + least, ends + least - own, first.minutes))
    upper = None if most is None else floor(min(head + most, ends + most - own))
    return Gap(name, before, 0, lower, upper, late, words)


def told(workload: Workload, plan: Schedule) -> str:
    """A plan as text, for a person who reads a failed test."""
    rows = []
    for name, start in sorted(plan.starts.items(), key=lambda item: item[1]):
        late = " LATE" if name in plan.late else ""
        day, minute = divmod(start, 1440)
        rows.append(f"day {day + 1} {minute // 60:02d}:{minute % 60:02d} {name}{late}")
    return "\n".join([*rows, *(f"- {name}: {why}" for name, why in plan.unplaced.items())])
