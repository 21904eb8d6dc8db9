"""Works a formula's tree out over what is known of a part."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.procedure import units
from benchrun.procedure.grammar import CHOICE
from benchrun.procedure.nodes import (
    Addition,
    Call,
    Compare,
    FormulaError,
    Join,
    Name,
    Negate,
    Node,
    Not,
    Number,
    Power,
    Words,
)
from benchrun.procedure.sums import shop_sum
from benchrun.procedure.units import Result, Single, UnitValue
from benchrun.quantity import Measure

Known = Measure | str | tuple[Measure, ...] | tuple[str, ...]

_HOLDS: Final[Mapping[str, Callable[[int], bool]]] = {
    "<": lambda order: order < 0,
    "<=": lambda order: order <= 0,
    ">": lambda order: order > 0,
    ">=": lambda order: order >= 0,
    "==": lambda order: order == 0,
    "!=": lambda order: order != 0,
}


class Missing(Exception):
    """A formula reads something that is not known yet.

    Args:
        names: What is missing.
    """

    def __init__(self, names: frozenset[str]) -> None:
        super().__init__(f"not known yet: {', '.join(sorted(names))}")
        self.names = names


def work_out(node: Node, known: Mapping[str, Known]) -> Result:
    """The value of a tree.

    Raises:
        Missing: A name that the result depends on is not known.
        FormulaError: The sum cannot be done; the error knows where.
    """
    try:
        return _WORK[type(node)](node, known)
    except FormulaError:
        raise
    except BenchrunError as error:
        raise FormulaError(error.message, node.at) from error
    except ArithmeticError as error:
        raise FormulaError(
            "the sum has no answer (division by zero, or far too large)", node.at
        ) from error


def _number(node: Number, _known: Mapping[str, Known]) -> Result:
    return UnitValue(node.value, node.unit)


def _words(node: Words, _known: Mapping[str, Known]) -> Result:
    return node.text


def _name(node: Name, known: Mapping[str, Known]) -> Result:
    found = known.get(node.name)
    if found is None or found == ():
        raise Missing(frozenset({node.name}))
    if isinstance(found, tuple):
        return tuple(_taken(one) for one in found)
    return _taken(found)


def _taken(found: Measure | str) -> UnitValue | str:
    return found if isinstance(found, str) else UnitValue(found.value, found.unit)


def _negate(node: Negate, known: Mapping[str, Known]) -> Result:
    minus = UnitValue(Decimal(-1), "")
    return _each(node, work_out(node.operand, known), lambda one: units.multiply(minus, one, "*"))


def _sum(node: Addition, known: Mapping[str, Known]) -> Result:
    work = units.add if node.sign in "+-" else units.multiply
    left, right = work_out(node.left, known), work_out(node.right, known)
    return _pairs(
        node,
        left,
        right,
        lambda one, other: work(_value(node, one), _value(node, other), node.sign),
    )


def _power(node: Power, known: Mapping[str, Known]) -> Result:
    return _each(node, work_out(node.base, known), lambda one: units.power(one, node.exponent))


def _compare(node: Compare, known: Mapping[str, Known]) -> Result:
    left = work_out(node.first, known)
    outcome: Result = True
    for sign, part in node.rest:
        right = work_out(part, known)
        step = _pairs(node, left, right, partial(_holds, node, sign))
        outcome = _pairs(node, outcome, step, lambda one, other: bool(one) and bool(other))
        left = right
    return outcome


def _holds(node: Compare, sign: str, left: Single, right: Single) -> bool:
    if isinstance(left, str) and isinstance(right, str):
        if sign not in {"==", "!="}:
            raise FormulaError("a finding can only be the same or another: write `is`", node.at)
        return (left == right) is (sign == "==")
    return _HOLDS[sign](units.order(_value(node, left), _value(node, right)))


def _join(node: Join, known: Mapping[str, Known]) -> Result:
    """Known parts decide where they can; otherwise what is missing is said."""
    deciding = node.word == "or"
    missing: frozenset[str] = frozenset()
    for part in node.parts:
        try:
            if _yes(part, work_out(part, known)) is deciding:
                return deciding
        except Missing as gap:
            missing |= gap.names
    if missing:
        raise Missing(missing)
    return not deciding


def _not(node: Not, known: Mapping[str, Known]) -> Result:
    return not _yes(node.operand, work_out(node.operand, known))


def _yes(node: Node, outcome: Result) -> bool:
    if not isinstance(outcome, bool):
        raise FormulaError("a condition is needed here, such as bore > 62 mm", node.at)
    return outcome


def _value(node: Node, found: Result) -> UnitValue:
    if not isinstance(found, UnitValue):
        raise FormulaError("a quantity is needed here", node.at)
    return found


def _each(node: Node, found: Result, work: Callable[[UnitValue], UnitValue]) -> Result:
    if isinstance(found, tuple):
        return tuple(work(_value(node, one)) for one in found)
    return work(_value(node, found))


def _pairs(
    node: Node, left: Result, right: Result, work: Callable[[Single, Single], Single]
) -> Result:
    """Apply to two single values, or value by value where readings stand at several places."""
    if isinstance(left, tuple) and isinstance(right, tuple):
        if len(left) != len(right):
            raise FormulaError(f"{len(left)} readings do not pair with {len(right)}", node.at)
        return tuple(work(one, other) for one, other in zip(left, right, strict=True))
    if isinstance(left, tuple):
        return tuple(work(one, right) for one in left if not isinstance(right, tuple))
    if isinstance(right, tuple):
        return tuple(work(left, other) for other in right)
    return work(left, right)


def _call(node: Call, known: Mapping[str, Known]) -> Result:
    if node.name == CHOICE:
        condition, first, other = node.args
        return work_out(first if _yes(condition, work_out(condition, known)) else other, known)
    aggregate = _AGGREGATES.get(node.name)
    if aggregate is None:
        inputs = {name: work_out(part, known) for name, part in node.named}
        return shop_sum(node, inputs)
    values: list[Single] = []
    for part in node.args:
        try:
            found = work_out(part, known)
        except Missing:
            if node.name != "count" or not isinstance(part, Name):
                raise
            found = ()
        values.extend(found if isinstance(found, tuple) else (found,))
    return aggregate(node, values)


def _count(_node: Call, values: Sequence[Single]) -> UnitValue:
    return UnitValue(Decimal(sum(1 for one in values if one is not False)), "")


def _total(node: Call, values: Sequence[Single]) -> UnitValue:
    total, *others = [_value(node, one) for one in values]
    for one in others:
        total = units.add(total, one, "+")
    return total


def _mean(node: Call, values: Sequence[Single]) -> UnitValue:
    taken = [_value(node, one) for one in values]
    first, *others = taken
    # Differences from the first keep temperatures addable and the digits few.
    total = None
    for one in others:
        gap = units.add(one, first, "-")
        total = gap if total is None else units.add(total, gap, "+")
    if total is None:
        return first
    return units.add(first, units.multiply(total, UnitValue(Decimal(len(taken)), ""), "/"), "+")


def _extreme(sign: int) -> Callable[[Call, Sequence[Single]], UnitValue]:
    def found(node: Call, values: Sequence[Single]) -> UnitValue:
        best = _value(node, values[0])
        for one in values[1:]:
            if units.order(_value(node, one), best) == sign:
                best = _value(node, one)
        return best

    return found


def _spread(node: Call, values: Sequence[Single]) -> UnitValue:
    return units.add(_most(node, values), _least(node, values), "-")


_least, _most = _extreme(-1), _extreme(1)
_AGGREGATES: Final[Mapping[str, Callable[[Call, Sequence[Single]], UnitValue]]] = {
    "sum": _total,
    "mean": _mean,
    "least": _least,
    "most": _most,
    "spread": _spread,
    "count": _count,
}
_WORK: Final[Mapping[type[Node], Callable[[Any, Mapping[str, Known]], Result]]] = {
    Number: _number,
    Words: _words,
    Name: _name,
    Call: _call,
    Negate: _negate,
    Addition: _sum,
    Power: _power,
    Compare: _compare,
    Join: _join,
    Not: _not,
}
