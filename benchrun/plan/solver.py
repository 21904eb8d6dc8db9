"""Plans by a solver that proves: the fewest windows missed, and with those the soonest end.

The solver is CP-SAT of OR-Tools, which the extra `plan` brings. One worker, one seed and limits
counted in its own steps instead of seconds: the same workload gives the same plan.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from importlib.util import find_spec
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.plan.solver_model import SolverModel, Sum, Variable, extra_minutes, solver_library
from benchrun.plan.workload import Gap, Schedule, Workload

EFFORT: Final = 0.15
"""The solver's own measure of work for one question; a second or two of one core."""
ROUNDS: Final = 6
"""So many times a few runs or evenings are planned again while all else stays."""
_ROUND_EFFORT: Final = 0.06
_SEED: Final = 1
_FIRST: Final = 6
"""The first question is the one that counts, and is proven or not within so many efforts."""


@lean_dataclass(frozen=True, slots=True)
class Proof:
    """A plan, and what is proven of it.

    Attributes:
        plan: The plan.
        fewest: Whether no plan misses windows less badly.
        least_missed: How bad missed windows are at least in any plan; see `Schedule.missed`.
        soonest: Whether no plan with these missed windows ends sooner.
    """

    plan: Schedule
    fewest: bool
    least_missed: int
    soonest: bool


class Halt:
    """Ends a search from another thread; the best plan found until then is its answer."""

    def __init__(self) -> None:
        self.called = False
        self._solver: Any = None

    def call(self) -> None:
        """End the question that is being worked on; none is begun any more.

        One that is just about to begin goes on to its end, unless it is called once more.
        """
        self.called = True
        solver = self._solver
        if solver is not None:
            solver.stop_search()

    def solve(self, solver: Any, model: Any) -> Any:
        """The status with which the solver leaves a question."""
        self._solver = solver
        try:
            return solver.solve(model)
        finally:
            self._solver = None


def has_solver() -> bool:
    """Whether the solver is installed."""
    return find_spec("ortools") is not None


def proved_plan(
    workload: Workload,
    hint: Schedule,
    *,
    effort: float = EFFORT,
    rounds: int = ROUNDS,
    soonest: bool = False,
    halt: Halt | None = None,
) -> Proof:
    """The plan of a list made better, with what is proven of it.

    Args:
        workload: What is to be planned.
        hint: A plan of it, such as `list_plan` gives; what it has no place for may stay without.
        effort: The solver's work for each of the questions.
        rounds: How many times a few runs or evenings are planned again after that.
        soonest: Whether the soonest end is asked for first, and the fewest windows missed then.
        halt: What ends it sooner.

    Returns:
        A plan that is never worse than the hint.
    """
    if not workload.trains:
        return Proof(hint, fewest=True, least_missed=0, soonest=True)
    search = _Search(workload, hint, halt or Halt(), soonest=soonest)
    return search.proof(effort, rounds)


@lean_dataclass(frozen=True, slots=True)
class _Answer:
    """The solver's answer: what its plan comes to, the least that any can, and whether it is so."""

    value: int | None = None
    least: int = 0
    proved: bool = False


class _Search:
    """Asks one question after the other, each within what the one before came to."""

    def __init__(self, workload: Workload, hint: Schedule, halt: Halt, *, soonest: bool) -> None:
        self.workload, self.hint, self.halt, self.soonest = workload, hint, halt, soonest
        self.problem = SolverModel(workload, frozenset(hint.unplaced))
        self.model = self.problem.model

    def proof(self, effort: float, rounds: int) -> Proof:
        """The best plan found, with what is proven of it."""
        problem, found = self.problem, self.hint
        if problem.there:
            found, _ = self._bounded(problem.left_out(), found, effort)
        missed, ends = problem.missed(), problem.ends()
        questions = [ends, missed] if self.soonest else [missed, ends]
        answers = list[_Answer]()
        for asked in questions:
            first = _FIRST if not answers else 1
            found, answer = self._bounded(asked, found, first * effort)
            answers.append(answer)
        of_missed, of_ends = reversed(answers) if self.soonest else answers
        goal = ends + problem.starts()
        found, _ = self._ask(goal, found, effort)
        if not of_ends.proved:
            found = self._rounds(goal, found, rounds)
        best = min((self.hint, found), key=self._value)
        fewest = of_missed.proved and not self.soonest
        return Proof(best, fewest, of_missed.least, of_ends.proved)

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
        if self.halt.called:
            return found, _Answer()
        cp_model, model = solver_library(), self.model
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
        status = self.halt.solve(solver, model)
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
            extra = extra_minutes(late[train.id]) if train.id in late else 0
            starts[train.id] = start - extra
        return Schedule(starts, late, unplaced)
