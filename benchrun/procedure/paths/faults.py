"""Faults that show only along the paths of a route, as problems with their place and cure."""

from collections.abc import Mapping

from benchrun.procedure.checks import ways_of
from benchrun.procedure.compile import Compiled
from benchrun.procedure.formula import Formula
from benchrun.procedure.layout import Layout
from benchrun.procedure.marked import Path
from benchrun.procedure.nodes import Compare, Join, Name, Node, Not
from benchrun.procedure.paths.bounds import (
    Domain,
    Known,
    divisors,
    parameter_span,
    span_of,
    truths_of,
)
from benchrun.procedure.paths.instruments import add_instrument_faults
from benchrun.procedure.paths.span import Span
from benchrun.procedure.paths.times import add_time_faults
from benchrun.procedure.paths.trials import trial
from benchrun.procedure.paths.walk import Walk, guards_around
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import Act, Guard, Inspect, Reading, Step, Tail, WorkOut
from benchrun.procedure.surroundings import Named
from benchrun.text import listed


def add_path_faults(compiled: Compiled, problems: Problems, *, advise: bool) -> None:
    """Add what no part can come through, to be asked of a procedure without other errors.

    Args:
        compiled: The procedure.
        problems: Takes what is wrong.
        advise: Whether advice is wanted as well.
    """
    layout = compiled.layout
    walk = Walk(layout, compiled.procedure.route.kinds)
    _Faults(layout, compiled.names, problems, walk, advise).all()
    add_time_faults(layout, walk.known, problems)
    add_instrument_faults(layout, compiled.procedure.needs, walk.known, problems, advise=advise)


