"""Turns what is particular to each kind of step from its shape into its compiled form."""

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.formula import Formula, parse_formula
from benchrun.procedure.marked import Path
from benchrun.procedure.phrases import consequence, in_time, places
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import (
    Detail,
    Dwell,
    Finding,
    Hold,
    Inspect,
    PlainDo,
    Reading,
    Span,
    SpanTable,
    Uses,
    WorkOut,
)
from benchrun.procedure.shapes import (
    DwellStep,
    HoldStep,
    InspectStep,
    LimitsShape,
    ReadingStep,
    StepShape,
    TableShape,
    UseShape,
    WitnessStep,
    WorkOutStep,
)
from benchrun.procedure.units import FINDING
from benchrun.quantity import Measure, dimension, read
from benchrun.text import meant

_FIT: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)(?: ?mm)? ([A-Za-z]{1,2}[0-9]{1,2})")


@dataclass(frozen=True, slots=True)
class Named:
    """The meaning of a name of the procedure.

    Attributes:
        step: The id of the step that writes it.
        unit: The unit of a quantity; empty for a finding.
        dimension: What the unit measures, or `finding`.
        many: Whether it holds several values (a grid, or repeated measurements).
        findings: The findings it can be.
        path: Where it is written, in the file.
    """

    step: str
    unit: str
    dimension: str
    many: bool
    findings: tuple[str, ...]
    path: Path


@dataclass(slots=True)
class Surroundings:
    """The things that the steps of a procedure refer to."""

    problems: Problems
    vessels: Mapping[str, object]
    instruments: Sequence[str]
    supplies: Sequence[str] = ()
    names: dict[str, Named] = field(default_factory=dict)
    lost: Set[str] = frozenset()


def detail_of(shape: StepShape, name: str, path: Path, around: Surroundings) -> Detail:
    """The detail of a step's kind.

    Args:
        shape: The step.
        name: What formulas call it.
        path: Where it stands.
        around: What it may refer to, and where its problems go.
    """
    match shape:
        case DwellStep():
            return _dwell(shape, path, around)
        case WitnessStep():
            return _witness(shape)
        case ReadingStep():
            return _reading(shape, name, path, around)
        case InspectStep():
            return _inspect(shape, name, path, around)
        case HoldStep():
            return _hold(shape, path, around)
        case WorkOutStep():
            low, high = _limits(shape, path, around)
            outside, bath = tuple(shape.outside), _strength_of(shape, path, around)
            return WorkOut(name, shape.unit, shape.formula, low, high, outside, bath)
        case _:
            return PlainDo()


def step_uses(shapes: Sequence[UseShape], path: Path, around: Surroundings) -> tuple[Uses, ...]:
    """A step's use of a supply.

    Args:
        shapes: What stands under `uses`.
        path: Where the step stands.
        around: What it may refer to, and where its problems go.
    """
    seen: set[str] = set()
    for count, one in enumerate(shapes):
        where = (*path, "uses", count, "supply")
        if one.supply not in around.supplies:
            would = meant(one.supply, around.supplies)
            around.problems.error(
                where, f"{one.supply!r} is not among the supplies needed: {would}"
            )
        if one.supply in seen:
            around.problems.error(where, f"{one.supply!r} stands twice here: add the amounts up")
        seen.add(one.supply)
    return tuple(Uses(one.supply, one.amount, one.allow, one.back) for one in shapes)


def named(detail: Detail, step: str, path: Path) -> Named | None:
    """The name that the step writes for formulas, or None."""
    match detail:
        case Reading():
            many = len(detail.places) > 1
            return Named(step, detail.unit, dimension(detail.unit), many, (), path)
        case WorkOut():
            return Named(step, detail.unit, dimension(detail.unit), False, (), path)
        case Inspect():
            findings = tuple(one.name for one in detail.findings)
            return Named(step, "", FINDING, False, findings, path)
        case _:
            return None


