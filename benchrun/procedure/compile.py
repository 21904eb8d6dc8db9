"""Compiles the shapes of a file to a procedure with its route."""

import hashlib
from collections.abc import Iterator, Mapping, Set
from dataclasses import replace

from benchrun.procedure.checks import check_layout
from benchrun.procedure.figures import figures_of
from benchrun.procedure.formula import FormulaError, parse_formula
from benchrun.procedure.header_shapes import (
    CautionShape,
    InstrumentShape,
    NeedsShape,
    NextShape,
    SupplyShape,
    ToolShape,
)
from benchrun.procedure.lay import RELEASE, Layer
from benchrun.procedure.layout import Layout
from benchrun.procedure.marked import Path
from benchrun.procedure.part_kinds import part_kinds, tied
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import (
    Batch,
    CloseLine,
    Hazard,
    Instrument,
    NeededTool,
    Needs,
    Procedure,
    Route,
    Signal,
    Successor,
    Vessel,
    worst_first,
)
from benchrun.procedure.shapes import ProcedureShape
from benchrun.procedure.surroundings import Named, Surroundings


class Compiled:
    """A compiled file, with what the checks and the advice look at.

    Attributes:
        procedure: The procedure; to be used only where `problems` holds no error.
        layout: How the route was laid out.
        names: What formulas may read.
    """

    def __init__(self, procedure: Procedure, layout: Layout, names: Mapping[str, Named]) -> None:
        self.procedure = procedure
        self.layout = layout
        self.names = names


def compile_shape(
    shape: ProcedureShape, content: bytes, problems: Problems, lost: Set[str] = frozenset()
) -> Compiled:
    """Compile a file's shapes.

    Args:
        shape: What the file holds.
        content: The file's bytes, kept with the procedure.
        problems: Takes what is wrong.
        lost: Ids and names that stood in what was taken out of the file; not missed again.
    """
    needs = _needs(shape.needs)
    instruments = [instrument.name for instrument in needs.instruments]
    supplies = [
        supply if isinstance(supply, str) else supply.supply for supply in shape.needs.supplies
    ]
    around = Surroundings(problems, shape.vessels, instruments, supplies, lost=lost)
    around.calibrated = {one.name for one in needs.instruments if one.calibrated}
    kinds = part_kinds(shape.kinds, around)
    pair = around.pair = tied(shape.batch.pair, kinds, problems)
    figures = figures_of(shape.figures, around)
    hazards, by_id = _hazards(shape, problems)
    layer = Layer(around, by_id, lambda one, path: _hazard(one, path, problems))
    layer.stages(shape.stages)
    layer.close(needs.counted, shape.close.released_by, shape.close.signs)
    layer.end()
    if not layer.layout.steps and not problems.errors:
        problems.lacks(("stages",), "a procedure needs at least one stage with a step")
    if shape.batch.at_least > shape.batch.at_most:
        problems.error(("batch", "at most"), "at most is less than at least: exchange them")
    check_layout(layer.layout, around.names, problems, lost, _measured_by(shape.needs))
    vessels = {
        name: Vessel(name, vessel.title, vessel.holds, vessel.heated)
        for name, vessel in shape.vessels.items()
    }
    route = replace(layer.layout.route(vessels), kinds=kinds, pair=pair, figures=figures)
    procedure = _procedure(shape, content, route, needs, hazards)
    route = replace(
        route,
        close_lines=tuple(_close_lines(procedure)),
        release=RELEASE if shape.close.released_by else "",
    )
    procedure = replace(procedure, route=route)
    return Compiled(procedure, layer.layout, around.names)


def _close_lines(procedure: Procedure) -> Iterator[CloseLine]:
    """The lines to tick: a procedure that follows is none, as board and plan see to it."""
    named = {one.words for one in procedure.successors}
    for sort, texts in (("restore", procedure.restore), ("follow on", procedure.follow_on)):
        for number, text in enumerate(texts, 1):
            if sort == "follow on" and text in named:
                continue
            yield CloseLine(sort, number, text)


def _measured_by(needs: NeedsShape) -> dict[str, str]:
    """For each supply what its needed amount measures; an amount in words measures nothing."""
    kinds: dict[str, str] = {}
    for supply in needs.supplies:
        if isinstance(supply, SupplyShape) and supply.amount:
            try:
                kinds[supply.supply] = parse_formula(supply.amount).dimension({})
            except FormulaError:
                continue
    return kinds


