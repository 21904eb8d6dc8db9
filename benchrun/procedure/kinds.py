"""The kinds of a formula's parts, settled when a procedure is loaded.

The same rules as in the working out, but on dimensions alone: adding mm to kN is found before
anybody stands at the bench.
"""

from collections.abc import Callable, Mapping, Set
from dataclasses import replace
from difflib import get_close_matches
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure import units
from benchrun.procedure.evaluate import work_out
from benchrun.procedure.grammar import AGGREGATES, CHOICE
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
from benchrun.procedure.sums import shop_kind
from benchrun.procedure.units import CONDITION, FINDING, Powers, UnitKind, kind_of_dimension
from benchrun.quantity import canonical, dimension


@lean_dataclass(frozen=True, slots=True)
class Names:
    """The meaning of a procedure's names.

    Attributes:
        dimensions: The dimension of each name's unit, or `finding`.
        many: The names that hold several values.
    """

    dimensions: Mapping[str, str]
    many: Set[str] = frozenset()

    def __contains__(self, name: str) -> bool:
        return name in self.dimensions


def kind_of(node: Node, names: Names) -> UnitKind:
    """The kind that a tree comes to.

    Raises:
        FormulaError: Two parts do not go together; the error knows where.
    """
    return _KIND[type(node)](node, names)


def _product(powers: Powers, many: bool) -> UnitKind:
    name = units.dimension_named(powers)
    return UnitKind(name if units.powers_of(name) == powers else "", powers, many)


def _number(node: Number, _names: Names) -> UnitKind:
    return kind_of_dimension(dimension(node.unit))


def _words(_node: Words, _names: Names) -> UnitKind:
    return UnitKind(FINDING)


def _name(node: Name, names: Names) -> UnitKind:
    found = names.dimensions.get(node.name)
    if found is None:
        raise FormulaError(_unknown(node.name, names), node.at)
    kind = UnitKind(FINDING) if found == FINDING else kind_of_dimension(found)
    return replace(kind, many=node.name in names.many)


def _unknown(name: str, names: Names) -> str:
    longer = [known for known in names.dimensions if known.startswith(f"{name}_")]
    if longer and name not in names.dimensions:
        return f"formulas call a step by its id with _ for the hyphen: write {longer[0]}"
    near = get_close_matches(name, names.dimensions, 1)
    if near:
        return f"{name!r} is no reading, finding or worked-out value; did you mean {near[0]!r}?"
    if canonical(name):
        return f"{name!r} is a unit without a number before it"
    return f"{name!r} is no reading, finding or worked-out value of this procedure"


def _measured(node: Node, names: Names) -> UnitKind:
    kind = kind_of(node, names)
    if kind.dimension in {FINDING, CONDITION}:
        raise FormulaError(f"a quantity is needed here, found {kind.words}", node.at)
    return kind


def _negate(node: Negate, names: Names) -> UnitKind:
    kind = _measured(node.operand, names)
    if kind.dimension == units.POINT:
        raise FormulaError("a temperature cannot be negated", node.at)
    return kind


def _sum(node: Addition, names: Names) -> UnitKind:
    left, right = _measured(node.left, names), _measured(node.right, names)
    many = left.many or right.many
    if node.sign in "*/":
        if units.POINT in {left.dimension, right.dimension}:
            raise FormulaError(
                "a temperature cannot be multiplied or divided: use a difference in K", node.at
            )
        if right.dimension == "number":
            return replace(left, many=many)
        if node.sign == "*" and left.dimension == "number":
            return replace(right, many=many)
        return _product(units.times(left.powers, right.powers, 1 if node.sign == "*" else -1), many)
    return replace(_added(node, left, right), many=many)


