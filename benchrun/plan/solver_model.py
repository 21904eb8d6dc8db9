"""A workload as a model of the solver: variables, constraints, and what is asked of them.

The solver is CP-SAT of OR-Tools. Starts are whole minutes with the openings as their domain; hands
and vessels are intervals that never overlap more than there is; a missed window is a switch.
"""

from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from benchrun.plan.workload import (
    PAST_DUE,
    SOONER,
    STAY,
    Gap,
    PlannedJob,
    Schedule,
    Train,
    VesselHold,
    Workload,
)

# The solver's own kinds of things; their types hold alike whether the extra is there or not.
Variable = Any
Interval = Any
Sum = Any


def solver_library() -> Any:
    """The solver; it takes most of a second to come, so it is called when it is needed."""
    return import_module("ortools.sat.python.cp_model")


class SolverModel:
    """The workload as variables and constraints; times are minutes as in the workload."""

    def __init__(self, workload: Workload, optional: frozenset[str]) -> None:
        self.workload, self._cp = workload, solver_library()
        self.model = self._cp.CpModel()
        self.values: list[tuple[Variable, Callable[[Schedule], int]]] = []
        self.last = max((closes for _, closes in workload.openings), default=workload.now)
        self.horizon = max(self.last, workload.now) + 1
        self.late: dict[str, list[tuple[Gap, Variable]]] = {}
        self.there: dict[str, Variable] = {}
        self.work: dict[str, Variable] = {}
        self._hands: list[tuple[Interval, int]] = []
        self._rooms: dict[str, list[tuple[Interval, int]]] = {v: [] for v in workload.vessels}
        for train in workload.trains:
            self._place(train, may_stay_out=train.id in optional)
        for gap in workload.gaps:
            self._gap(gap)
        self._holds()
        for since, until, missing in workload.fewer:
            away = self.model.new_fixed_size_interval_var(since, until - since, "away")
            self._hands.append((away, missing))
        self._fill()

    def _variable(
        self, low: int, high: int, name: str, value: Callable[[Schedule], int]
    ) -> Variable:
        made = self.model.new_int_var(low, high, name)
        self.values.append((made, value))
        return made

    def _switch(self, name: str, value: Callable[[Schedule], bool]) -> Variable:
        made = self.model.new_bool_var(name)
        self.values.append((made, partial(_as_number, value)))
        return made

    def _place(self, train: Train, *, may_stay_out: bool) -> None:
        name, workload = train.id, self.workload
        windows = [
            gap
            for gap in workload.gaps_to[name]
            if gap.most is not None and gap.late is not None and train.begun is None
        ]
        low = min(workload.now, train.begun if train.begun is not None else workload.now)
        work = self.work[name] = self._variable(
            low,
            self.horizon,
            f"work {name}",
            lambda plan: plan.work_of(workload, name) if name in plan.starts else workload.now,
        )
        if may_stay_out:
            self.there[name] = self._switch(f"in {name}", lambda plan: name in plan.starts)
        self.late[name] = [
            (gap, self._switch(f"late {name} {at}", partial(_misses, gap)))
            for at, gap in enumerate(windows)
        ]
        if train.begun is not None:
            self.model.add(work == train.begun)
        else:
            self._within_hours(train, work)
        self._take(train, work)

    def _within_hours(self, train: Train, work: Variable) -> None:
        """The work lies in one opening, with what a missed window adds before it."""
        first = max(self.workload.now, train.not_before)
        there = [self.there[train.id]] if train.id in self.there else []
        late = self.late[train.id]
        if len(late) > 1:
            self.model.add_at_most_one(switch for _, switch in late)
        for extra, when in [(0, there), *((extra_minutes(gap), [one]) for gap, one in late)]:
            spans = [
                (max(opens + extra, first, self.workload.now + extra), last - train.minutes)
                for opens, closes in self.workload.open_to(train)
                for last in [closes - self.workload.reserve]
            ]
            kept = [span for span in spans if span[0] <= span[1]]
            domain = self._cp.Domain.from_intervals(kept or [(0, -1)])
            inside = self.model.add_linear_expression_in_domain(work, domain)
            if when:
                inside.only_enforce_if(*when, *(there if extra else []))

    def _interval(
        self, start: Sum, minutes: int, train: Train, when: Variable | None = None
    ) -> Interval:
        switch = when if when is not None else self.there.get(train.id)
        if switch is None:
            return self.model.new_fixed_size_interval_var(start, minutes, train.id)
        return self.model.new_optional_fixed_size_interval_var(start, minutes, switch, train.id)

    def _take(self, train: Train, work: Variable) -> None:
        at = 0
        for segment in train.segments:
            if segment.minutes:
                taken = self._interval(work + at, segment.minutes, train)
                if segment.hands:
                    self._hands.append((taken, 1))
                if segment.vessel:
                    self._rooms[segment.vessel].append((taken, train.parts))
            at += segment.minutes
        for gap, switch in self.late[train.id]:
            if extra_minutes(gap):
                before = self._interval(
                    work - extra_minutes(gap), extra_minutes(gap), train, switch
                )
                self._hands.append((before, 1))

    def _gap(self, gap: Gap) -> None:
        """A gap; what follows a train that stays out stays out too."""
        if self.workload.by_id[gap.after].begun is not None:
            return
        after = self.work[gap.after]
        since: Sum = self.work[gap.before] if gap.before else gap.since
        there = [self.there[name] for name in (gap.after, gap.before) if name in self.there]
        if gap.before in self.there:
            follows = self.model.add_bool_and(self.there[gap.before])
            if gap.after in self.there:
                follows.only_enforce_if(self.there[gap.after])
        least = self.model.add(after - since >= gap.least)
        if there:
            least.only_enforce_if(*there)
        if gap.most is None:
            return
        kept = self.model.add(after - since <= gap.most)
        missed = next((switch for one, switch in self.late[gap.after] if one is gap), None)
        conditions = [*there, *([missed.negated()] if missed is not None else [])]
        if conditions:
            kept.only_enforce_if(*conditions)

    def _holds(self) -> None:
        workload = self.workload
        for number, hold in enumerate(workload.holds):
            if hold.since in self.there or hold.until in self.there:
                continue  # its trains have no place in the hint: the vessel is left to the others
            since: Sum = self.work[hold.since] + hold.lead if hold.since else workload.now
            until: Sum = self.work[hold.until] if hold.until else self.horizon

            span = partial(_span, workload, hold, self.horizon)
            size = self._variable(0, self.horizon, f"hold {number}", partial(_length, span))
            self.model.add_max_equality(size, [0, until - since])
            end = self._variable(0, 2 * self.horizon, f"hold end {number}", partial(_end, span))
            taken = self.model.new_interval_var(since, size, end, f"hold {number}")
            self._rooms[hold.vessel].append((taken, hold.room))

    def _fill(self) -> None:
        workload = self.workload
        for taken, room in [
            (self._hands, workload.people),
            *((rooms, workload.vessels[vessel]) for vessel, rooms in self._rooms.items()),
        ]:
            if room == 1 and all(one == 1 for _, one in taken):
                self.model.add_no_overlap([interval for interval, _ in taken])
            elif taken:
                self.model.add_cumulative(*map(list, zip(*taken, strict=True)), room)

    def missed(self) -> Sum:
        """How bad the missed windows are; see `Schedule.missed`."""
        return sum(
            switch * (gap.late.cost + gap.late.minutes)
            for windows in self.late.values()
            for gap, switch in windows
            if gap.late is not None
        )

    def left_out(self) -> Sum:
        """How many trains have no place."""
        return len(self.there) - sum(self.there.values())

    def ends(self) -> Sum:
        """The ends of the jobs; see `Schedule.ends`."""
        total: Sum = 0
        for number, job in enumerate(self.workload.jobs):
            trains = [train for train in self.workload.trains if train.run in job.runs]
            if not trains:
                continue

            latest = 2 * self.horizon
            end = self._variable(0, latest, f"end {number}", partial(_job_end, self.workload, job))
            for train in trains:
                behind = self.model.add(end >= self.work[train.id] + train.minutes)
                if train.id in self.there:
                    behind.only_enforce_if(self.there[train.id])
            total += job.weight * SOONER * end
            if job.due is not None:
                over = partial(_past_due, self.workload, job)
                past = self._variable(0, latest, f"past {number}", over)
                self.model.add(past >= end - job.due)
                total += job.weight * PAST_DUE * past
        return total

    def starts(self) -> Sum:
        """The sum of all starts, and what moving costs; see `Schedule.worth`."""
        total: Sum = 0
        for train in self.workload.trains:
            start = self.work[train.id] - sum(
                switch * extra_minutes(gap) for gap, switch in self.late[train.id]
            )
            total += start
            last = self.workload.last.get(train.id)
            if last is not None and train.begun is None:
                far = 2 * self.horizon
                moved = self._variable(0, far, f"moved {train.id}", partial(_moved, train.id, last))
                self.model.add_abs_equality(moved, start - last)
                total += STAY * moved
        return total


