"""Positions on a route: their order, what can still be reached, and walking from step to step."""

from collections.abc import Callable, Mapping
from dataclasses import field
from functools import cached_property
from itertools import accumulate
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.grammar import timed_step
from benchrun.procedure.parameter import Parameter
from benchrun.procedure.route import (
    Detour,
    Dwell,
    End,
    Guard,
    Head,
    Inspect,
    Reading,
    Route,
    Step,
    StepOp,
    Tail,
    WorkOut,
)

Place = tuple[int, tuple[int, ...]]
Fork = Guard | Tail | Detour
Choose = Callable[[Fork, int, tuple[int, ...]], str | None]
ACT_MS: Final = 60_000
"""The time that one act at the bench is taken to last; common practice, no source."""


def constant_ms(parameter: Parameter | None) -> int | None:
    """A length of time that depends on nothing; None where there is none, or it does."""
    return None if parameter is None or parameter.constant is None else parameter.milliseconds({})


def names_of_step(step: Step) -> frozenset[str]:
    """The names that the quantities and the formula of a step read."""
    read = step.detail.formula.reads if isinstance(step.detail, WorkOut) else frozenset[str]()
    return read.union(*(parameter.reads for parameter in step.parameters))


def names_of_window(step: Step) -> frozenset[str]:
    """The names that the window before a step reads."""
    window = step.window
    both = (window.least, window.most) if window is not None else ()
    return frozenset[str]().union(*(limit.reads for limit in both if limit is not None))


def position_key(index: int, passes: tuple[int, ...]) -> str:
    """The name of a decision made at a place on the course: `14` or `14/2.1`."""
    return f"{index}/{'.'.join(map(str, passes))}" if passes else str(index)


@lean_dataclass(frozen=True, slots=True)
class Walked:
    """Where a walk ended.

    Attributes:
        stuck: Whether it stopped at a fork that nobody could choose at.
        left: Passes made in each repeat that was left.
        ahead: What is still done ahead.
    """

    index: int
    passes: tuple[int, ...]
    left: Mapping[int, int]
    ahead: frozenset[int]
    stuck: bool = False


