"""Figures of a run: which a step needs, how they are entered, how parts come to know them."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.procedure.route import Figure
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal
from benchrun.run.drafts import RunDraft, marker_draft
from benchrun.run.outcomes import FigureSpec
from benchrun.run.state import Run, Value
from benchrun.text import shown


def missing_figures(run: Run, index: int) -> tuple[Figure, ...]:
    """The figures that must be asked for before the step at an op, as nobody entered them yet."""
    names = run.course.figures_at.get(index, ())
    return tuple(run.route.figures[name] for name in names if name not in run.figures)


def figure_value(spec: FigureSpec, n: int) -> Value:
    """A figure as formulas read it; without a number where the run goes on without it.

    Args:
        spec: The figure as entered.
        n: The entry that holds it.
    """
    number = None if spec.number is None else Decimal(spec.number)
    return Value(n, "", "", spec.name, "", number, spec.unit, "", spec.typed, ())


def tell_figures(draft: RunDraft, figures: Mapping[str, Value]) -> None:
    """Let every part know some figures of the run."""
    known = {**draft.figures, **figures}
    if not known:
        return
    own = {value.key: value for value in known.values()}
    markers = dict(draft.markers)
    for part, marker in draft.markers.items():
        if any(marker.values.get(key) != value for key, value in own.items()):
            knowing = marker_draft(marker)
            knowing.values = {**marker.values, **own}
            markers[part] = knowing
    draft.figures = known
    draft.markers = markers


def spec_of(figure: Figure, typed: str) -> FigureSpec:
    """A figure as somebody typed it; an empty text is going on without it.

    Raises:
        BenchrunError: It is no quantity of its unit.
    """
    if not typed.strip():
        return FigureSpec(figure.name, unit=figure.unit)
    measure = quantity.read(typed, figure.unit)
    number = quantity.convert(measure.value, measure.unit, figure.unit)
    return FigureSpec(
        figure.name,
        measure.text,
        quantity.plain(number),
        figure.unit,
        odd=not figure.plausible(number),
    )


def checked(figure: Figure, spec: FigureSpec) -> FigureSpec | Refusal:
    """A figure as the log keeps it: its number follows from what was typed."""
    if not spec.typed.strip() and not figure.optional:
        return Refusal(f"{figure.ask} The run cannot go on without it. Type it.")
    try:
        own = spec_of(figure, spec.typed)
    except BenchrunError as error:
        return Refusal(error.message)
    return replace(spec, typed=own.typed, number=own.number, unit=own.unit, odd=own.odd)


def decide_figure(run: Run, command: c.KeepFigure) -> e.Data | Refusal:
    """Decide the entry of a figure: once a run; later it is corrected."""
    name = command.figure.name
    figure = run.route.figures.get(name)
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if figure is None:
        return Refusal(f"The procedure has no figure {shown(name, 40)}.")
    if name in run.figures:
        return Refusal(f"{figure.ask} It was entered already. Correct that entry.")
    spec = checked(figure, command.figure)
    return spec if isinstance(spec, Refusal) else e.Figured(spec)


def opened_figures(run: Run, specs: Iterable[FigureSpec]) -> tuple[FigureSpec, ...] | Refusal:
    """The figures that a run begins with, out of the books."""
    kept: dict[str, FigureSpec] = {}
    for spec in specs:
        figure = run.route.figures.get(spec.name)
        if figure is None:
            return Refusal(f"The procedure has no figure {shown(spec.name, 40)}.")
        taken = checked(figure, spec)
        if isinstance(taken, Refusal):
            return taken
        kept[spec.name] = taken
    return tuple(kept.values())
