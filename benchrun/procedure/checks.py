"""Checks of a procedure as a whole, made on its laid-out route."""

from collections.abc import Iterator, Mapping, Set
from difflib import get_close_matches
from types import MappingProxyType
from typing import Final

from benchrun.procedure.formula import Formula, FormulaError
from benchrun.procedure.grammar import ALL, BEFORE, LAST, ROUND, SPENT, pass_name, timed_step
from benchrun.procedure.header_values import KIND
from benchrun.procedure.layout import Layout
from benchrun.procedure.marked import Path
from benchrun.procedure.parameter import (
    TIME,
    FindingTable,
    FormulaParameter,
    Parameter,
    ReadingTable,
)
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import (
    PARTS,
    Act,
    Consequence,
    Detour,
    Dwell,
    Guard,
    Head,
    Inspect,
    Reading,
    Step,
    StepOp,
    Uses,
    WorkOut,
)
from benchrun.procedure.surroundings import Named
from benchrun.procedure.units import CONDITION, FINDING, a
from benchrun.quantity import dimension
from benchrun.text import meant

_AMOUNTS: Final = frozenset({"volume", "mass", "length", "area", "number"})


def check_layout(
    layout: Layout,
    names: Mapping[str, Named],
    problems: Problems,
    lost: Set[str] = frozenset(),
    supplies: Mapping[str, str] = MappingProxyType({}),
) -> None:
    """Add what is wrong with the route as a whole.

    Args:
        layout: The route.
        names: What formulas may read.
        problems: Takes what is wrong.
        lost: Ids and names that are missing only because what held them is already a problem.
        supplies: For each supply whose needed amount is given in figures, what that measures.
    """
    _Checks(layout, names, problems, lost, supplies).all()


def ways_of(step: Step) -> Iterator[tuple[Path, tuple[Consequence, ...]]]:
    """Each set of consequences of a step, with the key that it stands under."""
    detail = step.detail
    if isinstance(detail, Dwell):
        yield ("early",), detail.early
        yield ("late",), detail.late
    elif isinstance(detail, Reading):
        yield ("outside",), detail.outside
        yield ("in doubt",), detail.doubt
        yield ("inside",), detail.inside
    elif isinstance(detail, WorkOut):
        yield ("outside",), detail.outside
        yield ("inside",), detail.inside
    elif isinstance(detail, Inspect):
        for finding in detail.findings:
            yield ("findings", finding.name), finding.consequences
    if step.window is not None:
        yield ("window", "late"), step.window.late


