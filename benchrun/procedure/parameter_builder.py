"""Turns what stands in a file where a quantity may stand into a parameter of one of its forms."""

import re
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula, FormulaError, parse_formula
from benchrun.procedure.header_values import KIND
from benchrun.procedure.marked import Path
from benchrun.procedure.nodes import Name
from benchrun.procedure.parameter import (
    TIME,
    Constant,
    FindingTable,
    FitLimit,
    FormulaParameter,
    Key,
    Parameter,
    ReadingTable,
    time_constant,
)
from benchrun.procedure.phrases import in_time, time_span
from benchrun.procedure.problems import Problems
from benchrun.procedure.shapes import TableShape
from benchrun.procedure.surroundings import Named, Surroundings
from benchrun.procedure.units import FINDING, a
from benchrun.quantity import Measure, dimension, plain, read
from benchrun.text import meant

FIT: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)(?: ?mm)? ([A-Za-z]{1,2}[0-9]{1,2})")

Given = str | TableShape | None


def parameter(
    given: Given, key: Key, unit: str | None, path: Path, around: Surroundings
) -> Parameter | None:
    """A quantity in a unit; None where none is given or a problem was added.

    Args:
        given: What stands there.
        key: Its keys within the step.
        unit: The unit that it is wanted in; None for its own.
        path: Where the step stands.
        around: What it may refer to, and where its problems go.
    """
    return _Builder(key, unit, path, around).built(given)


def time_parameter(given: Given, key: Key, path: Path, around: Surroundings) -> Parameter | None:
    """A length of time; see `parameter`."""
    return _TimeBuilder(key, TIME, path, around).built(given)


def limits_of_fit(
    given: str | TableShape, unit: str, path: Path, around: Surroundings
) -> tuple[Parameter | None, Parameter | None]:
    """The lower and the upper limit of a size with its class, or of one for each finding."""
    low = _FitBuilder(("fit",), unit, path, around, "size_min").built(given)
    if low is None:
        return None, None
    return low, _FitBuilder(("fit",), unit, path, around, "size_max").built(given)


def rising(limits: Sequence[Parameter | None], path: Path, problems: Problems) -> None:
    """Add a problem where constants that belong in order do not rise."""
    known = [limit for limit in limits if isinstance(limit, Constant)]
    for first, second in pairwise(known):
        if first.constant > second.constant:
            word = "is shorter than" if first.unit == TIME else "is less than"
            low, high = (str(limit.key[-1]) for limit in (first, second))
            said = f"{high} {second.text} {word} {low} {first.text}: exchange them"
            problems.error((*path, *second.key), said)


