"""Plans by a solver that proves: the fewest windows missed, and with those the soonest end.

The solver is CP-SAT of OR-Tools, which the extra `plan` brings. One worker, one seed and limits
counted in its own steps instead of seconds: the same workload gives the same plan.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from importlib.util import find_spec
from typing import Any, Final

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

EFFORT: Final = 0.15
"""The solver's own measure of work for one question; a second or two of one core."""
ROUNDS: Final = 6
"""So many times a few runs or evenings are planned again while all else stays."""
_ROUND_EFFORT: Final = 0.06
_SEED: Final = 1


@dataclass(frozen=True, slots=True)
class Proof:
    """A plan, and what is proven of it.

    Attributes:
        plan: The plan.
        fewest: Whether no plan misses windows less badly.
        least_missed: How bad missed windows are at least in any plan; see `Schedule.missed`.
        soonest: Whether no plan with these missed windows ends sooner.
        least_end: The sum that the ends of the jobs come to at least; see `Schedule.ends`.
    """

    plan: Schedule
    fewest: bool
    least_missed: int
    soonest: bool
    least_end: int


def has_solver() -> bool:
    """Whether the solver is installed."""
    return find_spec("ortools") is not None


def _cp_model() -> Any:
    """The solver; it takes most of a second to come, so it is called when it is needed."""
    return import_module("ortools.sat.python.cp_model")


def proved_plan(
    workload: Workload,
    hint: Schedule,
    *,
    effort: float = EFFORT,
    rounds: int = ROUNDS,
    soonest: bool = False,
) -> Proof:
    """The plan of a list made better, with what is proven of it.

    Args:
        workload: What is to be planned.
        hint: A plan of it, such as `list_plan` gives; what it has no place for may stay without.
        effort: The solver's work for each of the questions.
        rounds: How many times a few runs or evenings are planned again after that.
        soonest: Whether the soonest end is asked for first, and the fewest windows missed then.

    Returns:
        A plan that is never worse than the hint.
    """
    if not workload.trains:
        return Proof(hint, fewest=True, least_missed=0, soonest=True, least_end=0)
    search = _Search(workload, hint, soonest=soonest)
    return search.proof(effort, rounds)


class _Problem:
    """The workload as variables and constraints; times are minutes as in the workload."""

    def __init__(self, workload: Workload, optional: frozenset[str]) -> None:
        self.workload, self._cp = workload, _cp_model()
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
        for extra, when in [(0, there), *((_extra(gap), [one]) for gap, one in late)]:
            spans = [
                (max(opens + extra, first, self.workload.now + extra), last - train.minutes)
                for opens, closes in self.workload.openings
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
            if _extra(gap):
                before = self._interval(work - _extra(gap), _extra(gap), train, switch)
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
                switch * _extra(gap) for gap, switch in self.late[train.id]
            )
            total += start
            last = self.workload.last.get(train.id)
            if last is not None and train.begun is None:
                far = 2 * self.horizon
                moved = self._variable(0, far, f"moved {train.id}", partial(_moved, train.id, last))
                self.model.add_abs_equality(moved, start - last)
                total += STAY * moved
        return total


@dataclass(frozen=True, slots=True)
class _Answer:
    """The solver's answer: what its plan comes to, the least that any can, and whether it is so."""

    value: int | None = None
    least: int = 0
    proved: bool = False


