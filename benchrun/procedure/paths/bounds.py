"""Formulas over intervals: what a sum may come to, and what a condition tells of its names.

Every answer is on the safe side: where a formula cannot be followed it may come to anything.
"""

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from benchrun.procedure.nodes import (
    Addition,
    Call,
    Compare,
    Join,
    Name,
    Negate,
    Node,
    Not,
    Number,
    Power,
    Words,
)
from benchrun.procedure.parameter import (
    Constant,
    FindingTable,
    FormulaParameter,
    Parameter,
    ReadingTable,
)
from benchrun.procedure.paths.span import ALL, NOT_BELOW_ZERO, Span, base_number
from benchrun.procedure.units import UnitValue

Domain = Span | frozenset[str]
Known = Mapping[str, Domain]
"""For each name that is known what it may be; a name that may not be known is not in it."""

BOTH: Final = frozenset({True, False})
_AT_LEAST_ONE: Final = Span(Fraction(1))
_TURNED: Final = {"<": ">", ">": "<", "<=": ">=", ">=": "<=", "==": "==", "!=": "!="}
_DENIED: Final = {"<": ">=", ">": "<=", "<=": ">", ">=": "<", "==": "!=", "!=": "=="}


def span_of(node: Node, known: Known) -> Span:
    """All values that a sum may come to."""
    work = _SPAN.get(type(node))
    return ALL if work is None else work(node, known)


def parameter_span(parameter: Parameter | None, known: Known) -> Span:
    """All values that a quantity may have; without one, any."""
    match parameter:
        case Constant():
            return _point(UnitValue(parameter.value.value, parameter.value.unit))
        case FormulaParameter():
            return span_of(parameter.formula.tree, known)
        case ReadingTable():
            rows = [_point(UnitValue(number, parameter.rows_unit)) for _, number in parameter.rows]
        case FindingTable():
            words = known.get(parameter.by)
            rows = [
                _point(UnitValue(row.value, row.unit))
                for word, row in parameter.rows.items()
                if not isinstance(words, frozenset) or word in words
            ]
        case _:
            return ALL
    whole = rows[0] if rows else ALL
    for row in rows[1:]:
        whole = whole.hull(row)
    return whole


def truths_of(node: Node, known: Known) -> frozenset[bool]:
    """How a condition may fall; both ways where a name may not be known."""
    match node:
        case Not():
            return frozenset(not truth for truth in truths_of(node.operand, known))
        case Join():
            return _joined(node, known)
        case Compare():
            return _compared(node, known)
    return BOTH


def narrowed(node: Node, known: Known, truth: bool) -> Known | None:
    """The names as they may be where a condition falls one way; None where it never does."""
    if truth not in truths_of(node, known):
        return None
    match node:
        case Not():
            return narrowed(node.operand, known, not truth)
        case Join() if (node.word == "and") is truth:
            here: Known | None = known
            for part in node.parts:
                here = None if here is None else narrowed(part, here, truth)
            return here
        case Join():
            return _one_side(node, known, truth)
        case Compare():
            return _compare_narrowed(node, known, truth)
    return known


def hull(one: Domain, other: Domain) -> Domain | None:
    """A domain that holds both, or None where a quantity meets a word."""
    if isinstance(one, Span) and isinstance(other, Span):
        return one.hull(other)
    if isinstance(one, frozenset) and isinstance(other, frozenset):
        return one | other
    return None


def divisors(node: Node) -> list[Node]:
    """Every part of a formula that something is divided by."""
    match node:
        case Addition():
            below = divisors(node.left) + divisors(node.right)
            return [*below, node.right] if node.sign == "/" else below
        case Power():
            return divisors(node.base) + ([node.base] if node.exponent < 0 else [])
        case Negate() | Not():
            return divisors(node.operand)
        case Call():
            parts = (*node.args, *(part for _, part in node.named))
            return [found for part in parts for found in divisors(part)]
        case Compare():
            parts = (node.first, *(part for _, part in node.rest))
            return [found for part in parts for found in divisors(part)]
        case Join():
            return [found for part in node.parts for found in divisors(part)]
    return []


def _point(value: UnitValue) -> Span:
    number = base_number(value)
    return Span(number, number)


def _name(node: Name, known: Known) -> Span:
    found = known.get(node.name)
    return found if isinstance(found, Span) else ALL


def _addition(node: Addition, known: Known) -> Span:
    left, right = span_of(node.left, known), span_of(node.right, known)
    if node.sign == "*":
        return left * right
    if node.sign == "/":
        return left.over(right)
    return left + right if node.sign == "+" else left + -right