def _added(node: Addition, left: UnitKind, right: UnitKind) -> UnitKind:
    points = (left.dimension == units.POINT) + (right.dimension == units.POINT)
    if points == 2:
        if node.sign == "+":
            raise FormulaError(
                "two temperatures cannot be added: give the difference in K", node.at
            )
        return kind_of_dimension(units.DIFFERENCE)
    if points == 1 and units.DIFFERENCE in {left.dimension, right.dimension}:
        if node.sign == "-" and right.dimension == units.POINT:
            raise FormulaError("a temperature cannot be taken from a difference", node.at)
        return kind_of_dimension(units.POINT)
    word = "added to" if node.sign == "+" else "taken from"
    if not _alike(left, right):
        raise FormulaError(f"{right.words} cannot be {word} {left.words}", node.at)
    return left


def _alike(left: UnitKind, right: UnitKind) -> bool:
    if left.dimension and right.dimension:
        return left.dimension == right.dimension
    return left.powers == right.powers


def _power(node: Power, names: Names) -> UnitKind:
    base = _measured(node.base, names)
    if base.dimension == units.POINT:
        raise FormulaError("a temperature has no powers", node.at)
    powers = units.PURE
    for _ in range(abs(node.exponent)):
        powers = units.times(powers, base.powers, 1 if node.exponent > 0 else -1)
    return _product(powers, base.many)


def _compare(node: Compare, names: Names) -> UnitKind:
    left = kind_of(node.first, names)
    many = left.many
    for sign, part in node.rest:
        if left.dimension == FINDING and isinstance(part, Name) and part.name not in names:
            raise FormulaError(f'a finding goes in quotation marks: write "{part.name}"', part.at)
        right = kind_of(part, names)
        many = many or right.many
        _comparable(sign, part, left, right)
        left = right
    return UnitKind(CONDITION, many=many)


def _comparable(sign: str, part: Node, left: UnitKind, right: UnitKind) -> None:
    if CONDITION in {left.dimension, right.dimension} or not _alike(left, right):
        said = f"{left.words} cannot be compared with {right.words}"
        if isinstance(part, Number) and not part.unit:
            raise FormulaError(f"{said}: write the unit after {part.value}", part.at)
        raise FormulaError(said, part.at)
    if left.dimension == FINDING and sign not in {"==", "!="}:
        raise FormulaError("a finding can only be the same or another: write `is`", part.at)


def _condition(node: Node, names: Names) -> None:
    kind = kind_of(node, names)
    if kind.dimension != CONDITION or kind.many:
        found = "several at once" if kind.dimension == CONDITION else kind.words
        raise FormulaError(
            f"a condition such as bore > 62 mm is needed here, found {found}", node.at
        )


def _join(node: Join, names: Names) -> UnitKind:
    for part in node.parts:
        _condition(part, names)
    return UnitKind(CONDITION)


def _not(node: Not, names: Names) -> UnitKind:
    _condition(node.operand, names)
    return UnitKind(CONDITION)


def _choice(node: Call, names: Names) -> UnitKind:
    condition, first, other = node.args
    _condition(condition, names)
    one, two = kind_of(first, names), kind_of(other, names)
    if not _alike(one, two):
        raise FormulaError(f"if gives {one.words} or {two.words}: both must be alike", other.at)
    return replace(one, many=one.many or two.many)


def _call(node: Call, names: Names) -> UnitKind:
    if node.name == CHOICE:
        return _choice(node, names)
    if node.name not in AGGREGATES:
        kind = shop_kind(node, {name: kind_of(part, names) for name, part in node.named})
        if all(isinstance(part, Number | Words) for _, part in node.named):
            work_out(node, {})  # what it refuses, it refuses at once
        return kind
    if node.name == "count":
        for part in node.args:
            kind_of(part, names)
        return kind_of_dimension("number")
    first, *others = [_measured(part, names) for part in node.args]
    for part, kind in zip(node.args[1:], others, strict=True):
        if not _alike(first, kind):
            raise FormulaError(f"{first.words} and {kind.words} have no {node.name}", part.at)
    if node.name == "sum" and first.dimension == units.POINT:
        raise FormulaError("temperatures cannot be added: write mean", node.at)
    if node.name == "spread" and first.dimension == units.POINT:
        return kind_of_dimension(units.DIFFERENCE)
    return replace(first, many=False)


_KIND: Final[Mapping[type[Node], Callable[[Any, Names], UnitKind]]] = {
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
