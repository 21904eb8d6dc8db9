"""Names that formulas read, and those that some path does not write before."""

from collections.abc import Iterator, Mapping

from benchrun.procedure.grammar import pass_name
from benchrun.procedure.layout import Layout
from benchrun.procedure.marked import Path
from benchrun.procedure.parameter import FormulaParameter
from benchrun.procedure.route import Detour, Guard, Inspect, Reading, Step, StepOp, WorkOut
from benchrun.procedure.surroundings import Named


def may_be_unknown(layout: Layout, names: Mapping[str, Named]) -> Iterator[tuple[str, Path]]:
    """Names that a formula reads though some path leads past the step that writes them.

    Yields:
        The name and the path of the formula.
    """
    bits = {name: 1 << count for count, name in enumerate(names)}
    sure = _surely_known(layout, bits)
    conditions = _standing_conditions(layout)
    for index, read, path in _readers(layout):
        for name in sorted(read & bits.keys()):
            if not names[name].step or names[name].either:
                continue
            writer = layout.index[names[name].step]
            if not sure[index] & bits[name] and not conditions[writer] <= conditions[index]:
                yield name, path


def _standing_conditions(layout: Layout) -> list[frozenset[str]]:
    """For each op the texts of the conditions that a part there has met."""
    standing: list[frozenset[str]] = []
    still: list[tuple[int, str]] = []
    for index, op in enumerate(layout.ops):
        still = [(past, text) for past, text in still if past > index]
        standing.append(frozenset(text for _, text in still))
        if isinstance(op, Guard):
            still.append((op.past, op.condition.text))
        elif isinstance(op, Detour):
            still.append((op.past, f"{op.step} is late"))
    return standing


def _readers(layout: Layout) -> Iterator[tuple[int, frozenset[str], Path]]:
    """Where names are read: the op's index, the names, the path in the file."""
    for index, condition, path in layout.conditions:
        yield index, condition.names, path
    for step in layout.steps.values():
        index, path = layout.index[step.id], layout.paths[step.id]
        for read, key in names_read(step):
            yield index, read, (*path, *key)


def names_read(step: Step) -> Iterator[tuple[frozenset[str], Path]]:
    """The names that the formulas and tables of a step read, and under which key."""
    if isinstance(step.detail, WorkOut):
        yield step.detail.formula.names, ("formula",)
    for parameter in step.parameters:
        if parameter.reads:
            yield (
                frozenset(pass_name(name)[1] for name in parameter.reads),
                parameter.key
                if isinstance(parameter, FormulaParameter)
                else (*parameter.key, "by"),
            )


def _surely_known(layout: Layout, bits: Mapping[str, int]) -> list[int]:
    """For each op the set (as bits) of names that every path to it has written."""
    everything = (1 << len(bits)) - 1
    sure = [everything] * len(layout.ops)
    sure[0] = 0
    for index, op in enumerate(layout.ops):
        after = sure[index]
        detail = op.step.detail if isinstance(op, StepOp) and not op.step.left_out else None
        if isinstance(detail, Reading | Inspect | WorkOut):
            after |= bits.get(detail.name, 0)
        # Ways back (repeats, rework) forget what stands after their target: they add nothing.
        followers = (index + 1, op.past) if isinstance(op, Guard | Detour) else (index + 1,)
        for follower in followers:
            if follower < len(sure):
                sure[follower] &= after
    return sure