class _Search:
    """Asks one question after the other, each within what the one before came to."""

    def __init__(self, workload: Workload, hint: Schedule, *, soonest: bool) -> None:
        self.workload, self.hint, self.soonest = workload, hint, soonest
        self.problem = _Problem(workload, frozenset(hint.unplaced))
        self.model = self.problem.model

    def proof(self, effort: float, rounds: int) -> Proof:
        """The best plan found, with what is proven of it."""
        problem, found = self.problem, self.hint
        if problem.there:
            found, _ = self._bounded(problem.left_out(), found, effort)
        missed, ends = problem.missed(), problem.ends()
        questions = [ends, missed] if self.soonest else [missed, ends]
        answers = []
        for asked in questions:
            found, answer = self._bounded(asked, found, effort)
            answers.append(answer)
        of_missed, of_ends = reversed(answers) if self.soonest else answers
        goal = ends + problem.starts()
        found, _ = self._ask(goal, found, effort)
        if not of_ends.proved:
            found = self._rounds(goal, found, rounds)
        best = min((self.hint, found), key=self._value)
        fewest = of_missed.proved and not self.soonest
        return Proof(best, fewest, of_missed.least, of_ends.proved, of_ends.least)

    def _bounded(self, goal: Sum, found: Schedule, effort: float) -> tuple[Schedule, "_Answer"]:
        """The best plan for a goal; from then on none that is worse for it is looked for."""
        found, answer = self._ask(goal, found, effort)
        if answer.value is not None:
            self.model.add(goal <= answer.value)
        return found, answer

    def _value(self, plan: Schedule) -> tuple[int, int, int]:
        unplaced, missed, worth = plan.worth(self.workload)
        return (unplaced, worth, missed) if self.soonest else (unplaced, missed, worth)

    def _ask(
        self, goal: Sum, found: Schedule, effort: float, keep: Sequence[str] = ()
    ) -> tuple[Schedule, "_Answer"]:
        """The best plan for a goal, with what the solver says of it."""
        cp_model, model = _cp_model(), self.model
        model.minimize(goal)
        model.clear_hints()
        for variable, value in self._hints(keep):
            model.add_hint(variable, value(found))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = _SEED
        solver.parameters.linearization_level = 0
        solver.parameters.max_deterministic_time = effort
        solver.parameters.fix_variables_to_their_hinted_value = bool(keep)
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return found, _Answer()
        proved, least = status == cp_model.OPTIMAL, round(solver.best_objective_bound)
        return self._plan(solver.value), _Answer(round(solver.objective_value), least, proved)

    def _hints(self, keep: Sequence[str]) -> Iterator[tuple[Variable, Callable[[Schedule], int]]]:
        if not keep:
            yield from self.problem.values
            return
        kept = {self.problem.work[name].index for name in keep}
        kept |= {switch.index for name in keep for _, switch in self.problem.late[name]}
        kept |= {self.problem.there[name].index for name in keep if name in self.problem.there}
        yield from (pair for pair in self.problem.values if pair[0].index in kept)

    def _rounds(self, goal: Sum, found: Schedule, rounds: int) -> Schedule:
        """Plan a few runs or two evenings again, all else as it is; the better plan stays."""
        luck = random.Random(_SEED)  # noqa: S311 - always the same draws, nothing here is secret
        runs = sorted({train.run for train in self.workload.trains})
        for number in range(rounds):
            if number % 2 or len(runs) < 3:
                free = self._two_evenings(found, luck)
            else:
                chosen = luck.sample(runs, 2)
                free = {train.id for train in self.workload.trains if train.run in chosen}
            keep = [train.id for train in self.workload.trains if train.id not in free]
            if not keep or not free:
                continue
            other, _ = self._ask(goal, found, _ROUND_EFFORT, keep)
            found = min((found, other), key=self._value)
        return found

    def _two_evenings(self, found: Schedule, luck: random.Random) -> set[str]:
        used = [
            span
            for span in self.workload.openings
            if any(span[0] <= start < span[1] for start in found.starts.values())
        ]
        first = luck.randrange(max(1, len(used) - 1))
        spans = used[first : first + 2]
        return {
            name
            for name, start in found.starts.items()
            if any(opens <= start < closes for opens, closes in spans)
        }

    def _plan(self, value: Callable[[Variable], int]) -> Schedule:
        problem, starts, late = self.problem, dict[str, int](), dict[str, Gap]()
        unplaced = {
            name: self.hint.unplaced[name]
            for name, switch in problem.there.items()
            if not value(switch)
        }
        for train in self.workload.trains:
            if train.id in unplaced:
                continue
            start = value(problem.work[train.id])
            for gap, switch in problem.late[train.id]:
                since = value(problem.work[gap.before]) if gap.before else gap.since
                if value(switch) and gap.most is not None and start - since > gap.most:
                    late[train.id] = gap
            extra = _extra(late[train.id]) if train.id in late else 0
            starts[train.id] = start - extra
        return Schedule(starts, late, unplaced)


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


def _extra(gap: Gap) -> int:
    return gap.late.minutes if gap.late is not None else 0
