"""The steps that come next for parts, by how the forks before them fall as far as that is known."""

from collections.abc import Iterator, Sequence
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.grammar import ROUND, pass_name
from benchrun.procedure.route import (
    Detour,
    Dwell,
    Guard,
    Inspect,
    Reading,
    Step,
    StepOp,
    Tail,
    WorkOut,
)
from benchrun.run.clocks import window
from benchrun.run.course import Fork
from benchrun.run.effects import FIRST
from benchrun.run.questions import detour_spent
from benchrun.run.state import Marker, Run
from benchrun.run.verdict import LATE, draw, judge_fork

IF_NEEDED: Final = "if needed"
IF_AGAIN: Final = "if again"


@lean_dataclass(frozen=True, slots=True)
class StepAhead:
    """A step that comes, or that may come.

    Attributes:
        when: `if needed` where it is not known yet whether its steps are done, `if again` where a
            repeat may begin anew with it; empty where it comes.
    """

    step: Step
    when: str = ""


class _Forks:
    """How the forks fall for some parts that go on together, from what is known now.

    What a step on the way writes is not known yet, whatever an earlier pass wrote.
    """

    def __init__(self, run: Run, markers: Sequence[Marker], at: Moment) -> None:
        self._run, self._markers, self._at = run, markers, at
        self._unsure_until = 0
        self._written = set[str]()
        self._passed = set[str]()
        self._done_by_some = frozenset[int]().union(*(marker.ahead for marker in markers))
        self.again: list[Step] = []
        """The steps with which repeats may begin anew that were left meanwhile."""

    def when(self, index: int) -> str:
        """Whether the step at an op comes, for all of them."""
        unsure = index < self._unsure_until or index in self._done_by_some
        return IF_NEEDED if unsure else ""

    def pass_step(self, step: Step) -> None:
        """Take note that a step is done by then."""
        self._passed.add(step.id)
        self._written |= set(step.taken_names)
        if isinstance(step.detail, (Reading, Inspect, WorkOut)):
            self._written.add(step.detail.name)

    def choose(self, fork: Fork, index: int, passes: tuple[int, ...]) -> str:
        """Say which way a fork falls; where nobody knows, into the steps that may be needed."""
        ways = {self._way(fork, marker, passes) for marker in self._markers}
        way = ways.pop() if len(ways) == 1 else "ask"
        if way != "ask":
            return way
        if isinstance(fork, Tail):
            self.again += _first_steps(self._run, fork.head + 1, index)
            return "leave"
        self._unsure_until = max(self._unsure_until, fork.past)
        return "true" if isinstance(fork, Guard) else FIRST

    def _way(self, fork: Fork, marker: Marker, passes: tuple[int, ...]) -> str:
        if isinstance(fork, Detour):
            return self._round(fork, marker)
        formula = fork.condition if isinstance(fork, Guard) else fork.until
        if isinstance(fork, Tail) and len({one.passes for one in self._markers}) > 1:
            return "ask"
        if formula is None or (isinstance(fork, Tail) and passes[-1] < fork.least):
            return judge_fork(fork, passes, ())
        if {pass_name(name)[1] for name in formula.reads if name != ROUND} & self._written:
            return "ask"
        return judge_fork(fork, passes, draw(marker, formula.reads, passes))

    def _round(self, fork: Detour, marker: Marker) -> str:
        """Whether a part goes by the late steps, as its window stands now."""
        step = self._run.route.steps[fork.step]
        begun_anew = step.window is not None and set(step.window.after) & self._passed
        state = None if begun_anew else window(self._run, marker, step, self._at)
        if state is None or detour_spent(marker, fork) or state.too_soon or not state.late:
            return "over"
        return FIRST if state.ruling == LATE else "ask"


def steps_ahead(run: Run, parts: Sequence[str], step: Step, at: Moment) -> Iterator[StepAhead]:
    """The steps behind one that parts are at, each once, as far as the forks can be told.

    Args:
        run: The run.
        parts: Who is at the step.
        step: The step in hand; one that was passed already where something is to be settled.
        at: Now; it decides whether a window is late.
    """
    first, told = run.markers[parts[0]], set[str]()
    hand = run.course.ops_of(step.id)[-1]
    for one, index, passes in _course_ahead(run, parts, step, at):
        # A reading of several places stands on the route once a place.
        begun = passes == first.passes and first.index <= index <= hand and not one.when
        if not begun and one.step.id not in told:
            told.add(one.step.id)
            yield one


def _course_ahead(
    run: Run, parts: Sequence[str], step: Step, at: Moment
) -> Iterator[tuple[StepAhead, int, tuple[int, ...]]]:
    """The steps from where the first part stands, each with its op and its passes."""
    markers = [run.markers[part] for part in parts]
    forks = _Forks(run, markers, at)
    forks.pass_step(step)
    place, left = markers[0].at, markers[0].left
    done = frozenset[int].intersection(*(marker.ahead for marker in markers))
    for _ in run.route.ops:
        walked = run.course.walk(place, left, done, forks.choose)
        for one in forks.again:
            yield StepAhead(one, IF_AGAIN), walked.index, walked.passes
        forks.again.clear()
        op = run.route.step_at(walked.index)
        if op is None:
            return
        yield StepAhead(op.step, forks.when(walked.index)), walked.index, walked.passes
        forks.pass_step(op.step)
        place, left, done = (walked.index + 1, walked.passes), walked.left, walked.ahead
        if isinstance(op.step.detail, Dwell):  # what is left out when it ends is walked over
            place, done = (walked.index, walked.passes), done | {walked.index}


def _first_steps(run: Run, index: int, past: int) -> list[Step]:
    """The first step that stands between two ops, if any does."""
    ops = run.route.ops[index:past]
    return [op.step for op in ops if isinstance(op, StepOp)][:1]
