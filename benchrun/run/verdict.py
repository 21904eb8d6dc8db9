"""Judging: what the rules say of values today. Decide and verify call it; fold never does."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from benchrun import quantity
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Elapsed
from benchrun.procedure.formula import Formula, FormulaError, Known, Missing
from benchrun.procedure.grammar import BEFORE, LAST, ROUND, pass_name
from benchrun.procedure.parameter import Constant, Parameter, Undetermined
from benchrun.procedure.route import Dwell, Guard, Reading, Step, StepOp, Tail, WorkOut
from benchrun.quantity import Measure
from benchrun.run.state import (
    ORIGINS_SINCE,
    Decision,
    Marker,
    Origin,
    Run,
    SumInput,
    Value,
)
from benchrun.shopmath.accepting import DOUBT, verdict_of

IN_TIME, EARLY, LATE = "in time", "early", "late"
UNTOLD = "ask"  # what cannot be ruled by the rules alone: a person is asked
PERHAPS_EARLY, PERHAPS_LATE, EARLY_OR_LATE = "perhaps early", "perhaps late", "early or late"


def draw(
    marker: Marker, names: frozenset[str], passes: tuple[int, ...] | None = None
) -> tuple[Value, ...]:
    """The values of a part under these names, in the order in which the course writes them.

    Args:
        marker: The part.
        names: The names that formulas call them.
        passes: The passes that it is looked at in, where these are not those that it stands in.
    """
    if not names:
        return ()
    values = [v for (name, _), v in marker.values.items() if name in names]
    for name in _naming_passes(names):
        values += _of_passes(marker, name, marker.passes if passes is None else passes)
    if len(values) > 1:
        values.sort(key=lambda v: (v.name, v.where, v.place))
    return tuple(values)


@lru_cache(maxsize=1024)
def _naming_passes(names: frozenset[str]) -> tuple[str, ...]:
    """Those of some names that say of which passes they are."""
    return tuple(name for name in names if name == ROUND or pass_name(name)[0])


def _of_passes(marker: Marker, spoken: str, passes: tuple[int, ...]) -> Iterator[Value]:
    """The values that a name means which says of which passes; none for a plain name."""
    if spoken == ROUND and passes:
        number = Decimal(passes[-1])
        yield Value(marker.last, marker.part, "", ROUND, "", number, "", "", "", ())
    word, name = pass_name(spoken)
    if not word:
        return
    for key in {**marker.earlier, **marker.values}:
        if key[0] != name:
            continue
        now = marker.values.get(key)
        every = (*marker.earlier.get(key, ()), *(() if now is None else (now,)))
        if word == LAST:
            every = () if now is None else (now,)
        elif word == BEFORE:
            every = tuple(value for value in every if _before(value, passes))[-1:]
        yield from (replace(value, name=spoken) for value in every)


def _before(value: Value, passes: tuple[int, ...]) -> bool:
    """Whether a value is of an earlier pass than that which a part stands in."""
    made = value.where[1:-1:2]
    return bool(made) and made < passes[: len(made)]


def drawn_of(run: Run, step: Step, parts: Iterable[str], names: frozenset[str]) -> list[Value]:
    """The values of parts that do a step at once; what a load has one of is among them once."""
    found: dict[tuple[object, ...], Value] = {}
    for part in parts:
        for value in draw(run.markers[part], names):
            writer = run.route.steps.get(value.step)
            of_load = bool(step.load) and writer is not None and writer.load == step.load
            whose = "" if of_load and writer is not None and writer.gathers else part
            found.setdefault((value.n, value.name, value.place, whose), value)
    return list(found.values())


def knowns(values: Iterable[Value]) -> Mapping[str, Known]:
    """Values for formulas: one measure, several of a grid or of a batch, or a finding's word."""
    grouped: dict[str, list[Value]] = {}
    for value in values:
        if not value.absent:
            grouped.setdefault(value.name, []).append(value)
    return {name: _known(values) for name, values in grouped.items()}


def _known(values: list[Value]) -> Known:
    if not values[0].part:  # of the whole run: every part has the same
        values = values[:1]
    if values[0].number is None:
        words = tuple(v.word for v in values)
        return words if len(words) > 1 else words[0]
    measures = tuple(Measure(v.typed, v.number, v.unit) for v in values if v.number is not None)
    single = len(measures) == 1 and not values[0].place
    return measures[0] if single else measures


def holds(condition: Formula, values: Iterable[Value]) -> bool | None:
    """Whether a condition holds; None when that cannot be said."""
    try:
        result = condition.value(knowns(values))
    except (Missing, FormulaError):
        return None
    return result if isinstance(result, bool) else None


def in_unit(result: object, unit: str) -> Decimal | None:
    """The number of a measure in a unit, or None if it is no measure."""
    if not isinstance(result, Measure):
        return None
    return (
        result.value if result.unit == unit else quantity.convert(result.value, result.unit, unit)
    )


@lean_dataclass(frozen=True, slots=True)
class Verdict:
    """A ruling on a value with the limits that it was made by; an empty ruling means no limits."""

    ruling: str
    low: Decimal | None = None
    high: Decimal | None = None