def _misses(gap: Gap, plan: Schedule) -> bool:
    return plan.late.get(gap.after) == gap


def _span(workload: Workload, hold: VesselHold, for_ever: int, plan: Schedule) -> tuple[int, int]:
    """When a hold begins, and how long it lasts."""
    since, until = plan.held(workload, hold, for_ever) or (0, 0)
    return since, max(0, until - since)


def _length(span: Callable[[Schedule], tuple[int, int]], plan: Schedule) -> int:
    return span(plan)[1]


def _end(span: Callable[[Schedule], tuple[int, int]], plan: Schedule) -> int:
    return sum(span(plan))


def _job_end(workload: Workload, job: PlannedJob, plan: Schedule) -> int:
    return plan.finish(workload, job) or 0


def _past_due(workload: Workload, job: PlannedJob, plan: Schedule) -> int:
    return max(0, _job_end(workload, job, plan) - (job.due or 0))


def _moved(train: str, last: int, plan: Schedule) -> int:
    return abs(plan.starts.get(train, last) - last)


def _as_number(value: Callable[[Schedule], bool], plan: Schedule) -> int:
    return int(value(plan))


def extra_minutes(gap: Gap) -> int:
    """The minutes of work that a missed window adds."""
    return gap.late.minutes if gap.late is not None else 0
