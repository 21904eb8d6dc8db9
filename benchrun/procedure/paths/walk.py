"""The walk over every path of a route: what may be known at each op, and how each fork may fall.

A part that goes back by rework forgets what stands behind its target; so it comes through again as
it came the first time, or into steps that an `if` led it past.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from benchrun.procedure.checks import ways_of
from benchrun.procedure.header_values import KIND, PartKind
from benchrun.procedure.known_names import names_read
from benchrun.procedure.layout import Layout
from benchrun.procedure.nodes import Node
from benchrun.procedure.paths.bounds import (
    Domain,
    Known,
    hull,
    narrowed,
    parameter_span,
    span_of,
    truths_of,
)
from benchrun.procedure.paths.span import ALL, NOT_BELOW_ZERO, Span, base_number
from benchrun.procedure.route import (
    Act,
    Consequence,
    Detour,
    Guard,
    Head,
    Inspect,
    Op,
    Reading,
    Step,
    StepOp,
    Tail,
    WorkOut,
)
from benchrun.procedure.units import UnitValue
from benchrun.quantity import dimension

_MOST_APART: Final = 40
"""So many states are kept apart at one op; further ones are taken together."""
_SIGNED: Final = frozenset({"temperature", "temperature difference", "angle"})


class Walk:
    """The outcome of walking a route.

    Attributes:
        known: For each op that is reached, what may be known there, over all paths to it.
        truths: For each fork that is reached how its condition falls.
        stopped: The steps that are reached and that no part gets past as the procedure says.
    """

    def __init__(self, layout: Layout, kinds: Mapping[str, PartKind]) -> None:
        self._layout = layout
        self.known: dict[int, Known] = {}
        self.truths: dict[int, frozenset[bool]] = defaultdict(frozenset)
        self.stopped: set[str] = set()
        self._passed: set[str] = set()
        self._live = _live_names(layout)
        self._writers = _writers(layout)
        self._seen: dict[int, set[frozenset[tuple[str, Domain]]]] = defaultdict(set)
        self._waiting: list[tuple[int, Known]] = []
        for known in [_from_the_begin(kind) for kind in kinds.values()] or [{}]:
            self._come(0, known)
        while self._waiting:
            index, known = self._waiting.pop()
            for follower, after in self._on(index, known):
                self._come(follower, after)
        self.stopped -= self._passed

    def _come(self, index: int, known: Known) -> None:
        """Come to an op, unless that was seen; where too many states come, they are one."""
        live = {name: domain for name, domain in known.items() if name in self._live[index]}
        seen = self._seen[index]
        if len(seen) >= _MOST_APART:
            live = dict(_joined(self.known[index], live))
        key = frozenset(live.items())
        if key in seen:
            return
        seen.add(key)
        before = self.known.get(index)
        self.known[index] = live if before is None else _joined(before, live)
        self._waiting.append((index, live))

    def _on(self, index: int, known: Known) -> Iterator[tuple[int, Known]]:
        op = self._layout.ops[index]
        match op:
            case StepOp():
                if op.step.left_out:
                    yield index + 1, known
                for target in reworks_of(self._layout, op.step):
                    yield target, self.sent_back(known, target)
                after = self._done(op.step, known)
                if after is None:
                    self.stopped.add(op.step.id)
                else:
                    self._passed.add(op.step.id)
                    yield index + 1, after
            case Guard() if not op.condition.reads:
                yield index + 1, known  # the same for every part: advice says so
                yield op.past, known
            case Guard():
                self.truths[index] |= truths_of(op.condition.tree, known)
                yield from _fallen(op.condition.tree, known, True, index + 1)
                yield from _fallen(op.condition.tree, known, False, op.past)
            case Detour():
                yield index + 1, known
                yield op.past, known
            case Head():
                yield index + 1, known
            case Tail():
                yield from self._round(op, index, known)

    def _round(self, op: Tail, index: int, known: Known) -> Iterator[tuple[int, Known]]:
        """A pass is done: leave, or go round with what was worked out taken as unknown."""
        again = dict(known)
        for name in self.written_between(op.head, index):
            if isinstance(again.get(name), Span):
                again[name] = ALL
        if op.until is None:
            yield index + 1, known
            if op.least > 1:
                yield op.head + 1, again
            return
        tree = op.until.tree
        self.truths[index] |= truths_of(tree, known)
        if op.least > 1 or narrowed(tree, known, False) is not None:
            yield op.head + 1, again
        if op.most is not None:
            yield index + 1, known  # when the passes are used up, a person may leave it at this
        else:
            yield from _fallen(tree, known, True, index + 1)

    def sent_back(self, known: Known, target: int) -> Known:
        """All that is still known of a part that goes back to an op."""
        behind = {name for name, index in self._writers if index >= target}
        return {name: domain for name, domain in known.items() if name not in behind}

    def written_between(self, head: int, tail: int) -> set[str]:
        """The names that steps between two ops write."""
        return {name for name, index in self._writers if head <= index < tail}

    def _done(self, step: Step, known: Known) -> Known | None:
        """All that is known after a step; None where no part gets past it as it is written."""
        detail = step.detail
        if isinstance(detail, Inspect):
            passing = frozenset(f.name for f in detail.findings if _goes_on(f.consequences))
            return {**known, detail.name: passing} if passing else None
        if not isinstance(detail, Reading | WorkOut):
            return known
        span = judged(detail, known, drawn=step.gathers)
        return None if span.empty else {**known, detail.name: span}


def judged(detail: Reading | WorkOut, known: Known, *, drawn: bool) -> Span:
    """The values with which a part gets past a reading or a worked-out value.

    Args:
        detail: The step.
        known: What may be known of the part.
        drawn: Whether other parts are drawn together with it, of which that need not be so.
    """
    if isinstance(detail, WorkOut):
        whole = ALL if drawn else span_of(detail.formula.tree, known)
    else:
        whole = natural(detail, known)
    if detail.low is None and detail.high is None:
        return whole
    off = detail.outside if isinstance(detail, Reading) else detail.outside or _FREELY
    doubt = (*detail.doubt, *detail.outside) if isinstance(detail, Reading) else ()
    if any(_goes_on(ways) for ways in (off, doubt)):
        return whole
    if detail.inside and not _goes_on(detail.inside):
        return _EMPTY
    return whole.meet(within(detail, known))


def within(detail: Reading | WorkOut, known: Known) -> Span:
    """All values that may lie inside the limits."""
    low, high = parameter_span(detail.low, known), parameter_span(detail.high, known)
    return Span(
        low.low if detail.low else ALL.low,
        high.high if detail.high else ALL.high,
    )


def natural(detail: Reading, known: Known) -> Span:
    """All values that a reading takes: what cannot be below zero is refused as it is typed."""
    signed = detail.below_zero or dimension(detail.unit) in _SIGNED
    limits = (parameter_span(limit, known) for limit in (detail.low, detail.high) if limit)
    return ALL if signed or any(limit.low < 0 for limit in limits) else NOT_BELOW_ZERO


_EMPTY: Final = Span(NOT_BELOW_ZERO.low, NOT_BELOW_ZERO.low, True, True)
_FREELY: Final = (Consequence(Act.GO_ON),)


def _goes_on(ways: Iterable[Consequence]) -> bool:
    return any(way.act is Act.GO_ON for way in ways)


def _fallen(tree: Node, known: Known, truth: bool, to: int) -> Iterator[tuple[int, Known]]:
    after = narrowed(tree, known, truth)
    if after is not None:
        yield to, after


def _from_the_begin(kind: PartKind) -> Known:
    """All that is known of a part of a kind before its first step."""
    known: dict[str, Domain] = {KIND: frozenset({kind.id})}
    for name, value in kind.values.items():
        if isinstance(value, str):
            known[name] = frozenset({value})
        else:
            number = base_number(UnitValue(value.value, value.unit))
            known[name] = Span(number, number)
    return known


def _joined(one: Known, other: Known) -> Known:
    both: dict[str, Domain] = {}
    for name in one.keys() & other.keys():
        domain = hull(one[name], other[name])
        if domain is not None:
            both[name] = domain
    return both


def _writers(layout: Layout) -> list[tuple[str, int]]:
    """The names that steps write, each with the index of its op."""
    return [
        (op.step.detail.name, index)
        for index, op in enumerate(layout.ops)
        if isinstance(op, StepOp) and isinstance(op.step.detail, Reading | Inspect | WorkOut)
    ]


def _live_names(layout: Layout) -> list[frozenset[str]]:
    """For each op the names that may still be read from there on; what leads back counts too."""
    read: list[set[str]] = [set() for _ in layout.ops]
    for index, condition, _ in layout.conditions:
        read[index] |= condition.reads
    for index, op in enumerate(layout.ops):
        read[index] |= _names_at(op)
    backs = list(_ways_back(layout))
    for source, target in backs:
        for guard in guards_around(layout, target):
            read[source] |= guard.condition.reads
    live: list[frozenset[str]] = [frozenset()] * len(layout.ops)
    after: frozenset[str] = frozenset()
    for index in reversed(range(len(layout.ops))):
        after = live[index] = after | read[index]
    for source, target in sorted(backs, reverse=True):
        for inside in range(target, source + 1):
            live[inside] |= live[target]
    return live


def _names_at(op: Op) -> frozenset[str]:
    """The names that an op reads."""
    if isinstance(op, Guard):
        return op.condition.reads
    if isinstance(op, StepOp):
        return frozenset().union(*(names for names, _ in names_read(op.step)))
    return frozenset()


def _ways_back(layout: Layout) -> Iterator[tuple[int, int]]:
    """From which op to which a repeat or a rework leads back."""
    for index, op in enumerate(layout.ops):
        if isinstance(op, Head):
            yield op.tail, index
        elif isinstance(op, StepOp):
            yield from ((index, target) for target in reworks_of(layout, op.step))


def reworks_of(layout: Layout, step: Step) -> Iterator[int]:
    """The indices to which the ways of a step lead back."""
    for _, ways in ways_of(step):
        for way in ways:
            if way.act is Act.REWORK:
                yield layout.index[way.to]


def guards_around(layout: Layout, target: int) -> Iterator[Guard]:
    """The conditions under which an op stands."""
    for op in layout.ops[:target]:
        if isinstance(op, Guard) and op.past > target:
            yield op