def reads_of(*parameters: Parameter | None) -> frozenset[str]:
    """The names that some quantities of the procedure depend on."""
    read: frozenset[str] = frozenset()
    for parameter in parameters:
        if parameter is not None and parameter.reads:
            read |= parameter.reads
    return read


def falls_away(parameter: Parameter | None, values: Iterable[Value]) -> Parameter | None:
    """A quantity of the procedure; None where it rests on a figure that the run goes without."""
    if parameter is None or not parameter.reads:
        return parameter
    gone = any(value.absent and value.name in parameter.reads for value in values)
    return None if gone else parameter


def limits(detail: Reading | WorkOut, values: Iterable[Value]) -> tuple[Decimal | None, ...] | None:
    """The lower and upper limit in the value's unit; None when one cannot be worked out."""
    read = tuple(values)
    both = tuple(falls_away(limit, read) for limit in (detail.low, detail.high))
    known = knowns(read) if reads_of(*both) else {}
    try:
        return tuple(None if limit is None else limit.number(known) for limit in both)
    except Undetermined:
        return None


def origins(
    run: Run, parameters: Mapping[str, Parameter | None], values: Iterable[Value]
) -> tuple[Origin, ...]:
    """The values of quantities of the procedure that are no mere constants, and their origin.

    Args:
        run: The run; a log that older programs began keeps none of this.
        parameters: What each is called in the entry (`low`, `aim`), and the quantity.
        values: What is known of the part.
    """
    traced: list[Origin] = []
    given = {} if run.format < ORIGINS_SINCE else parameters
    known: Mapping[str, Known] | None = None
    for name, parameter in given.items():
        if parameter is None or parameter.FORM == Constant.FORM:
            continue
        if known is None:
            values = tuple(values)
            known = knowns(values)
        try:
            came = parameter.measure(known)
        except Undetermined:
            continue
        unit = came.unit if parameter.unit is None else parameter.unit
        traced.append(origin(name, parameter, Measure("", came.to(unit), unit), values))
    return tuple(traced)


def origin(name: str, parameter: Parameter, came: Measure, values: Iterable[Value]) -> Origin:
    """The value of a quantity of the procedure, and from which of these values."""
    inputs = tuple(as_input(value) for value in values if value.name in parameter.reads)
    number = quantity.plain(came.value)
    return Origin(name, parameter.FORM, parameter.text, number, came.unit, inputs, parameter.source)


def as_input(value: Value) -> SumInput:
    """A value as an entry names it among what something was worked out from."""
    number = None if value.number is None else quantity.plain(value.number)
    return SumInput(value.n, value.part, value.name, number, value.place, value.unit, value.word)


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
    if low is high is None:
        return Verdict("")
    return Verdict(verdict_of(number, low, high, doubt), low, high)


def milliseconds(parameter: Parameter | None, values: Iterable[Value]) -> int | None:
    """A length of time as it comes out of what the part has had read; None where none is given.

    Raises:
        Undetermined: What it depends on is missing or outside its table.
    """
    if parameter is None:
        return None
    if not parameter.reads:
        return parameter.milliseconds({})
    read = tuple(values)
    parameter = falls_away(parameter, read)
    if parameter is None:
        return None
    return parameter.milliseconds(knowns(read))


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


def judge_window(least: int | None, most: int | None, since: Elapsed, since_most: Elapsed) -> str:
    """Rule on the time between two steps; its limits may count from different moments."""
    first = judge_time(least, None, since.proven_ms, since.possible_ms)
    last = judge_time(None, most, since_most.proven_ms, since_most.possible_ms)
    if IN_TIME in (first, last):
        return last if first == IN_TIME else first
    return EARLY_OR_LATE


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
    if decision.sort == "limit" and isinstance(detail, (Reading, WorkOut)) and values:
        own = next((v for v in values if v.name == detail.name), values[0])
        if own.number is None:
            return decision.ruled
        return judge_value(detail, own.number, own.doubt, values).ruling
    if decision.sort == "dwell" and isinstance(detail, Dwell) and decision.spent_ms is not None:
        return _judge_times_again(decision, (detail.least, detail.most), values)
    if decision.sort == "window" and isinstance(op, StepOp) and op.step.window is not None:
        window = op.step.window
        return _judge_times_again(decision, (window.least, window.most), values)
    if isinstance(op, (Guard, Tail)):
        return judge_fork(op, decision.passes, values)
    return decision.ruled


def _judge_times_again(
    decision: Decision, limits: tuple[Parameter | None, ...], values: tuple[Value, ...]
) -> str:
    try:
        least, most = (milliseconds(limit, values) for limit in limits)
    except Undetermined:
        return UNTOLD
    if decision.spent_ms is None:
        return decision.ruled
    if decision.spent_most_ms is not None:
        since, since_most = Elapsed(*decision.spent_ms), Elapsed(*decision.spent_most_ms)
        return judge_window(least, most, since, since_most)
    return judge_time(least, most, *decision.spent_ms)
