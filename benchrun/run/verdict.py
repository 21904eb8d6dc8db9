"""Judging: what the rules say of values today. Decide and verify call it; fold never does."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from benchrun import quantity
from benchrun.procedure.formula import Formula, FormulaError, Known, Missing
from benchrun.procedure.route import Dwell, Guard, Reading, Span, Tail, WorkOut
from benchrun.quantity import Measure
from benchrun.run.state import Decision, Marker, Value
from benchrun.shopmath.accepting import DOUBT, verdict_of

IN_TIME, EARLY, LATE = "in time", "early", "late"
UNTOLD = "ask"  # what cannot be ruled by the rules alone: a person is asked
PERHAPS_EARLY, PERHAPS_LATE, EARLY_OR_LATE = "perhaps early", "perhaps late", "early or late"


def draw(marker: Marker, names: frozenset[str]) -> tuple[Value, ...]:
    """The values of a part under these names, in the order in which the course writes them."""
    if not names:
        return ()
    found = [v for (name, _), v in marker.values.items() if name in names]
    return tuple(sorted(found, key=lambda v: (v.name, v.where, v.place)))


def knowns(values: Iterable[Value]) -> Mapping[str, Known]:
    """Values for formulas: one measure, several of a grid or of a batch, or a finding's word."""
    grouped: dict[str, list[Value]] = {}
    for value in values:
        grouped.setdefault(value.name, []).append(value)
    return {name: _known(found) for name, found in grouped.items()}


def _known(found: list[Value]) -> Known:
    if found[0].number is None:
        words = tuple(v.word for v in found)
        return words if len(words) > 1 else words[0]
    measures = tuple(Measure(v.typed, v.number, v.unit) for v in found if v.number is not None)
    single = len(measures) == 1 and not found[0].place
    return measures[0] if single else measures


def holds(condition: Formula, values: Iterable[Value]) -> bool | None:
    """Whether a condition holds; None when that cannot be said."""
    try:
        result = condition.value(knowns(values))
    except (Missing, FormulaError):
        return None
    return result if isinstance(result, bool) else None


def measured(formula: Formula, values: Iterable[Value], unit: str) -> Decimal | None:
    """The result of a formula in a unit; None when it cannot be worked out."""
    try:
        result = formula.value(knowns(values), unit)
    except (Missing, FormulaError):
        return None
    return in_unit(result, unit)


def in_unit(result: object, unit: str) -> Decimal | None:
    """The number of a measure in a unit, or None if it is no measure."""
    if not isinstance(result, Measure):
        return None
    return (
        result.value if result.unit == unit else quantity.convert(result.value, result.unit, unit)
    )


@dataclass(frozen=True, slots=True)
class Verdict:
    """A ruling on a value with the limits that it was made by; an empty ruling means no limits."""

    ruling: str
    low: Decimal | None = None
    high: Decimal | None = None


def limits(detail: Reading | WorkOut, values: Iterable[Value]) -> tuple[Decimal | None, ...] | None:
    """The lower and upper limit in the value's unit; None when one cannot be worked out."""
    found: list[Decimal | None] = []
    known = tuple(values)
    for formula in (detail.low, detail.high):
        limit = None if formula is None else measured(formula, known, detail.unit)
        if formula is not None and limit is None:
            return None
        found.append(limit)
    return tuple(found)


def judge_value(
    detail: Reading | WorkOut, number: Decimal, doubt: Decimal, values: Iterable[Value]
) -> Verdict:
    """Rule on a value against its limits as they come out of what the part has had read.

    Where a limit cannot be worked out, the value is in doubt.
    """
    if detail.low is None and detail.high is None:
        return Verdict("")
    both = limits(detail, values)
    if both is None:
        return Verdict(DOUBT)
    low, high = both
    return Verdict(verdict_of(number, low, high, doubt), low, high)


def span_ms(span: Span | None, values: Iterable[Value]) -> int | None:
    """A length of time, by its table where it has one.

    Raises:
        OffTable: The reading is missing or outside the table.
    """
    if span is None or isinstance(span, int):
        return span
    number = None
    for value in values:
        if value.name == span.name and value.number is not None:
            number = quantity.convert(value.number, value.unit, span.unit)
    if number is None:
        raise OffTable(f"{span.name.replace('_', ' ')} has not been read")
    found = span.at(number)
    if found is None:
        low, high = span.rows[0][0], span.rows[-1][0]
        words = quantity.in_words(number, span.unit)
        raise OffTable(
            f"{span.name.replace('_', ' ')} is {words}; the table goes from "
            f"{quantity.in_words(low, span.unit)} to {quantity.in_words(high, span.unit)}"
        )
    return found


class OffTable(ValueError):
    """A time limit cannot be told from its table."""


def judge_time(least: int | None, most: int | None, proven: int, possible: int | None) -> str:
    """Rule on a time spent: least by what is proven, most by what is possible.

    Returns:
        in time; early and late when certain; perhaps early, perhaps late, early or late when the
        limit lies between the bounds.
    """
    early = least is not None and proven < least
    late = most is not None and (possible is None or possible > most)
    if early and least is not None and possible is not None and possible < least:
        return EARLY
    if late and most is not None and proven > most:
        return LATE
    if early and late:
        return EARLY_OR_LATE
    if early:
        return PERHAPS_EARLY
    return PERHAPS_LATE if late else IN_TIME


def judge_fork(op: Guard | Tail, passes: tuple[int, ...], values: Iterable[Value]) -> str:
    """Which way a guard or the end of a repeat falls; `ask` when a person must say."""
    if isinstance(op, Guard):
        true = holds(op.condition, values)
        return "ask" if true is None else "true" if true else "false"
    if passes[-1] < op.least:
        return "again"
    if op.until is None:
        return "leave"
    met = holds(op.until, values)
    if met:
        return "leave"
    if met is False and (op.most is None or passes[-1] < op.most):
        return "again"
    return "ask"


def judge_again(decision: Decision, detail: object, op: object, values: tuple[Value, ...]) -> str:
    """How a decision would be ruled today, from the values that it read, as corrected."""
    if decision.sort == "finding":
        return values[0].word if values else decision.ruled
    if decision.sort == "limit" and isinstance(detail, Reading | WorkOut) and values:
        own = next((v for v in values if v.name == detail.name), values[0])
        if own.number is None:
            return decision.ruled
        return judge_value(detail, own.number, own.doubt, values).ruling
    if decision.sort == "dwell" and isinstance(detail, Dwell) and decision.spent_ms is not None:
        try:
            least, most = span_ms(detail.least, values), span_ms(detail.most, values)
        except OffTable:
            return UNTOLD
        return judge_time(least, most, *decision.spent_ms)
    if isinstance(op, Guard | Tail):
        return judge_fork(op, decision.passes, values)
    return decision.ruled