def _dwell(shape: DwellStep, path: Path, around: Surroundings) -> Dwell:
    if shape.in_ is not None and shape.in_ not in around.vessels:
        would = meant(shape.in_, around.vessels)
        around.problems.error(
            (*path, "in"), f"{shape.in_!r} is no vessel of this procedure: {would}"
        )
    if shape.in_ is not None and shape.at is not None:
        around.problems.error((*path, "at"), "a dwell is in a vessel or at a place, not both")
    least = _span(shape.least, (*path, "least"), around)
    most = _span(shape.most, (*path, "most"), around)
    _rising(least, shape.aim, most, path, around.problems)
    if (shape.early and least is None) or (shape.late and most is None):
        key, limit = ("early", "least") if shape.early and least is None else ("late", "most")
        around.problems.lacks((*path, key), f"{key!r} says nothing without {limit!r}", key=True)
    return Dwell(
        vessel=shape.in_ or "",
        place=shape.at or "",
        least=least,
        most=most,
        aim=shape.aim,
        tend_every=shape.tend.every if shape.tend else None,
        tend=shape.tend.do if shape.tend else "",
        early=tuple(shape.early),
        late=tuple(shape.late),
        adds_up=shape.adds_up,
    )


def _rising(
    least: Span | None, aim: int | None, most: Span | None, path: Path, problems: Problems
) -> None:
    given = [
        (key, span)
        for key, span in (("least", least), ("aim", aim), ("most", most))
        if isinstance(span, int)
    ]
    for (first, low), (second, high) in pairwise(given):
        if low > high:
            problems.error(
                (*path, second), f"{second} {in_time(high)} is shorter than {first} {in_time(low)}"
            )


def _span(shape: int | TableShape | None, path: Path, around: Surroundings) -> Span | None:
    if not isinstance(shape, TableShape):
        return shape
    reading = around.names.get(shape.by)
    if reading is None and shape.by in around.lost:
        return None
    if reading is None or reading.dimension == FINDING or reading.many:
        around.problems.error(
            (*path, "by"), f"{shape.by!r} is no single reading taken before this step"
        )
        return None
    rows: list[tuple[Decimal, int]] = []
    for key, span in shape.table.items():
        try:
            rows.append((read(key, reading.unit).to(reading.unit), span))
        except BenchrunError as error:
            around.problems.error((*path, "table", key), error.message, key=True)
            return None
    if len(rows) < 2 or any(one[0] >= other[0] for one, other in pairwise(rows)):
        around.problems.lacks(
            (*path, "table"), "a table needs two or more rows, rising from one to the next"
        )
        return None
    return SpanTable(shape.by, reading.unit, tuple(rows), shape.source or "")


def _witness(shape: WitnessStep) -> Dwell:
    """Waiting for a witness is a dwell on the bench that may end early when they have looked."""
    return Dwell(least=shape.notice, early=(consequence("go on"),))


def _hold(shape: HoldStep, path: Path, around: Surroundings) -> Hold:
    if shape.same_person_after is not None and not shape.another_person:
        around.problems.lacks(
            (*path, "same person after"),
            "this says nothing without `another person: yes`, which it softens",
            key=True,
        )
    return Hold(shape.role or "", shape.signs, shape.another_person, shape.same_person_after)


def _inspect(shape: InspectStep, name: str, path: Path, around: Surroundings) -> Inspect:
    findings: list[Finding] = []
    for finding, ways in shape.findings.items():
        where = (*path, "findings", finding)
        if not ways:
            around.problems.lacks(where, f"finding {finding!r} has no consequence: write go on")
        if '"' in finding or len(finding) > 80 or not finding.strip():
            around.problems.error(
                where, "a finding is a few words without quotation marks", key=True
            )
        findings.append(Finding(finding, tuple(ways)))
    if not findings:
        around.problems.lacks((*path, "findings"), "an inspection needs at least one finding")
    return Inspect(name, tuple(findings))