class _Faults:
    def __init__(
        self,
        layout: Layout,
        names: Mapping[str, Named],
        problems: Problems,
        walk: Walk,
        advise: bool,
    ) -> None:
        self._layout = layout
        self._names = names
        self._problems = problems
        self._advise = advise
        self._walk = walk

    def all(self) -> None:
        before = len(self._problems.errors)
        for index, condition, path in self._layout.conditions:
            if condition.reads and index in self._walk.known:
                op = self._layout.ops[index]
                if isinstance(op, Guard):
                    self._guard(index, op, path)
                elif isinstance(op, Tail):
                    self._until(index, op, path)
        for step in self._layout.steps.values():
            known = self._walk.known.get(self._layout.index[step.id])
            if known is not None and not self._exchanged(step, known):
                if step.id in self._walk.stopped:
                    self._no_way_on(step)
                self._back_under(step, known)
                self._sum(step, known)
        if len(self._problems.errors) == before:
            self._never_reached()

    def _guard(self, index: int, op: Guard, path: Path) -> None:
        truths = self._walk.truths[index]
        why = self._why(op.condition.tree, self._walk.known[index])
        if truths == {False}:
            self._problems.error(
                path, f"{op.condition.text!r} is never so, {why}: correct it, or delete these steps"
            )
        elif truths == {True} and self._has_otherwise(op):
            self._problems.error(
                (*path[:-1], "otherwise"),
                f"these steps are never done: {op.condition.text!r} is always so, {why}",
                key=True,
            )
        elif truths == {True} and self._advise and path[-1] == "if":
            said = f"{op.condition.text!r} is always so, {why}: is the `if` needed?"
            self._problems.advise(path, said)

    def _has_otherwise(self, op: Guard) -> bool:
        return any(
            isinstance(other, Guard) and other.key == f"{op.key}-otherwise"
            for other in self._layout.ops
        )

    def _until(self, index: int, op: Tail, path: Path) -> None:
        reads = op.until.reads if op.until else frozenset()
        if op.until is None or not reads & self._names.keys():
            return
        if reads <= self._names.keys() and not reads & self._walk.written_between(op.head, index):
            said = f"nothing inside this repeat changes {listed(sorted(reads))}"
            if op.most is None:
                cure = "read it again in each pass, or the repeat never ends"
                self._problems.error(path, f"{said}: {cure}")
            elif self._advise:
                cure = f"where it is not so, {op.most} passes are made and then it is asked"
                self._problems.advise(path, f"{said}: {cure}; read it again in each pass")
        elif self._walk.truths[index] == {False}:
            why = self._why(op.until.tree, self._walk.known[index])
            self._problems.error(
                path, f"{op.until.text!r} never comes true, {why}: the repeat would not end"
            )

    def _no_way_on(self, step: Step) -> None:
        path, detail = self._layout.paths[step.id], step.detail
        if isinstance(detail, Inspect):
            self._problems.error(
                (*path, "findings"),
                "no finding goes on, so no part gets past this step: write `go on` at one of them",
            )
        elif isinstance(detail, Reading | WorkOut):
            self._problems.error(
                path,
                f"no value of {detail.name} goes on, so no part gets past this step: look at its "
                "limits, and at what may follow",
            )

    def _back_under(self, step: Step, known: Known) -> None:
        """A rework that leads under an `if` whose condition is never so where it is asked for."""
        for key, ways in ways_of(step):
            for count, way in enumerate(ways):
                if way.act is not Act.REWORK:
                    continue
                target = self._layout.index[way.to]
                still = self._walk.sent_back(known, target)
                for op in guards_around(self._layout, target):
                    if truths_of(op.condition.tree, still) != {False}:
                        continue
                    why = self._why(op.condition.tree, still)
                    self._problems.error(
                        (*self._layout.paths[step.id], *key, count),
                        f"{way.to!r} is under {op.condition.text!r}, which is never so for a "
                        f"part here, {why}: name a step before that `if`",
                    )

    def _never_reached(self) -> None:
        """Steps that no path leads to though nothing above says why; the first tells it."""
        for step in self._layout.steps.values():
            if self._layout.index[step.id] not in self._walk.known:
                self._problems.error(
                    self._layout.paths[step.id],
                    "no path leads to this step: look at the conditions before it",
                )
                return

    def _sum(self, step: Step, known: Known) -> None:
        """A sum that some reading leaves without a result."""
        detail = step.detail
        if not isinstance(detail, WorkOut):
            return
        path = (*self._layout.paths[step.id], "formula")
        for divisor in divisors(detail.formula.tree):
            if self._may_be_nothing(divisor, known, path):
                return
        places = {
            other.detail.name: len(other.detail.places)
            for other in self._layout.steps.values()
            if isinstance(other.detail, Reading)
        }
        tried = trial(detail.formula, known, self._names, places)
        if tried is not None and tried.always:
            self._problems.error(path, f"no value gives a result here: {tried.said}")
        elif tried is not None and self._advise:
            self._problems.advise(
                path,
                f"without a result at {tried.at}: {tried.said}; give the reading limits",
            )

    def _may_be_nothing(self, divisor: Node, known: Known, path: Path) -> bool:
        span = span_of(divisor, known)
        if span.endless or not span.holds(0) or not _names(divisor):
            return False
        names = sorted(_names(divisor))
        facts = self._facts(names, known)
        if not facts:
            if self._advise:
                cure = "there is no result then; write if(…, a, b) for that"
                self._problems.advise(path, f"what it is divided by may be 0: {cure}")
            return True
        said = f"what it is divided by may be 0, for {facts}"
        if all(self._limited(name) for name in names):
            self._problems.error(path, f"{said}: there is no result then; move a limit")
        elif self._advise:
            self._problems.advise(path, f"{said}: give {listed(names)} a `low` above 0")
        return True

    def _limited(self, name: str) -> bool:
        named = self._names.get(name)
        step = self._layout.steps.get(named.step) if named else None
        detail = step.detail if step else None
        return isinstance(detail, Reading | WorkOut) and detail.low is not None

    def _exchanged(self, step: Step, known: Known) -> bool:
        """Whether a step's upper limit is below its lower one, whatever was read."""
        detail = step.detail
        if not isinstance(detail, Reading | WorkOut) or not (detail.low and detail.high):
            return False
        low, high = parameter_span(detail.low, known), parameter_span(detail.high, known)
        if high.high >= low.low:
            return False
        self._problems.error(
            (*self._layout.paths[step.id], *detail.high.key),
            f"high, {detail.high.text}, is always less than low, {detail.low.text}: exchange them",
        )
        return True

    def _why(self, tree: Node, known: Known) -> str:
        names = sorted(_names(tree))
        if truths_of(tree, _unlimited(known)) == {False}:
            return "as its parts exclude each other"
        facts = self._facts(names, known)
        return f"since {facts} here" if facts else "whatever was read"

    def _facts(self, names: list[str], known: Known) -> str:
        said = [
            f"{name} {_in_words(known[name], self._names[name].unit)}"
            for name in names
            if name in known and name in self._names
        ]
        return listed(said)


def _unlimited(known: Known) -> Known:
    """The quantities as they would be if any number might be read."""
    return {name: Span() for name, domain in known.items() if isinstance(domain, Span)}


def _in_words(domain: Domain, unit: str) -> str:
    if isinstance(domain, Span):
        return f"is {domain.words(unit)}"
    return f"is {' or '.join(sorted(map(repr, domain)))}"


def _names(tree: Node) -> set[str]:
    match tree:
        case Name():
            return {tree.name}
        case Compare():
            return _names(tree.first).union(*(_names(part) for _, part in tree.rest))
        case Join():
            return set[str]().union(*map(_names, tree.parts))
        case Not():
            return _names(tree.operand)
    return set(Formula("", tree).reads)