@lean_dataclass(frozen=True, slots=True)
class _Builder:
    """Builds a quantity that stands at one place; subclasses read its texts otherwise."""

    key: Key
    unit: str | None
    path: Path
    around: Surroundings

    @property
    def where(self) -> Path:
        return (*self.path, *self.key)

    def built(self, given: Given) -> Parameter | None:
        if given is None:
            return None
        if isinstance(given, TableShape):
            return self._table(given)
        try:
            return self.single(given)
        except FormulaError as error:
            self._error(self.where, error.message, error.at)
        except (ValueError, BenchrunError) as error:
            self._error(self.where, str(error))
        return None

    def single(self, text: str) -> Parameter:
        """The parameter that a text gives by itself."""
        return self.of_formula(parse_formula(text))

    def row(self, text: str) -> Measure:
        """The value that the text of a row of a table gives."""
        formula = parse_formula(text)
        if formula.reads:
            said = f"a row is a number with its unit, and {text!r} has to be worked out"
            raise ValueError(f"{said}: write a formula with if(…, a, b) instead of the table")
        measure = formula.value({}, self.unit)
        if not isinstance(measure, Measure):
            raise ValueError(f"{text!r} is no quantity")
        return measure

    def of_formula(self, formula: Formula) -> Parameter:
        """A constant where nothing is read; what does not fit is left for the checks to say."""
        plainly = FormulaParameter(self.key, formula.text, self.unit, "", formula)
        if formula.reads:
            return plainly
        try:
            value = formula.value({}, self.unit)
        except BenchrunError:
            return plainly
        if not isinstance(value, Measure):
            return plainly
        return Constant(self.key, formula.text, self.unit, "", value, formula.has_figures)

    def _error(self, path: Path, text: str, at: int | None = None, *, key: bool = False) -> None:
        self.around.problems.error(path, text, at, key=key)

    def _table(self, shape: TableShape) -> Parameter | None:
        known = self.around.names.get(shape.by)
        if known is None and shape.by in self.around.lost:
            return None
        if known is None or known.many:
            said = f"{shape.by!r} is no single reading taken before this step, and no finding"
            if known is None:
                names = [name for name, one in self.around.names.items() if not one.many]
                said = f"{said}; {meant(shape.by, names)}" if names else said
            self._error((*self.where, "by"), said)
            return None
        rows: list[tuple[str, Measure]] = []
        for asked, text in shape.table.items():
            try:
                rows.append((asked, self.row(text)))
            except (ValueError, BenchrunError) as error:
                said = error.message if isinstance(error, BenchrunError) else str(error)
                self._error((*self.where, "table", asked), said)
                return None
        if known.dimension == FINDING:
            return self._by_finding(shape, known, rows)
        return self._by_reading(shape, known, rows)

    def _by_finding(
        self, shape: TableShape, known: Named, rows: list[tuple[str, Measure]]
    ) -> Parameter | None:
        for asked, _ in rows:
            if known.findings and asked not in known.findings:
                said = f"{asked!r} is no {_sort_of(shape.by)}; {meant(asked, known.findings)}"
                self._error((*self.where, "table", asked), said, key=True)
                return None
        lacking = [finding for finding in known.passing if finding not in shape.table]
        if lacking:
            said = (
                f"the table has no row for {', '.join(lacking)}, which {shape.by!r} may be: add one"
            )
            self.around.problems.lacks((*self.where, "table"), said)
            return None
        first = dimension(rows[0][1].unit) if rows else ""
        for asked, given in rows:
            if dimension(given.unit) != first:
                said = f"this row is {a(dimension(given.unit))}, the first {a(first)}"
                self._error((*self.where, "table", asked), f"{said}: write all in one kind of unit")
                return None
        text = f"by {shape.by}: {', '.join(f'{word} {self._shown(m)}' for word, m in rows)}"
        source = shape.source or ""
        return FindingTable(self.key, text, self.unit, source, shape.by, dict(rows))

    def _by_reading(
        self, shape: TableShape, known: Named, rows: list[tuple[str, Measure]]
    ) -> Parameter | None:
        unit = self.unit if self.unit is not None else rows[0][1].unit if rows else ""
        pairs: list[tuple[Decimal, Decimal]] = []
        for asked, given in rows:
            try:
                pairs.append((read(asked, known.unit).to(known.unit), given.to(unit)))
            except BenchrunError as error:
                self._error((*self.where, "table", asked), error.message, key=True)
                return None
        if len(pairs) < 2 or any(lower[0] >= other[0] for lower, other in pairwise(pairs)):
            self.around.problems.lacks(
                (*self.where, "table"),
                "a table needs two or more rows, rising from one to the next",
            )
            return None
        if not self._covered(shape, known, pairs[0][0], pairs[-1][0]):
            return None
        shown = [
            f"{plain(number)} {known.unit} {self._shown(given)}"
            for (number, _), (_, given) in zip(pairs, rows, strict=True)
        ]
        text = f"by {shape.by}: {', '.join(shown)}"
        source = shape.source or ""
        return ReadingTable(
            self.key, text, self.unit, source, shape.by, known.unit, tuple(pairs), unit
        )

    def _covered(self, shape: TableShape, known: Named, first: Decimal, last: Decimal) -> bool:
        """Whether a table holds all that it may be asked by, as far as limits tell that."""
        below = known.low is not None and known.low < first
        above = known.high is not None and known.high > last
        if not (below or above):
            return True
        end = known.low if below else known.high
        goes = f"{plain(first)} to {plain(last)} {known.unit}"
        said = (
            f"the table goes from {goes}, and {shape.by!r} may be {plain(end or first)} "
            f"{known.unit}: add a row there, or narrow its limits"
        )
        self._error((*self.where, "table"), said, key=True)
        return False

    def _shown(self, given: Measure) -> str:
        return given.text or given.words


def _sort_of(by: str) -> str:
    return "kind of part" if by == KIND else f"finding of {by!r}"


class _TimeBuilder(_Builder):
    """A length of time: `1 h 30 min` beside what other quantities may be."""

    def single(self, text: str) -> Parameter:
        try:
            return time_constant(self.key, time_span(text), in_time(time_span(text)))
        except ValueError as error:
            said = str(error)
        try:
            formula = parse_formula(text)
        except FormulaError:
            raise ValueError(said) from None
        names = self.around.names.keys() | self.around.lost
        if not formula.reads or (isinstance(formula.tree, Name) and not formula.names <= names):
            raise ValueError(said)
        return self.of_formula(formula)

    def row(self, text: str) -> Measure:
        span = time_span(text)
        return Measure(in_time(span), Decimal(span) / 1000, TIME)


@lean_dataclass(frozen=True, slots=True)
class _FitBuilder(_Builder):
    """One end of a size with its class."""

    end: str

    def single(self, text: str) -> Parameter:
        return FitLimit(self.key, text, self.unit, "", self.row(text))

    def row(self, text: str) -> Measure:
        match = FIT.fullmatch(text)
        if match is None:
            raise ValueError(f"{text!r} is no size with its class: write 62 P7 or 50 k6")
        wanted = dimension(self.unit or "")
        if wanted != "length":
            unit = self.unit or "none"
            raise ValueError(f"{text} is a length, and the unit {unit} is for {a(wanted)}")
        formula = parse_formula(f'limits(size={match[1]} mm, class="{match[2]}").{self.end}')
        measure = formula.value({}, self.unit)
        if not isinstance(measure, Measure):
            raise ValueError(f"{text!r} comes to no size")
        return Measure(text, measure.value, measure.unit)

    def _by_reading(
        self, shape: TableShape, known: Named, rows: list[tuple[str, Measure]]
    ) -> Parameter | None:
        del known, rows
        said = f"{shape.by!r} is a reading: between two fit classes there is nothing"
        self._error((*self.where, "by"), said)
        return None
