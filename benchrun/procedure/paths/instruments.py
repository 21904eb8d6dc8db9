"""Limits that the instrument of a reading cannot judge: beyond its range, or closer than its U."""

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.layout import Layout
from benchrun.procedure.parameter import Parameter, ReadingTable
from benchrun.procedure.paths.bounds import Known, parameter_span
from benchrun.procedure.paths.span import Span, base_number, end_words
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import Instrument, Needs, Reading, Step
from benchrun.procedure.units import UnitValue, si_factor
from benchrun.quantity import dimension, read

_RANGE: Final = re.compile(r"(-?[0-9.]+) ?(\D*?) to (-?[0-9.]+) ?(.+)")


def add_instrument_faults(
    layout: Layout, needs: Needs, known: Mapping[int, Known], problems: Problems, *, advise: bool
) -> None:
    """Add limits and tables that the instruments which a procedure needs cannot judge.

    Args:
        layout: The route.
        needs: The instruments, with range and uncertainty as far as they are given in figures.
        known: For each op that is reached, what may be known there.
        problems: Takes what is wrong.
        advise: Whether advice is wanted as well.
    """
    instruments = {one.name: one for one in needs.instruments}
    readings: dict[str, tuple[Reading, Instrument]] = {}
    for step in layout.steps.values():
        detail, here = step.detail, known.get(layout.index[step.id])
        instrument = instruments.get(detail.instrument) if isinstance(detail, Reading) else None
        if here is not None and isinstance(detail, Reading) and instrument is not None:
            readings[detail.name] = detail, instrument
            _range(layout, step, detail, instrument, here, problems, advise)
            _tolerance(layout, step, detail, instrument, here, problems)
    if advise:
        for step in layout.steps.values():
            for table in _tables(step):
                if table.by in readings:
                    _table(layout, step, table, *readings[table.by], problems)


def _range(
    layout: Layout,
    step: Step,
    detail: Reading,
    instrument: Instrument,
    known: Known,
    problems: Problems,
    advise: bool,
) -> None:
    reach = range_of(instrument, detail.unit)
    if reach is None:
        return
    spans = [
        parameter_span(limit, known) if limit is not None else Span()
        for limit in (detail.low, detail.high)
    ]
    if Span(spans[0].low, spans[1].high).meet(reach).empty:
        problems.error(
            _at(layout, step, detail.low or detail.high),
            f"nothing inside these limits can be read with the {instrument.name}, which reads "
            f"{instrument.reach}: take another, or correct its range",
        )
        return
    for limit, span in zip((detail.low, detail.high), spans, strict=True):
        if advise and (span.high < reach.low or span.low > reach.high):
            end = span.low if span.low > reach.high else span.high
            problems.advise(
                _at(layout, step, limit),
                f"the {instrument.name} reads {instrument.reach}, so it never shows "
                f"{end_words(end, detail.unit)}: correct this limit, or the range",
            )


def _tolerance(
    layout: Layout,
    step: Step,
    detail: Reading,
    instrument: Instrument,
    known: Known,
    problems: Problems,
) -> None:
    doubt = stated_uncertainty(instrument, detail.unit)
    if doubt is None or detail.low is None or detail.high is None:
        return
    low, high = parameter_span(detail.low, known), parameter_span(detail.high, known)
    together = detail.low.constant is not None and detail.high.constant is not None
    if together and Fraction(high.high) - Fraction(low.low) < 2 * doubt:
        width = end_words(Fraction(high.high) - Fraction(low.low), detail.unit)
        problems.error(
            _at(layout, step, detail.high),
            f"limits {width} apart cannot be judged with the {instrument.name}, uncertain by "
            f"{instrument.uncertainty}: nothing would ever be inside; take a finer one",
        )


def _table(
    layout: Layout,
    step: Step,
    table: ReadingTable,
    detail: Reading,
    instrument: Instrument,
    problems: Problems,
) -> None:
    reach = range_of(instrument, detail.unit)
    if reach is None:
        return
    for number, _ in table.rows:
        row = base_number(UnitValue(number, table.by_unit))
        if not reach.low <= row <= reach.high:
            said = (
                f"the row at {end_words(row, table.by_unit)} is never read: the {instrument.name} "
                f"reads {instrument.reach}"
            )
            problems.advise((*layout.paths[step.id], *table.key, "table"), said)


def _tables(step: Step) -> Iterator[ReadingTable]:
    return (one for one in step.parameters if isinstance(one, ReadingTable))


def _at(layout: Layout, step: Step, limit: Parameter | None) -> tuple[str | int, ...]:
    return (*layout.paths[step.id], *(limit.key if limit else ()))


def range_of(instrument: Instrument, unit: str) -> Span | None:
    """The range of an instrument, where it is given in figures of what the unit measures."""
    match = _RANGE.fullmatch(instrument.reach)
    if match is None:
        return None
    ends = (f"{match[1]} {match[2] or match[4]}", f"{match[3]} {match[4]}")
    try:
        low, high = (base_number(UnitValue(read(end, unit).to(unit), unit)) for end in ends)
    except BenchrunError:
        return None
    return Span(low, high)


def stated_uncertainty(instrument: Instrument, unit: str) -> Fraction | None:
    """The uncertainty of an instrument as spans count, where it is given in figures."""
    try:
        doubt = read(instrument.uncertainty, unit)
    except BenchrunError:
        return None
    if dimension(doubt.unit) == "temperature":
        return Fraction(doubt.value) if doubt.unit == "degC" else None
    return Fraction(doubt.to(unit)) * si_factor(unit)