class _Checks:
    def __init__(
        self,
        layout: Layout,
        names: Mapping[str, Named],
        problems: Problems,
        lost: Set[str],
        supplies: Mapping[str, str],
    ) -> None:
        self._lost = lost
        self._measured_by = dict(supplies)
        self._layout = layout
        self._names = names
        self._problems = problems
        every = {
            spoken: named
            for name, named in names.items()
            for spoken in (name, *(f"{word} {name}" for word in (ALL, BEFORE, LAST) if named.step))
        }
        self._dims = {ROUND: "number"} | {name: named.dimension for name, named in every.items()}
        self._grids = {
            name for name, named in every.items() if named.many or pass_name(name)[0] == ALL
        }
        self._of_parts = {ROUND} | {name for name, named in every.items() if not named.whole}

    def all(self) -> None:
        for step in self._layout.steps.values():
            path = self._layout.paths[step.id]
            self._ways(step, path)
            self._window(step, path)
            self._formulas(step, path)
        for index, condition, path in self._layout.conditions:
            if self._kind(condition, path, self._grids, index) not in {None, CONDITION}:
                self._problems.error(path, "a condition is needed here, such as bore > 62 mm")
        self._repeats()

    def _ways(self, step: Step, path: Path) -> None:
        for key, ways in ways_of(step):
            for count, way in enumerate(ways):
                if way.act is Act.REWORK:
                    self._rework(way, step, (*path, *key, count))

    def _rework(self, way: Consequence, step: Step, path: Path) -> None:
        layout = self._layout
        if way.to not in layout.index and way.to in self._lost:
            return
        if way.to not in layout.index:
            self._problems.error(path, f"{way.text!r}: {self._no_step(way.to)}")
        elif layout.index[way.to] > layout.index[step.id]:
            self._problems.error(
                path, f"{way.text!r} goes forward: rework goes back; write `if` to pass steps over"
            )
        elif layout.steps[way.to].ahead_of:
            self._problems.error(
                path, f"{way.text!r}: that step may be done out of turn; name the dwell before it"
            )

    def _no_step(self, name: str) -> str:
        near = get_close_matches(name, self._layout.index, 1)
        would = f"did you mean {near[0]!r}?" if near else "name one by its id"
        return f"there is no step {name!r}; {would}"

    def _window(self, step: Step, path: Path) -> None:
        if step.window is None:
            return
        layout = self._layout
        room = step.load or (isinstance(step.detail, Dwell) and step.detail.vessel)
        if not step.window.room_counts and not room:
            said = "nobody waits for room here: the step is in no load and goes `in` no vessel"
            self._problems.error((*path, "window", "waiting for room"), said, key=True)
        for source in step.window.after:
            where = (*path, "window", "after")
            if source not in layout.index:
                if source not in self._lost:
                    self._problems.error(where, self._no_step(source))
                continue
            first, other = layout.index[source], layout.index[step.id]
            if first >= other and not set(layout.within[first]) & set(layout.within[other]):
                self._problems.error(
                    where,
                    f"step {source!r} is neither before this one nor in one repeat with "
                    "it: name an earlier step",
                )

    def _formulas(self, step: Step, path: Path) -> None:
        index = self._layout.index[step.id]
        for parameter in step.parameters:
            if parameter.unit is not None:
                self._parameter(parameter, parameter.unit, path, index)
        if isinstance(step.detail, WorkOut):
            self._worked_out(step, step.detail, (*path, "formula"), index)
        for count, use in enumerate(step.uses):
            self._amount(step, use, (*path, "uses", count), index)

    def _parameter(self, parameter: Parameter, unit: str, path: Path, index: int) -> None:
        """Check a quantity in a unit: what it reads is known by then, and it measures that."""
        where = (*path, *parameter.key)
        if isinstance(parameter, FormulaParameter):
            kind = self._kind(parameter.formula, where, self._grids, index)
            self._measures(kind, parameter.formula, unit, where)
        for name in parameter.reads if isinstance(parameter, ReadingTable | FindingTable) else ():
            self._written_before(name, (*where, "by"), None, index)

    def _amount(self, step: Step, use: Uses, path: Path, index: int) -> None:
        """Check how much a step uses, and what to allow for it."""
        amount, allow = use.amount, use.allow
        bare = amount.formula if isinstance(amount, FormulaParameter) else None
        but = {PARTS, *self._of_load(step)}
        if step.gathers and bare and self._stands_bare(step, bare, (*path, "amount"), but):
            return
        many = self._many(step)
        measured = self._amount_kind(amount, (*path, "amount"), many, index)
        allowed = measured
        if allow is not None:
            if allow.reads:
                said = f"{allow.text} must be known before the start: write an amount"
                self._problems.error((*path, "allow"), said)
                return
            allowed = self._amount_kind(allow, (*path, "allow"), many, index)
        for kind, key in ((measured, "amount"), (allowed, "allow")):
            if kind is not None and kind not in _AMOUNTS:
                said = f"{a(kind)} is no amount: write it like 40 ml, 0.2 kg or a bare number"
                self._problems.error((*path, key), said)
                return
        kept = self._measured_by.setdefault(use.supply, measured) if measured else None
        if kept and kept != measured:
            said = (
                f"this is {a(measured or '')}, and {use.supply} is measured by {kept} elsewhere in "
                "this procedure: give both in one kind of unit"
            )
            self._problems.error((*path, "amount"), said)
        elif None not in (measured, allowed) and measured != allowed:
            said = f"the amount is {a(measured or '')} and this is {a(allowed or '')}"
            self._problems.error((*path, "allow"), said)

    def _amount_kind(self, amount: Parameter, path: Path, many: Set[str], index: int) -> str | None:
        """The kind of an amount, or None where that is already a problem."""
        if isinstance(amount, FormulaParameter):
            dims = {PARTS: "number", **self._dims}
            return self._kind(amount.formula, path, many, index, dims)
        for name in amount.reads:
            self._written_before(name, (*path, "by"), None, index)
        return dimension(amount.given_unit)

    def _measures(self, measured: str | None, formula: Formula, unit: str, path: Path) -> None:
        wanted = dimension(unit)
        if measured is None or measured == wanted:
            return
        if measured == "number" and not formula.reads:
            said = f"{formula.text} has no unit: write {formula.text} {unit}"
        elif unit == TIME:
            said = f"{formula.text} is {a(measured)}, and a length of time is needed here: 20 min"
        elif measured.endswith("hardness") and wanted.endswith("hardness"):
            said = (
                f"{formula.text} is of another hardness scale: write it in {unit}; no table from "
                "one to another holds for every steel"
            )
        else:
            said = (
                f"{formula.text} is {a(measured)}, and the unit {unit or 'none'} is for {a(wanted)}"
            )
        self._problems.error(path, said)

    def _worked_out(self, step: Step, detail: WorkOut, path: Path, index: int) -> None:
        if step.gathers and self._stands_bare(step, detail.formula, path, self._of_load(step)):
            return
        times = self._times(detail.formula, path, index)
        if times is None:
            return
        many = self._many(step) | (times.keys() if step.together else set())
        kind = self._kind(detail.formula, path, many, index, {**self._dims, **times})
        self._measures(kind, detail.formula, detail.unit, path)

    def _times(self, formula: Formula, path: Path, index: int) -> Mapping[str, str] | None:
        """The dimensions of the lengths of time that a sum reads; None where one is a problem."""
        found: dict[str, str] = {}
        for name in sorted(formula.reads):
            step = timed_step(name)
            if not step:
                continue
            at = max(formula.text.find(step.replace("-", "_")), 0)
            said = self._no_time(step, index, dwell=name.startswith(SPENT))
            if said:
                self._problems.error(path, said, at)
                return None
            found[name] = "time"
        return found

    def _no_time(self, step: str, index: int, *, dwell: bool) -> str:
        """Why no time of a step is known at an op; empty where one may be."""
        layout = self._layout
        if step not in layout.index:
            return "" if step in self._lost else self._no_step(step)
        if dwell and not isinstance(layout.steps[step].detail, Dwell):
            return f"{step!r} is no dwell: write time_since({step.replace('-', '_')})"
        source = layout.index[step]
        if source < index or set(layout.within[source]) & set(layout.within[index]):
            return ""
        return f"step {step!r} comes after this one: its time is not known here"

    def _of_load(self, step: Step) -> Set[str]:
        """The names that have one value for the load that a step belongs to."""
        steps = self._layout.steps
        detail, layout = step.detail, self._layout
        reads = detail.formula.reads if isinstance(detail, WorkOut) else frozenset[str]()
        times = {
            name
            for name in reads
            if (of := timed_step(name)) in layout.steps
            and step.load
            and layout.steps[of].load == step.load
        }
        return times | {
            name
            for name, known in self._names.items()
            if step.load
            and (writer := steps.get(known.step)) is not None
            and writer.load == step.load
            and writer.gathers
        }

    def _many(self, step: Step) -> Set[str]:
        """The names that have several values where a step reads them."""
        if not step.gathers:
            return self._grids
        return self._of_parts - (self._of_load(step) - self._grids)

    def _stands_bare(self, step: Step, formula: Formula, path: Path, but: Set[str]) -> bool:
        """Whether a formula for several parts reads a name without drawing the parts together."""
        bare = sorted(name for name in formula.bare - but if name in self._of_parts)
        if bare:
            whole = "batch" if step.together else "load"
            self._problems.error(
                path,
                f"a step for the whole {whole} must draw {', '.join(bare)} of all parts "
                "together: write mean, least, most, spread or count",
            )
        return bool(bare)

    def _kind(
        self,
        formula: Formula,
        path: Path,
        many: Set[str],
        index: int,
        dims: Mapping[str, str] | None = None,
    ) -> str | None:
        """The dimension that a formula comes to, or None where that is already a problem."""
        if formula.reads & self._lost - self._dims.keys():
            return None
        timed = [name for name in formula.reads if timed_step(name)]
        if any(name not in (dims or ()) for name in timed):
            said = "the formula of a `work out` has a time: give it a name there, use that here"
            self._problems.error(path, said)
            return None
        for name in sorted(formula.reads & self._dims.keys()):
            self._written_before(name, path, formula, index)
        for name, text, at in formula.compared:
            self._compared(name, text, at, path)
        try:
            kind = formula.kind(self._dims if dims is None else dims, many)
        except FormulaError as error:
            self._problems.error(path, error.message, error.at)
            return None
        if kind.many:
            self._problems.error(
                path,
                f"{formula.text!r} is several values: draw them together with mean, least or most",
            )
            return None
        return kind.dimension or kind.words

    def _compared(self, name: str, text: str, at: int, path: Path) -> None:
        known = self._names.get(name)
        if known is None or known.dimension != FINDING or text in known.findings:
            return
        if not known.findings:
            return  # taken over from another procedure, which knows what it may be
        would = meant(text, known.findings)
        sort = "kind of part" if name == KIND else f"finding of {name!r}"
        self._problems.error(path, f"{text!r} is no {sort}; {would}", at)

    def _written_before(self, name: str, path: Path, formula: Formula | None, index: int) -> None:
        word, base = pass_name(name)
        if name == ROUND:
            said = self._of_no_pass(index)
        else:
            said = self._no_value(word, base, index, formula)
        if said:
            at = None if formula is None else max(formula.text.find(name), 0)
            self._problems.error(path, said, at)

    def _of_no_pass(self, index: int) -> str:
        inside = self._layout.within[index]
        return "" if inside else "'pass' is the number of a pass, and this is in no repeat"

    def _no_value(self, word: str, name: str, index: int, formula: Formula | None) -> str:
        """Why a name has no value at an op, or not one that is plain; empty where it has."""
        layout, step = self._layout, self._names[name].step
        if not step:
            return ""
        source = layout.index[step]
        inside, here = set(layout.within[source]), set(layout.within[index])
        if source >= index and not (source > index and inside & here):
            return f"{name!r} is read here before step {step!r} writes it"
        if word and not inside:
            return f"{name!r} is in no repeat: write {name} alone"
        if word == BEFORE and not inside <= here:
            return f"'before {name}' has a meaning in the repeat alone: write last {name}"
        if word or formula is None or inside <= here:
            return ""
        head = layout.ops[layout.within[source][-1]]
        title = head.title if isinstance(head, Head) else name
        return (
            f"{name!r} has a value for each pass of {title!r}: write last {name}, or draw all "
            f"together, such as sum(all {name})"
        )

    def _repeats(self) -> None:
        ops = self._layout.ops
        for head, op in enumerate(ops):
            if isinstance(op, Head) and not self._has_sure_step(head, op.tail):
                path = self._layout.keys.get(op.key, ())
                self._problems.lacks(
                    path,
                    f"repeat {op.title!r} needs a step that no `if` passes over, or it never ends",
                )

    def _has_sure_step(self, head: int, tail: int) -> bool:
        index = head + 1
        while index < tail:
            op = self._layout.ops[index]
            if isinstance(op, StepOp):
                return True
            index = op.past if isinstance(op, Guard | Detour) else index + 1
        return False