def _reading(shape: ReadingStep, name: str, path: Path, around: Surroundings) -> Reading:
    low, high = _limits(shape, path, around)
    if shape.in_doubt and low is None and high is None:
        around.problems.lacks(
            (*path, "in doubt"), "'in doubt' says nothing without limits", key=True
        )
    if shape.instrument is not None and shape.instrument not in around.instruments:
        would = meant(shape.instrument, around.instruments)
        around.problems.error(
            (*path, "instrument"),
            f"{shape.instrument!r} is not among the instruments needed: {would}",
        )
    if shape.one_for_all and shape.together:
        said = "a step done together has one value for all already: delete this line, or `together`"
        around.problems.error((*path, "one for all"), said, key=True)
    spots = _places(shape, path, around)
    return Reading(
        name=name,
        unit=shape.unit,
        low=low,
        high=high,
        places=spots,
        instrument=shape.instrument or "",
        resolution=_resolution(shape, path, around),
        outside=tuple(shape.outside),
        doubt=tuple(shape.in_doubt),
        strength_of=_strength_of(shape, path, around, many=len(spots) > 1),
        one_for_all=shape.one_for_all,
    )


def _strength_of(
    shape: LimitsShape, path: Path, around: Surroundings, *, many: bool = False
) -> str:
    """The bath whose strength a step reads or works out: one value, of something that is known."""
    bath, where = shape.strength_of, (*path, "strength of")
    if bath is None:
        return ""
    known = (*around.vessels, *around.supplies)
    if bath not in known:
        around.problems.error(
            where,
            f"{bath!r} is neither a vessel of this procedure nor among the supplies needed: "
            f"{meant(bath, known)}",
        )
    elif many:
        around.problems.error(
            where,
            "a strength is one value: put this key on the `work out` that draws them together",
        )
    elif isinstance(shape, WorkOutStep) and not shape.together:
        around.problems.error(
            where, "a bath has one strength for all parts: write `together: yes`", key=True
        )
    return bath


def _places(shape: ReadingStep, path: Path, around: Surroundings) -> tuple[str, ...]:
    axes = shape.places if isinstance(shape.places, dict) else {"": shape.places or []}
    try:
        spots = places({axis: names for axis, names in axes.items() if names}, shape.times)
    except ValueError as error:
        around.problems.error((*path, "places"), str(error))
        return ("",)
    if len(set(spots)) < len(spots):
        around.problems.error((*path, "places"), "a place stands twice: name each once")
        return spots[:1]
    return spots


def _resolution(shape: ReadingStep, path: Path, around: Surroundings) -> Decimal | None:
    if shape.resolution is None:
        return None
    try:
        return read(shape.resolution, shape.unit).to(shape.unit)
    except BenchrunError as error:
        around.problems.error((*path, "resolution"), error.message)
        return None


def _limits(
    shape: LimitsShape, path: Path, around: Surroundings
) -> tuple[Formula | None, Formula | None]:
    low, high = shape.low, shape.high
    if shape.fit is not None:
        match = _FIT.fullmatch(shape.fit)
        if match is None:
            around.problems.error(
                (*path, "fit"), f"{shape.fit!r} is no size with its class: write 62 P7 or 50 k6"
            )
        elif low is not None or high is not None:
            around.problems.error(
                (*path, "fit"), "the fit gives both limits: delete low and high", key=True
            )
        else:
            call = f'limits(size={match[1]} mm, class="{match[2]}")'
            low, high = parse_formula(f"{call}.size_min"), parse_formula(f"{call}.size_max")
    if shape.outside and low is None and high is None and shape.fit is None:
        around.problems.lacks(
            (*path, "outside"), "'outside' says nothing without low, high or fit", key=True
        )
    if low is not None and high is not None and not low.reads and not high.reads:
        _in_order(shape, low, high, path, around)
    return low, high


def _in_order(
    shape: LimitsShape, low: Formula, high: Formula, path: Path, around: Surroundings
) -> None:
    try:
        lower, upper = low.value({}, shape.unit), high.value({}, shape.unit)
    except BenchrunError:
        return  # the check of units says it with its place
    if isinstance(lower, Measure) and isinstance(upper, Measure) and lower.value > upper.value:
        around.problems.error(
            (*path, "high"), f"high {high.text} is less than low {low.text}: exchange them"
        )