@lean_dataclass(frozen=True)
class Course:
    """A route with the look-ups that the rules need."""

    route: Route
    _within: tuple[frozenset[int], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_within", tuple(frozenset(w) for w in self.route.within))

    def order(self, index: int, passes: tuple[int, ...]) -> tuple[int, ...]:
        """A position as a tuple that sorts: pass before index inside a repeat."""
        heads = self.route.within[index]
        if not heads:
            return (index,)
        flat: list[int] = []
        for head, count in zip(heads, passes, strict=True):
            flat += (head, count)
        return (*flat, index)

    def reaches(self, index: int, target: int) -> bool:
        """Whether a part at `index` can come to `target` without going back."""
        return target >= index or bool(self._within[index] & self._within[target])

    @staticmethod
    def least_of(step: Step) -> int:
        """How long a step keeps its parts at least, in milliseconds; 0 unless it is a dwell."""
        detail = step.detail
        return (constant_ms(detail.least) or 0) if isinstance(detail, Dwell) else 0

    @cached_property
    def _work(self) -> tuple[int, ...]:
        """For each op, how long the steps before it take from the begin."""
        ops = self.route.ops
        takes = [ACT_MS + self.least_of(op.step) if isinstance(op, StepOp) else 0 for op in ops]
        return tuple(accumulate(takes, initial=0))

    def work_between(self, index: int, target: int) -> int:
        """How long the steps from one op until another take, in milliseconds.

        Every step on the way counts as one act, a dwell with its least time beside it. A target
        that lies behind is in a repeat with `index`, and is come to by going round.
        """
        work = self._work
        if target >= index:
            return work[target] - work[index]
        shared = self._within[index] & self._within[target]
        head = self.route.ops[max(shared)] if shared else None
        if not isinstance(head, Head):
            return 0
        return work[head.tail] - work[index] + work[target] - work[max(shared)]

    @cached_property
    def made_good(self) -> Mapping[int, tuple[str, ...]]:
        """For each op of a detour that a part cannot come after within it, the late step.

        That is its last step; where its last steps stand under conditions, each that may be last.
        """
        found: dict[int, tuple[str, ...]] = {}
        for at, op in enumerate(self.route.ops):
            if isinstance(op, Detour):
                for index in range(at + 1, op.past):
                    if self._may_be_last(index, op.past):
                        found[index] = (*found.get(index, ()), op.step)
        return found

    def _may_be_last(self, index: int, past: int) -> bool:
        """Whether a part may walk from the step at an op to `past` without another step."""
        if not isinstance(self.route.ops[index], StepOp):
            return False
        open_ops, seen = [index + 1], set[int]()
        while open_ops:
            at = open_ops.pop()
            if at >= past:
                return True
            op = self.route.ops[at]
            if at in seen or isinstance(op, StepOp):
                continue
            seen.add(at)
            open_ops += [at + 1, op.past] if isinstance(op, (Guard, Detour)) else [at + 1]
        return False

    @cached_property
    def detour_at(self) -> Mapping[str, int]:
        """For each step with a late detour, the index of the detour's own op."""
        return {op.step: i for i, op in enumerate(self.route.ops) if isinstance(op, Detour)}

    @cached_property
    def starts(self) -> Mapping[str, tuple[str, ...]]:
        """For each step, the steps whose window its end starts."""
        found: dict[str, list[str]] = {}
        for step in self.route.steps.values():
            for source in step.window.after if step.window else ():
                found.setdefault(source, []).append(step.id)
        return {source: tuple(targets) for source, targets in found.items()}

    def vessels_of(self, step: Step) -> tuple[str, ...]:
        """The vessels of which a step needs one with room, by their ids."""
        if step.load:
            return self.route.loads[step.load].vessels
        detail = step.detail
        return (detail.vessel,) if isinstance(detail, Dwell) and detail.vessel else ()

    @cached_property
    def set_ups(self) -> frozenset[str]:
        """The steps that ready the place once a sitting."""
        return frozenset(step.id for step in self.route.steps.values() if step.set_up)

    @cached_property
    def one_of_vessels(self) -> tuple[tuple[str, ...], ...]:
        """Vessels of which a part must fit into one: each by itself, or those of a load."""
        loads = [load.vessels for load in self.route.loads.values()]
        several = {vessel for vessels in loads for vessel in vessels}
        plain: list[tuple[str, ...]] = [
            (name,) for name in self.route.vessels if name not in several
        ]
        plain += [
            vessels
            for step in self.route.steps.values()
            if not step.load and (vessels := self.vessels_of(step)) and vessels[0] in several
        ]
        return (*dict.fromkeys(plain), *loads)

    @cached_property
    def waited_for(self) -> tuple[str, ...]:
        """The vessels for whose room a part may wait while a window runs."""
        windowed = (step for step in self.route.steps.values() if step.window is not None)
        found = dict.fromkeys(vessel for step in windowed for vessel in self.vessels_of(step))
        return tuple(vessel for vessel in found if vessel in self.route.vessels)

    @cached_property
    def step_ids(self) -> tuple[str, ...]:
        """For each op the step that stands there, empty where another op stands."""
        return tuple(op.step.id if isinstance(op, StepOp) else "" for op in self.route.ops)

    @cached_property
    def last_place(self) -> frozenset[int]:
        """The ops that finish their step (of a reading with many places, only the last)."""
        ops = self.route.ops
        return frozenset(
            i
            for i, op in enumerate(ops)
            if isinstance(op, StepOp) and not self._same_step(i, i + 1)
        )

    def _same_step(self, index: int, other: int) -> bool:
        one, two = self.route.ops[index], self.route.ops[other]
        return isinstance(one, StepOp) and isinstance(two, StepOp) and one.step.id == two.step.id

    @cached_property
    def ahead(self) -> Mapping[str, tuple[Step, ...]]:
        """For each dwell, the steps that may be done while it runs."""
        found: dict[str, tuple[Step, ...]] = {}
        for step in self.route.steps.values():
            if step.ahead_of:
                found[step.ahead_of] = (*found.get(step.ahead_of, ()), step)
        return found

    @cached_property
    def any_order(self) -> Mapping[str, tuple[Step, ...]]:
        """The groups of steps whose order is free."""
        found: dict[str, tuple[Step, ...]] = {}
        for step in self.route.steps.values():
            if step.any_order:
                found[step.any_order] = (*found.get(step.any_order, ()), step)
        return found

    @cached_property
    def timed(self) -> Mapping[str, str]:
        """For each length of time that a sum reads, by its name, the step that it is of."""
        return {
            name: timed_step(name)
            for step in self.route.steps.values()
            if isinstance(step.detail, WorkOut)
            for name in step.detail.formula.reads
            if timed_step(name)
        }

    @cached_property
    def writers(self) -> Mapping[str, str]:
        """For each name that formulas read, the step that writes it."""
        steps = self.route.steps.values()
        taken = {name: step.id for step in steps for name in step.taken_names}
        return taken | {
            step.detail.name: step.id
            for step in steps
            if isinstance(step.detail, (Reading, Inspect, WorkOut))
        }

    @cached_property
    def figures_at(self) -> Mapping[int, tuple[str, ...]]:
        """For each op of a step the figures that must be known before it is done.

        They are those that the step itself reads, the forks right after it, and the windows that
        its end starts.
        """
        figures = self.route.figures
        if not figures:
            return {}
        found: dict[int, tuple[str, ...]] = {}
        for index, op in enumerate(self.route.ops):
            if isinstance(op, StepOp):
                read = names_of_step(op.step) | self._read_after(index + 1)
                for target in self.starts.get(op.step.id, ()):
                    read |= names_of_window(self.route.steps[target])
                named = tuple(name for name in figures if name in read)
                if named:
                    found[index] = named
        return found

    def figures_at_begin(self) -> tuple[str, ...]:
        """The figures that decide where a part begins."""
        read = self._read_after(0)
        return tuple(name for name in self.route.figures if name in read)

    def _read_after(self, index: int) -> frozenset[str]:
        """The names that the forks from an op on read, until the next steps."""
        open_ops, seen, read = [index], set[int](), frozenset[str]()
        while open_ops:
            at = open_ops.pop()
            op = self.route.ops[at]
            if at in seen or isinstance(op, (StepOp, End)):
                continue
            seen.add(at)
            open_ops.append(at + 1)
            if isinstance(op, Guard):
                read |= op.condition.reads
                open_ops.append(op.past)
            elif isinstance(op, Detour):
                read |= names_of_window(self.route.steps[op.step])
                open_ops.append(op.past)
            elif isinstance(op, Tail):
                read |= op.until.reads if op.until is not None else frozenset[str]()
                open_ops.append(op.head + 1)
        return read

    def ops_of(self, step: str) -> range:
        """The ops of one step: one, or one for each place of a reading."""
        first = self.route.index[step]
        last = first
        while last not in self.last_place:
            last += 1
        return range(first, last + 1)

    def landing(
        self, target: int, index: int, passes: tuple[int, ...], left: Mapping[int, int]
    ) -> tuple[int, ...]:
        """The passes of a part that is put to `target`: into a repeat from outside, one further.

        Never forward: to a later step of the repeat it stands in, it goes in the pass before.

        Args:
            target: The op it is put to.
            index: Where it stands.
            passes: The passes it stands in.
            left: The passes it has made in the repeats it left.
        """
        inside, wanted = self.route.within[index], self.route.within[target]
        shared = 0
        while shared < min(len(inside), len(wanted)) and inside[shared] == wanted[shared]:
            shared += 1
        made = [*passes[:shared]]
        for head in wanted[shared:]:
            made.append(1 if len(made) > shared else left.get(head, 0) + 1)
        again = [depth for depth in range(shared) if made[depth] > 1]
        if again and self.order(target, tuple(made)) > self.order(index, passes):
            made[again[-1]] -= 1
        return tuple(made)

    def stands_at(self, index: int, ahead: frozenset[int]) -> bool:
        """Whether a walk that begins at an op ends there: a step that was not done ahead."""
        return isinstance(self.route.ops[index], StepOp) and index not in ahead

    def walk(
        self,
        start: Place,
        left: Mapping[int, int],
        ahead: frozenset[int],
        choose: Choose,
    ) -> Walked:
        """Go from a position to the next step that is not done yet, or to the end.

        Args:
            start: The op to begin with; it is looked at, not passed.
            left: Passes made in the repeats left so far.
            ahead: The ops that were done ahead.
            choose: Says which way a fork falls, or None when it cannot be said.
        """
        index, passes = start
        if self.stands_at(index, ahead):
            return Walked(index, passes, left, ahead)
        while True:
            op = self.route.ops[index]
            if isinstance(op, StepOp):
                if index not in ahead and not op.step.left_out:
                    return Walked(index, passes, left, ahead)
                index, ahead = index + 1, ahead - {index}
            elif isinstance(op, Head):
                left = {head: made for head, made in left.items() if head != index}
                index, passes = index + 1, (*passes, 1)
            elif isinstance(op, End):
                return Walked(index, passes, left, ahead)
            else:
                way = choose(op, index, passes)
                if way is None:
                    return Walked(index, passes, left, ahead, stuck=True)
                if isinstance(op, Tail):
                    left = self._made(op, way, index, passes, left)
                index, passes = self._take(op, way, index, passes)

    @staticmethod
    def _take(op: Fork, way: str, index: int, passes: tuple[int, ...]) -> Place:
        if isinstance(op, Guard):
            return (index + 1 if way == "true" else op.past), passes
        if isinstance(op, Detour):
            return (index + 1 if way == "first" else op.past), passes
        if way == "again":
            return op.head + 1, (*passes[:-1], passes[-1] + 1)
        return index + 1, passes[:-1]

    @staticmethod
    def _made(
        op: Tail, way: str, index: int, passes: tuple[int, ...], left: Mapping[int, int]
    ) -> Mapping[int, int]:
        """The passes made in repeats that were left, once the end of one was passed."""
        if way != "again":
            return {**left, op.head: passes[-1]}
        inner = [head for head in left if op.head < head < index]
        return {head: made for head, made in left.items() if head not in inner} if inner else left