def _procedure(
    shape: ProcedureShape,
    content: bytes,
    route: Route,
    needs: Needs,
    hazards: tuple[Hazard, ...],
) -> Procedure:
    return Procedure(
        id=shape.procedure,
        title=shape.title,
        revision=shape.revision,
        status=shape.status,
        use=shape.use,
        scope=shape.scope,
        applies_to=shape.applies_to or "",
        route=route,
        batch=_batch(shape),
        needs=needs,
        hazards=hazards,
        first_aid=tuple(shape.first_aid),
        changes=tuple(f"{revision}: {text}" for revision, text in shape.changes.items()),
        sources=dict(shape.sources),
        restore=tuple(shape.close.restore),
        follow_on=tuple(
            one if isinstance(one, str) else _successor(one).words for one in shape.close.follow_on
        ),
        successors=tuple(
            _successor(one) for one in shape.close.follow_on if isinstance(one, NextShape)
        ),
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
        dated=shape.dated or "",
    )


def _successor(shape: NextShape) -> Successor:
    return Successor(shape.procedure, shape.revision)


def _batch(shape: ProcedureShape) -> Batch:
    batch = shape.batch
    return Batch(batch.part, batch.at_least, batch.at_most, batch.identity or "")


def _hazards(
    shape: ProcedureShape, problems: Problems
) -> tuple[tuple[Hazard, ...], dict[str, Hazard]]:
    hazards: list[Hazard] = []
    by_id: dict[str, Hazard] = {}
    for count, each_shape in enumerate(shape.hazards):
        path: Path = ("hazards", count)
        hazard = _hazard(each_shape, path, problems)
        hazards.append(hazard)
        if each_shape.id is not None:
            if each_shape.id in by_id:
                problems.error((*path, "id"), f"hazard {each_shape.id!r} is there twice")
            by_id[each_shape.id] = hazard
    return worst_first(hazards), by_id


def _hazard(shape: CautionShape, path: Path, problems: Problems) -> Hazard:
    given = [signal for signal in Signal if getattr(shape, signal.value) is not None]
    if len(given) != 1:
        both = " and ".join(given) or "none"
        problems.lacks(path, f"a caution has one of danger, warning, caution, notice; found {both}")
    signal = given[0] if given else Signal.NOTICE
    return Hazard(
        signal=signal,
        hazard=getattr(shape, signal.value) or "",
        consequence=shape.then or "",
        avoidance=shape.avoid or "",
        codes=tuple(shape.codes),
        source=shape.source or "",
    )


def _needs(shape: NeedsShape) -> Needs:
    return Needs(
        protection=tuple(shape.protection),
        tools=tuple(_tool(tool) for tool in shape.tools),
        instruments=tuple(_instrument(instrument) for instrument in shape.instruments),
        supplies=tuple(_supply(supply) for supply in shape.supplies),
        before_start=tuple(shape.before_start),
        counted=_counted(shape) if shape.count_back else (),
    )


def _tool(shape: str | ToolShape) -> str:
    if isinstance(shape, str):
        return shape
    return shape.tool if shape.count == 1 else f"{shape.count} × {shape.tool}"


def _counted(shape: NeedsShape) -> tuple[NeededTool, ...]:
    """The tools as they are counted: one that is named twice is counted in one row."""
    numbers: dict[str, int] = {}
    for one in shape.tools:
        name, number = (one, 1) if isinstance(one, str) else (one.tool, one.count)
        numbers[name] = numbers.get(name, 0) + number
    return tuple(NeededTool(name, number) for name, number in numbers.items())


def _supply(shape: str | SupplyShape) -> str:
    if isinstance(shape, str):
        return shape
    return f"{shape.supply}, {shape.amount}" if shape.amount else shape.supply


def _instrument(shape: str | InstrumentShape) -> Instrument:
    if isinstance(shape, str):
        return Instrument(shape)
    return Instrument(
        name=shape.instrument,
        measures=shape.measures or "",
        reach=shape.range or "",
        resolution=shape.resolution or "",
        calibrated=shape.calibrated,
        uncertainty=shape.uncertainty or "",
    )
