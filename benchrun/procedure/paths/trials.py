"""Trying a formula with values that its names may have: where one of the shop's sums refuses."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula, FormulaError, Missing
from benchrun.procedure.formula import Known as KnownValues
from benchrun.procedure.grammar import AGGREGATES
from benchrun.procedure.nodes import Call
from benchrun.procedure.paths.bounds import Known
from benchrun.procedure.paths.span import Span, measured
from benchrun.procedure.surroundings import Named
from benchrun.quantity import Measure, in_words

_SIZES: Final = tuple(Fraction(10) ** power for power in (-3, -2, -1, 0, 1, 2, 3))
_MOST_TRIALS: Final = 60


@lean_dataclass(frozen=True, slots=True)
class Refused:
    """A formula refused values that its names may have.

    Attributes:
        said: Why, as the sum says it.
        at: The values, in words.
        always: Whether no value that was tried gave a result.
    """

    said: str
    at: str
    always: bool


def trial(
    formula: Formula, known: Known, names: Mapping[str, Named], places: Mapping[str, int]
) -> Refused | None:
    """How one of the shop's sums in a formula refuses what its names may be; else None.

    That it always refuses is said where most values are refused for one reason; that it may, only
    where limits stand at both ends of every reading: nobody expects a result at any number.

    Args:
        formula: The formula.
        known: What its names may be.
        names: What they are.
        places: How many values a name holds that holds several.
    """
    if not _has_sum(formula) or not formula.reads <= names.keys():
        return None
    choices = {
        name: _choices(names[name], known.get(name), places.get(name, 1))
        for name in sorted(formula.reads)
    }
    refused: list[tuple[str, str]] = []
    count = 0
    for values in _together(choices):
        count += 1
        try:
            formula.value(values)
        except Missing:
            return None
        except FormulaError as error:
            refused.append((error.message, _in_words(values)))
    if not refused:
        return None
    said, at = refused[0]
    if len(refused) == count:
        said, times = Counter(message for message, _ in refused).most_common(1)[0]
        return Refused(said, at, always=True) if 2 * times > count > 1 else None
    bounded = all(_bounded(known.get(name)) for name in formula.reads)
    return Refused(said, at, always=False) if bounded else None


def _has_sum(formula: Formula) -> bool:
    return any(isinstance(node, Call) and node.name not in AGGREGATES for node in formula.nodes)


def _bounded(domain: object) -> bool:
    return isinstance(domain, frozenset) or (
        isinstance(domain, Span) and math.inf not in (domain.high, -domain.low)
    )


def _choices(named: Named, domain: object, places: int) -> list[KnownValues]:
    """Values to try for a name: the ends and the middle of what it may be, or every size."""
    if named.findings:
        words = sorted(domain) if isinstance(domain, frozenset) else list(named.findings)
        return list(words)
    span = domain if isinstance(domain, Span) else Span()
    low, high = span.low, span.high
    if isinstance(low, Fraction) and isinstance(high, Fraction):
        numbers = sorted({low, (low + high) / 2, high})
    else:
        numbers = [size for size in _SIZES if span.holds(size)]
        numbers += [end for end in (low, high) if isinstance(end, Fraction)]
    return [_value(number, named, places) for number in numbers]


def _value(number: Fraction, named: Named, places: int) -> KnownValues:
    value = Measure("", measured(number, named.unit), named.unit)
    return (value,) * places if named.many else value


def _together(choices: Mapping[str, list[KnownValues]]) -> Iterator[Mapping[str, KnownValues]]:
    """Every combination, or a part of them spread evenly where there are too many."""
    sizes = [len(values) for values in choices.values()]
    whole = math.prod(sizes)
    for number in range(0, whole, max(1, whole // _MOST_TRIALS)):
        values: dict[str, KnownValues] = {}
        left = number
        for name, options in choices.items():
            left, at = divmod(left, len(options))
            values[name] = options[at]
        yield values


def _in_words(values: Mapping[str, KnownValues]) -> str:
    said = []
    for name, value in values.items():
        one = value[0] if isinstance(value, tuple) else value
        words = in_words(one.value, one.unit) if isinstance(one, Measure) else repr(one)
        said.append(f"{name} = {words}")
    return ", ".join(said)
