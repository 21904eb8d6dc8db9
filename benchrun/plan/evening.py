"""The plan of a shop: its open runs, its hours and vessels, put together and planned."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from benchrun.alarms.dark import HERE_MS
from benchrun.board import OpenRun
from benchrun.history.estimates import Estimate, estimates_for
from benchrun.moment import Moment
from benchrun.plan.list_plan import ROUNDS, list_plan
from benchrun.plan.trains import (
    MINUTE_MS,
    RunAhead,
    StepMinutes,
    TrainSet,
    guessed_minutes,
    minutes_of,
    work_ahead,
)
from benchrun.plan.workload import PlannedJob, Schedule, Workload
from benchrun.procedure.route import Reading, Step, Vessel
from benchrun.shop.folder import Shop
from benchrun.shop.hours import Hours
from benchrun.shop.settings import hours_of
from benchrun.shop.vessels import ShopVessel, read_vessels

_DAYS = 70


@dataclass(frozen=True)
class Evening:
    """A plan of the open runs.

    Attributes:
        workload: What was planned; minutes since 1970.
        plan: The plan with the fewest missed windows.
        sooner: The plan that ends soonest, where it is another and ends sooner; else None.
        work: The trains with their steps and parts.
        names: What each run is called.
        hours: When the shop is attended.
    """

    workload: Workload
    plan: Schedule
    sooner: Schedule | None
    work: TrainSet
    names: Mapping[str, str]
    hours: Hours


def plan_evening(
    runs: Sequence[RunAhead],
    names: Mapping[str, str],
    hours: Hours,
    vessels: Sequence[ShopVessel],
    shop: Path,
    now: Moment,
    *,
    people: int = 1,
    rounds: int = ROUNDS,
    zone: dt.tzinfo | None = None,
) -> Evening:
    """Plan what is ahead in the open runs of a shop.

    Args:
        runs: The runs.
        names: What each run is called.
        hours: When the shop is attended; while none are kept it counts as attended all the time.
        vessels: The shop's vessels.
        shop: The shop's folder, whose past runs say how long steps take.
        now: The moment.
        people: How many work.
        rounds: How many other orders are tried.
        zone: The time zone of the hours; None: that of this machine.
    """
    learned = {run.procedure: estimates_for(shop, run.procedure, but=run.id) for run in runs}

    def takes(procedure: str, step: Step) -> StepMinutes:
        estimate = learned[procedure].get(step.id)
        return guessed_minutes(step) if estimate is None else _learned(estimate, step)

    def rooms(vessel: Vessel) -> tuple[str, int | None]:
        for own in vessels:
            if own.called(vessel.id, vessel.title):
                limits = [room for room in (own.holds, vessel.capacity) if room is not None]
                return own.name, min(limits, default=None)
        return vessel.title, vessel.capacity

    work = work_ahead(runs, now, takes, rooms, people)
    minute = now.utc_ms // MINUTE_MS
    workload = Workload(
        minute,
        _openings(hours, now, zone),
        people,
        work.vessels,
        tuple(work.trains),
        tuple(work.gaps),
        tuple(work.holds),
        tuple(PlannedJob(run.id, (run.id,)) for run in runs),
    )
    plan = list_plan(workload, rounds=rounds)
    sooner = list_plan(workload, rounds=rounds, soonest=True) if plan.starts else plan
    ends, ends_sooner = _end(workload, plan), _end(workload, sooner)
    differs = sooner.missed() > plan.missed() and ends_sooner < ends
    return Evening(workload, plan, sooner if differs else None, work, names, hours)


def plan_shop(
    shop: Shop,
    runs: Iterable[OpenRun],
    now: Moment,
    *,
    rounds: int = ROUNDS,
    zone: dt.tzinfo | None = None,
) -> Evening:
    """Plan the open runs of a shop.

    Args:
        shop: The shop.
        runs: Its open runs as they were read, the most pressing first.
        now: The moment.
        rounds: How many other orders are tried.
        zone: The time zone of the hours; None: that of this machine.
    """
    ahead, names = [], {}
    for one in runs:
        if one.run is None or one.run.ended:
            continue
        about = one.run.about.get("procedure")
        procedure = str(about.get("id", "")) if isinstance(about, Mapping) else ""
        ahead.append(RunAhead(one.id, procedure, one.run))
        names[one.id] = one.title
    hours = hours_of(shop)
    vessels = [vessel for vessel in read_vessels(shop).rows if not vessel.out_of_use]
    return plan_evening(ahead, names, hours, vessels, shop.path, now, rounds=rounds, zone=zone)


def _learned(estimate: Estimate, step: Step) -> StepMinutes:
    minutes = minutes_of(estimate.median, estimate.most)
    if estimate.per == "a reading" and isinstance(step.detail, Reading):
        return StepMinutes(minutes * max(1, len(step.detail.places)))
    return StepMinutes(minutes) if estimate.per == "a part" else StepMinutes(0.0, minutes)


def _end(workload: Workload, plan: Schedule) -> int:
    return max((plan.end_of(workload, name) for name in plan.starts), default=0)


def _openings(hours: Hours, now: Moment, zone: dt.tzinfo | None) -> tuple[tuple[int, int], ...]:
    until = now.utc_ms + _DAYS * 24 * 60 * MINUTE_MS
    if not hours.known:
        return ((now.utc_ms // MINUTE_MS, until // MINUTE_MS),)
    found: list[tuple[int, int]] = []
    if hours.attended(now.utc_ms, now.utc_ms, zone) is None:
        # Whoever asks is in the shop, whatever its hours say: what runs is seen to now.
        found.append((now.utc_ms // MINUTE_MS, (now.utc_ms + HERE_MS) // MINUTE_MS))
    for opening in hours.openings(now.utc_ms, zone):
        if opening.since_ms >= until:
            break
        since, closes = opening.since_ms // MINUTE_MS, opening.until_ms // MINUTE_MS
        if found and since <= found[-1][1]:
            since = found.pop()[0]
        found.append((since, closes))
    return tuple(found)
