"""The heated vessels of an evening, each with when it must be hot."""

import datetime as dt
from collections.abc import Iterator, Sequence

from benchrun.moment import Moment
from benchrun.plan.evening import Evening
from benchrun.plan.plan_row import PlanRow, said_at
from benchrun.plan.step_minutes import MINUTE_MS
from benchrun.procedure.route import Dwell


def warm_up(
    evening: Evening, rows: Sequence[PlanRow], now: Moment, zone: dt.tzinfo | None = None
) -> list[str]:
    """The heated vessels that rows put something into, each with when it is wanted first.

    Args:
        evening: The plan.
        rows: Rows of it, in order.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    vessels = {
        run.id: {vessel.id: vessel for vessel in run.run.route.vessels.values() if vessel.heated}
        for run in evening.ahead.runs
    }
    found: dict[str, str] = {}
    for row in rows:
        heated = vessels[evening.workload.by_id[row.train].run]
        for at, vessel in _goes_in(evening, row.train):
            if vessel in heated:
                name, _ = evening.ahead.room(heated[vessel])
                said = said_at(row.at + at * MINUTE_MS, now, zone)
                found.setdefault(name, f"{name} by {said}, for {row.letter}")
    return list(found.values())


def _goes_in(evening: Evening, train: str) -> Iterator[tuple[int, str]]:
    """The vessels that a train puts its parts into, each with the minute of the train."""
    if evening.workload.by_id[train].begun is not None:
        return
    keys = evening.work.keys[train]
    inside = {one.until for one in evening.workload.holds if not one.since}
    for place, step in enumerate(evening.work.steps[train]):
        detail = step.detail
        if not isinstance(detail, Dwell) or (not place and train in inside):
            continue
        begins = [minute for key, minute in keys.items() if step.id in key.split("/")]
        if detail.vessel:
            yield min(begins, default=0), detail.vessel
