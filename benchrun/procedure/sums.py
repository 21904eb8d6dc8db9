"""The shop's sums inside formulas: `limits(size=62 mm, class="P7").size_max`."""

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.procedure.grammar import AGGREGATES
from benchrun.procedure.nodes import Call, FormulaError
from benchrun.procedure.units import (
    CONDITION,
    FINDING,
    Result,
    UnitKind,
    UnitValue,
    a,
    kind_of_dimension,
    measure,
)
from benchrun.quantity import dimension
from benchrun.text import meant

if TYPE_CHECKING:
    from benchrun.shopmath.calc import Calc
    from benchrun.shopmath.inputs import Given, Input

PLANES: Final = "planes"
_SAME: Final = "same"
_SAME_AS: Final[Mapping[str, str]] = {
    "max": "most",
    "maximum": "most",
    "min": "least",
    "minimum": "least",
    "avg": "mean",
    "average": "mean",
    "range": "spread",
    "total": "sum",
}
"""Names that other languages have for what draws readings together, and the one here."""


def shop_sum(node: Call, inputs: Mapping[str, Result]) -> Result:
    """Work out one of the shop's sums and take the output that is meant.

    A grid of readings stands in a formula as one row after another: `planes` says how many rows.

    Args:
        node: The call.
        inputs: What its arguments came to.

    Raises:
        FormulaError: There is no such sum, or it refuses its inputs.
    """
    calc = _calc(node)
    planes = _planes(node, inputs)
    given = {
        entry.name: _given(entry, inputs[entry.name], planes)
        for entry in calc.inputs
        if entry.name in inputs
    }
    try:
        result = calc.work(given)
    except BenchrunError as refused:
        raise FormulaError(f"{calc.name}: {refused.message}", node.at) from refused
    output = result.outputs.get(node.output)
    if output is None:
        raise FormulaError(f"{calc.name} gives no {node.output!r} for these inputs", node.at)
    return output.value if isinstance(output.value, str) else UnitValue(output.value, output.unit)


def shop_kind(node: Call, inputs: Mapping[str, UnitKind]) -> UnitKind:
    """The kind of an output of one of the shop's sums.

    Args:
        node: The call.
        inputs: What its arguments are.

    Raises:
        FormulaError: There is no such sum, input or output, or an input measures something else.
    """
    calc = _calc(node)
    entries = {entry.name: entry for entry in calc.inputs}
    for name, kind in inputs.items():
        if name == PLANES and any(entry.kind.endswith("grid") for entry in calc.inputs):
            continue
        if name not in entries:
            raise FormulaError(
                f"{calc.name} takes no {name!r}; it takes {', '.join(entries)}", node.at
            )
        _check_input(node, entries[name], kind)
    missing = [entry.name for entry in calc.inputs if entry.needed and entry.name not in inputs]
    if missing:
        raise FormulaError(f"{calc.name} also needs {', '.join(missing)}", node.at)
    return _output_kind(node, calc, inputs)


def _calc(node: Call) -> "Calc":
    from benchrun.shopmath.catalogue import CALCS

    calc = CALCS.get(node.name)
    if calc is None:
        would = (
            f"write {_SAME_AS[node.name]}"
            if node.name in _SAME_AS
            else meant(node.name, [*AGGREGATES, *CALCS], len(CALCS) + len(AGGREGATES))
        )
        raise FormulaError(f"{node.name!r} is no sum that benchrun knows; {would}", node.at)
    if node.args:
        raise FormulaError(
            f"{calc.name} takes its values by name, such as {calc.inputs[0].name}=…", node.at
        )
    return calc


def _output_kind(node: Call, calc: "Calc", inputs: Mapping[str, UnitKind]) -> UnitKind:
    kinds = output_kinds(calc.name)
    if node.output not in kinds:
        known = ", ".join(kinds)
        outputs = f"no output {node.output!r}" if node.output else "several outputs"
        raise FormulaError(
            f"{calc.name} has {outputs}: write {calc.name}(…).NAME with one of {known}", node.at
        )
    kind = kinds[node.output]
    if kind == FINDING:
        return UnitKind(FINDING)
    if kind == _SAME:
        named = [entry.name for entry in calc.inputs if entry.kind.startswith(_SAME)]
        given = [inputs[name] for name in named if name in inputs]
        return (
            UnitKind(given[0].dimension, given[0].powers) if given else kind_of_dimension("number")
        )
    return kind_of_dimension(kind)


@cache
def output_kinds(name: str) -> Mapping[str, str]:
    """For each output of a sum its dimension, `finding` for a word, `same` as its inputs.

    A catalogue entry does not tell a word from a plain number; its own example does.
    """
    from benchrun.shopmath.catalogue import CALCS

    calc = CALCS[name]
    shown = calc.work(calc.example).outputs
    alike = any(entry.kind.startswith(_SAME) for entry in calc.inputs)
    kinds: dict[str, str] = {}
    for output in calc.outputs:
        amount = shown.get(output.name)
        if output.unit:
            kinds[output.name] = dimension(output.unit)
        elif amount is None or isinstance(amount.value, str):
            kinds[output.name] = FINDING
        else:
            kinds[output.name] = _SAME if alike and amount.unit else dimension(amount.unit)
    return kinds


def _check_input(node: Call, entry: "Input", kind: UnitKind) -> None:
    if kind.dimension == CONDITION:
        raise FormulaError(f"{entry.name} cannot be a condition", node.at)
    if kind.many and not entry.kind.endswith(("grid", "numbers")):
        raise FormulaError(
            f"{entry.name} is one value: draw the readings together with mean or most", node.at
        )
    if entry.kind == "text" or entry.kind.startswith(_SAME):
        return
    wanted = {"number", "percentage"} if entry.kind == "share" else {dimension(entry.unit)}
    if kind.dimension not in wanted:
        raise FormulaError(
            f"{entry.name} is {a(min(wanted))} ({entry.meaning}), found {kind.words}", node.at
        )


def _planes(node: Call, inputs: Mapping[str, Result]) -> int:
    planes = inputs.get(PLANES)
    if planes is None:
        return 1
    if not isinstance(planes, UnitValue) or planes.unit or planes.value != int(planes.value):
        raise FormulaError("planes is a whole number", node.at)
    return max(int(planes.value), 1)


def _given(entry: "Input", results: Result, planes: int) -> "Given":
    values = [_single(entry, result) for result in results] if isinstance(results, tuple) else None
    if values is None:
        alone = _single(entry, results)
        return [[alone]] if entry.kind.endswith("grid") else alone
    if not entry.kind.endswith("grid"):
        return values
    across = max(len(values) // planes, 1)
    return [values[at : at + across] for at in range(0, len(values), across)]


def _single(entry: "Input", value: object) -> "Given":
    if not isinstance(value, UnitValue):
        return str(value)
    if entry.kind == "share" and value.unit == "%":
        return measure(UnitValue(value.value / 100, ""), None)
    taken = measure(value, None)
    return taken.text if entry.kind == "text" else taken