def _call(node: Call, known: Known) -> Span:
    if node.name == "count":
        asked = any(isinstance(part, Compare | Join | Not) for part in node.args)
        return NOT_BELOW_ZERO if asked else _AT_LEAST_ONE
    spans = [span_of(part, known) for part in node.args]
    if node.name not in {"mean", "least", "most", "spread"} or not spans:
        return ALL
    whole = spans[0]
    for span in spans[1:]:
        whole = whole.hull(span)
    if node.name == "spread":
        return Span(NOT_BELOW_ZERO.low, (whole + -whole).high)
    return whole


_SPAN: Final[Mapping[type[Node], Callable[[Any, Known], Span]]] = {
    Number: lambda node, _: _point(UnitValue(node.value, node.unit)),
    Name: _name,
    Negate: lambda node, known: -span_of(node.operand, known),
    Addition: _addition,
    Power: lambda node, known: span_of(node.base, known).power(node.exponent),
    Call: _call,
}


def _words_of(node: Node, known: Known) -> frozenset[str] | None:
    if isinstance(node, Words):
        return frozenset({node.text})
    found = known.get(node.name) if isinstance(node, Name) else None
    return found if isinstance(found, frozenset) else None


def _compared(node: Compare, known: Known) -> frozenset[bool]:
    sides = [node.first, *(part for _, part in node.rest)]
    found = [
        _pair(sign, left, right, known)
        for (sign, _), (left, right) in zip(node.rest, pairwise(sides), strict=True)
    ]
    if any(truths == {False} for truths in found):
        return frozenset({False})
    return frozenset({True}) if all(truths == {True} for truths in found) else BOTH


def _pair(sign: str, left: Node, right: Node, known: Known) -> frozenset[bool]:
    words, others = _words_of(left, known), _words_of(right, known)
    if words is not None and others is not None:
        if words.isdisjoint(others):
            return frozenset({sign == "!="})
        alike = len(words) == len(others) == 1
        return frozenset({sign == "=="}) if alike else BOTH
    if words is not None or others is not None:
        return BOTH
    return _ordered(sign, span_of(left, known), span_of(right, known))


def _ordered(sign: str, left: Span, right: Span) -> frozenset[bool]:
    if sign in (">", ">="):
        return _ordered(_TURNED[sign], right, left)
    if sign in ("==", "!="):
        if left.meet(right).empty:
            return frozenset({sign == "!="})
        same = left == right and left.low == left.high
        return frozenset({sign == "=="}) if same else BOTH
    touch = left.high_open or right.low_open
    if left.high < right.low or (left.high == right.low and (sign == "<=" or touch)):
        return frozenset({True})
    touch = left.low_open or right.high_open
    if left.low > right.high or (left.low == right.high and (sign == "<" or touch)):
        return frozenset({False})
    return BOTH


def _joined(node: Join, known: Known) -> frozenset[bool]:
    """A part is looked at where those before it do not decide: `a > 5 mm and a < 3 mm`."""
    deciding = node.word == "or"
    here, sure = known, True
    for part in node.parts:
        truths = truths_of(part, here)
        if truths == {deciding}:
            return frozenset({deciding})
        sure = sure and truths == {not deciding}
        further = narrowed(part, here, not deciding)
        here = here if further is None else further
    return frozenset({not deciding}) if sure else BOTH


def _one_side(node: Join, known: Known, truth: bool) -> Known:
    """All that the only part tells which can have decided."""
    deciding = [part for part in node.parts if truth in truths_of(part, known)]
    if len(deciding) == 1:
        return narrowed(deciding[0], known, truth) or known
    return known


def _compare_narrowed(node: Compare, known: Known, truth: bool) -> Known | None:
    if not truth and len(node.rest) > 1:
        return known
    here: dict[str, Domain] = dict(known)
    sides = [node.first, *(part for _, part in node.rest)]
    for (sign, _), (left, right) in zip(node.rest, pairwise(sides), strict=True):
        meant = sign if truth else _DENIED[sign]
        for name, other, way in ((left, right, meant), (right, left, _TURNED[meant])):
            if isinstance(name, Name) and name.name in here:
                kept = _kept(here[name.name], other, way, here)
                if not kept or (isinstance(kept, Span) and kept.empty):
                    return None
                here[name.name] = kept
    return here


def _kept(domain: Domain, other: Node, sign: str, known: Known) -> Domain:
    if isinstance(domain, frozenset):
        words = _words_of(other, known)
        if words is None:
            return domain
        if sign == "==":
            return domain & words
        return domain - words if len(words) == 1 else domain
    span = span_of(other, known)
    if sign in ("<", "<="):
        return domain.meet(Span(high=span.high, high_open=sign == "<" or span.high_open))
    if sign in (">", ">="):
        return domain.meet(Span(low=span.low, low_open=sign == ">" or span.low_open))
    return domain.meet(span) if sign == "==" else domain
