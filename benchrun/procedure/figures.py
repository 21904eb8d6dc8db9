"""Figures of a procedure: what a manual, a data sheet or an instrument's paper says, by name."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.grammar import RESERVED
from benchrun.procedure.header_shapes import FigureShape
from benchrun.procedure.header_values import INSTRUMENT, JOB, SUPPLY, Figure
from benchrun.procedure.marked import Path
from benchrun.procedure.surroundings import Named, Surroundings, needed
from benchrun.quantity import dimension, read

_SEVERAL: Final = {SUPPLY: "supplies", INSTRUMENT: "instruments"}


def figures_of(shapes: Mapping[str, FigureShape], around: Surroundings) -> Mapping[str, Figure]:
    """The figures that a procedure names; their names are known from here on.

    Args:
        shapes: What stands under `figures`.
        around: Takes the names and what is wrong.
    """
    figures: dict[str, Figure] = {}
    for name, shape in shapes.items():
        path: Path = ("figures", name)
        if name in RESERVED:
            said = f"{name!r} is a word of formulas: choose another name"
            around.problems.error(path, said, key=True)
            continue
        if name in around.names:
            said = f"name {name!r} is already given under `kinds`: choose another"
            around.problems.error(path, said, key=True)
            continue
        low, high = _band(shape, path, around)
        belongs, of = _belongs(shape, path, around)
        figures[name] = Figure(
            name=name,
            ask=shape.ask,
            unit=shape.unit,
            low=low,
            high=high,
            belongs=belongs,
            of=of,
            optional=shape.without is not None,
            source=shape.source or "",
        )
        around.names[name] = Named(
            "", shape.unit, dimension(shape.unit), False, (), path, whole=True
        )
    return figures


def _band(
    shape: FigureShape, path: Path, around: Surroundings
) -> tuple[Decimal | None, Decimal | None]:
    """The plausible band, in the figure's unit."""
    if shape.plausible is None:
        return None, None
    where = (*path, "plausible")
    ends = shape.plausible.split(" to ")
    if len(ends) != 2:
        said = f"{shape.plausible!r} is no band: write it like 15 mm to 40 mm"
        around.problems.error(where, said)
        return None, None
    try:
        low, high = (read(end, shape.unit).to(shape.unit) for end in ends)
    except BenchrunError as error:
        around.problems.error(where, error.message)
        return None, None
    if low >= high:
        around.problems.error(where, f"{shape.plausible} is no band: exchange the two")
    return low, high


def _belongs(shape: FigureShape, path: Path, around: Surroundings) -> tuple[str, str]:
    """The book that a figure belongs to, and which supply or instrument of the needs."""
    book, _, of = shape.from_.partition(" ")
    where = (*path, "from")
    known = {SUPPLY: around.supplies, INSTRUMENT: around.instruments}
    if book == JOB and not of:
        return JOB, ""
    if book not in known or not of:
        said = f"{shape.from_!r} is no place: write job, supply NAME or instrument NAME"
        around.problems.error(where, said)
    elif of not in known[book]:
        would = needed(of, known[book], _SEVERAL[book])
        said = f"{of!r} is not among the {_SEVERAL[book]} needed: {would}"
        around.problems.error(where, said)
    return (book, of) if book in known else (JOB, "")
