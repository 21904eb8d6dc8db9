"""Turns what is particular to each kind of step from its shape into its compiled form."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.marked import Path
from benchrun.procedure.parameter import Constant, Parameter, time_constant
from benchrun.procedure.parameter_builder import limits_of_fit, parameter, rising, time_parameter
from benchrun.procedure.phrases import consequence, in_time, places
from benchrun.procedure.route import (
    Act,
    Detail,
    Dwell,
    Finding,
    Hold,
    Inspect,
    PlainDo,
    Reading,
    Uses,
    Witness,
    WorkOut,
)
from benchrun.procedure.shapes import (
    DwellStep,
    HoldStep,
    InspectStep,
    LimitsShape,
    ReadingStep,
    StepShape,
    UseShape,
    WitnessStep,
    WorkOutStep,
)
from benchrun.procedure.surroundings import Named, Surroundings, needed
from benchrun.procedure.units import FINDING
from benchrun.quantity import Measure, dimension, read
from benchrun.text import meant


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
            outside, inside = tuple(shape.outside), tuple(shape.inside)
            bath = _strength_of(shape, path, around)
            front = _characteristic(shape, low, high)
            return WorkOut(name, shape.unit, shape.formula, low, high, outside, bath, inside, front)
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
            would = needed(one.supply, around.supplies, "supplies")
            around.problems.error(
                where, f"{one.supply!r} is not among the supplies needed: {would}"
            )
        if one.supply in seen:
            around.problems.error(where, f"{one.supply!r} is there twice: add the amounts up")
        seen.add(one.supply)
    return tuple(_use(one, count, path, around) for count, one in enumerate(shapes))


def _use(shape: UseShape, count: int, path: Path, around: Surroundings) -> Uses:
    key = ("uses", count)
    amount = parameter(shape.amount, (*key, "amount"), None, path, around)
    allow = parameter(shape.allow, (*key, "allow"), None, path, around)
    nothing = Constant((*key, "amount"), "0", None, "", Measure("0", Decimal(0), ""))
    return Uses(shape.supply, amount or nothing, allow, shape.back)


def named(detail: Detail, step: str, path: Path) -> Named | None:
    """The name that the step writes for formulas, or None."""
    match detail:
        case Reading():
            many = len(detail.places) > 1
            named = Named(step, detail.unit, dimension(detail.unit), many, (), path)
            return _within_limits(named, detail)
        case WorkOut():
            named = Named(step, detail.unit, dimension(detail.unit), False, (), path)
            return _within_limits(named, detail)
        case Inspect():
            findings = tuple(one.name for one in detail.findings)
            passing = tuple(
                one.name
                for one in detail.findings
                if one.plain or any(way.act is Act.GO_ON for way in one.consequences)
            )
            return Named(step, "", FINDING, False, findings, path, passing)
        case _:
            return None


def _within_limits(named: Named, detail: Reading | WorkOut) -> Named:
    """A name with the limits that its value may keep, as far as these are constant."""
    low, high = (limit.constant if limit else None for limit in (detail.low, detail.high))
    return replace(named, low=low, high=high)


def _dwell(shape: DwellStep, path: Path, around: Surroundings) -> Dwell:
    if shape.in_ is not None and shape.in_ not in around.vessels:
        would = meant(shape.in_, around.vessels)
        around.problems.error(
            (*path, "in"), f"{shape.in_!r} is no vessel of this procedure: {would}"
        )
    if shape.in_ is not None and shape.at is not None:
        around.problems.error((*path, "at"), "a dwell is in a vessel or at a place, not both")
    least = time_parameter(shape.least, ("least",), path, around)
    most = time_parameter(shape.most, ("most",), path, around)
    aim = time_parameter(shape.aim, ("aim",), path, around)
    every = shape.tend.every if shape.tend else None
    rising((least, aim, most), path, around.problems)
    for key, ways, limit, given in (
        ("early", shape.early, "least", shape.least),
        ("late", shape.late, "most", shape.most),
    ):
        if ways and given is None:
            around.problems.lacks((*path, key), f"{key!r} says nothing without {limit!r}", key=True)
    return Dwell(
        vessel=shape.in_ or "",
        place=shape.at or "",
        least=least,
        most=most,
        aim=aim,
        tend_every=time_parameter(every, ("tend", "every"), path, around),
        tend=shape.tend.do if shape.tend else "",
        early=tuple(shape.early),
        late=tuple(shape.late),
        adds_up=shape.adds_up,
    )


def _witness(shape: WitnessStep) -> Witness:
    """A witness point; older logs end it as a dwell that may be gone on from early."""
    notice = time_constant(("notice",), shape.notice, in_time(shape.notice))
    return Witness(least=notice, early=(consequence("go on"),))


def _hold(shape: HoldStep, path: Path, around: Surroundings) -> Hold:
    if shape.same_person_after is not None and not shape.another_person:
        around.problems.lacks(
            (*path, "same person after"),
            "this says nothing without `another person: yes`, which it softens",
            key=True,
        )
    return Hold(
        shape.role or "",
        shape.signs,
        shape.another_person,
        shape.same_person_after,
        shape.may_be_waived,
    )


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


_OF_THE_WORK: Final = ("degC", "degF", "K", "bar", "pH", "%", "s", "min", "h")


def _reading(shape: ReadingStep, name: str, path: Path, around: Surroundings) -> Reading:
    low, high = _limits(shape, path, around)
    if shape.in_doubt and low is None and high is None:
        around.problems.lacks(
            (*path, "in doubt"), "'in doubt' says nothing without limits", key=True
        )
    if shape.instrument is not None and shape.instrument not in around.instruments:
        would = needed(shape.instrument, around.instruments, "instruments")
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
        calibrated=(shape.instrument or "") in around.calibrated,
        resolution=_resolution(shape, path, around),
        outside=tuple(shape.outside),
        doubt=tuple(shape.in_doubt),
        strength_of=_strength_of(shape, path, around, many=len(spots) > 1),
        one_for_all=shape.one_for_all,
        inside=tuple(shape.inside),
        below_zero=shape.below_zero,
        pieces=_pieces(shape, path, around),
        characteristic=_characteristic(shape, low, high),
    )


def _characteristic(shape: LimitsShape, low: Parameter | None, high: Parameter | None) -> bool:
    """Whether a value says how the part is; where the file is silent: measured, against limits.

    A temperature, and one value for a whole batch, say how the work was. So does a figure that
    was noted: it was read with no instrument.
    """
    if shape.characteristic is not None:
        return shape.characteristic
    if (low is None and high is None) or shape.together or shape.unit in _OF_THE_WORK:
        return False
    if isinstance(shape, ReadingStep):
        return shape.instrument is not None and not shape.one_for_all
    return shape.unit != ""


def _pieces(shape: ReadingStep, path: Path, around: Surroundings) -> str:
    """The pieces that a reading counts: it has no unit then, and is of one part."""
    if shape.pieces is not None and shape.unit:
        said = f"pieces are counted: write `unit: none` instead of {shape.unit}"
        around.problems.error((*path, "unit"), said)
    return shape.pieces or ""


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
        around.problems.error((*path, "places"), "a place is there twice: name each once")
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
) -> tuple[Parameter | None, Parameter | None]:
    if shape.fit is not None and (shape.low is not None or shape.high is not None):
        around.problems.error(
            (*path, "fit"), "the fit gives both limits: delete low and high", key=True
        )
    bare = shape.low is None and shape.high is None and shape.fit is None
    for key, ways in (("outside", shape.outside), ("inside", shape.inside)):
        if ways and bare:
            said = f"{key!r} says nothing without low, high or fit"
            around.problems.lacks((*path, key), said, key=True)
    if shape.fit is not None:
        return limits_of_fit(shape.fit, shape.unit, path, around)
    low = parameter(shape.low, ("low",), shape.unit, path, around)
    high = parameter(shape.high, ("high",), shape.unit, path, around)
    rising((low, high), path, around.problems)
    return low, high
