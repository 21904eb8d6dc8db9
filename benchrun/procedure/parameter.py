"""A quantity that a procedure gives and that may depend on what is known of a part.

It has one of these forms, written alike wherever it may stand (limits, dwells, windows, tending,
amounts), and is worked out alike: a constant; a table by a reading, linear between its rows; a
table by a finding, exact; a formula; a fit class. A quantity out of a manual or a data sheet, and
one that differs by the kind of a part, are further subclasses here.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import ClassVar, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula, FormulaError, Known, Missing
from benchrun.quantity import Measure, convert, in_words

Key = tuple[str | int, ...]
TIME: Final = "s"
"""The unit of every length of time that a parameter gives."""


class Undetermined(ValueError):
    """A parameter cannot be worked out: what it rests on is missing, or outside its table."""


@lean_dataclass(frozen=True)
class Parameter(ABC):
    """The common part of all forms.

    Attributes:
        key: Under which keys of its step it stands: `("window", "most")`.
        text: As it is written, or for a table its rows in words.
        unit: The unit it comes out in; None: its own.
        source: Where a table is known from, or empty.
    """

    FORM: ClassVar[str] = ""
    key: Key
    text: str
    unit: str | None
    source: str

    @property
    def reads(self) -> frozenset[str]:
        """The names of the readings and findings that it depends on."""
        return frozenset()

    @property
    def has_figures(self) -> bool:
        """Whether a number stands in it."""
        return True

    @property
    def constant(self) -> Decimal | None:
        """Its number where it depends on nothing, else None."""
        return None

    @property
    def words(self) -> str:
        """How it is told before it can be worked out: `20 min`, `by the table for bath`."""
        return self.text

    @property
    def given_unit(self) -> str:
        """The unit that it is written in, where it is no formula."""
        return self.unit or ""

    @abstractmethod
    def measure(self, known: Mapping[str, Known]) -> Measure:
        """Work it out.

        Args:
            known: What is known of the part, as formulas read it.

        Raises:
            Undetermined: It cannot be worked out; the message says why.
        """

    def number(self, known: Mapping[str, Known]) -> Decimal:
        """Work it out, as a number in its unit.

        Raises:
            Undetermined: It cannot be worked out.
        """
        measure = self.measure(known)
        if self.unit is None or measure.unit == self.unit:
            return measure.value
        return convert(measure.value, measure.unit, self.unit)

    def milliseconds(self, known: Mapping[str, Known]) -> int:
        """Work out a length of time.

        Raises:
            Undetermined: It cannot be worked out, or comes to less than nothing.
        """
        time_ms = int((self.number(known) * 1000).to_integral_value())
        if time_ms < 0:
            raise Undetermined(f"{self.text} comes to less than nothing")
        return time_ms


@lean_dataclass(frozen=True)
class Constant(Parameter):
    """A number with its unit."""

    FORM = "constant"
    value: Measure
    figures: bool = True

    @property
    def has_figures(self) -> bool:
        """Whether a number stands in it as written."""
        return self.figures

    @property
    def given_unit(self) -> str:
        """The unit that it is written in."""
        return self.value.unit

    @property
    def constant(self) -> Decimal:
        """Its number."""
        return self.value.value

    def measure(self, known: Mapping[str, Known]) -> Measure:
        """Its value, whatever is known."""
        del known
        return self.value

    def milliseconds(self, known: Mapping[str, Known]) -> int:
        """Its length of time, whatever is known; worked out once."""
        del known
        return self._milliseconds

    @cached_property
    def _milliseconds(self) -> int:
        return super().milliseconds({})


@lean_dataclass(frozen=True)
class FitLimit(Constant):
    """One limit of a size with its fit class, such as 62 P7."""

    FORM = "fit class"


@lean_dataclass(frozen=True)
class FormulaParameter(Parameter):
    """A formula over readings and findings."""

    FORM = "formula"
    formula: Formula

    @property
    def reads(self) -> frozenset[str]:
        """The names that it reads."""
        return self.formula.reads

    @property
    def has_figures(self) -> bool:
        """Whether a number stands in it."""
        return self.formula.has_figures

    @property
    def words(self) -> str:
        """How it is told before it can be worked out."""
        return f"by {self.text}"

    def measure(self, known: Mapping[str, Known]) -> Measure:
        """Work the formula out.

        Raises:
            Undetermined: A name is not known yet, or the sum cannot be done.
        """
        try:
            measure = self.formula.value(known, self.unit)
        except Missing as error:
            missing = ", ".join(sorted(error.names)).replace("_", " ")
            raise Undetermined(f"{missing} has not been read") from None
        except FormulaError as error:
            raise Undetermined(error.message) from None
        if not isinstance(measure, Measure):
            raise Undetermined(f"{self.text} comes to no quantity")
        return measure


@lean_dataclass(frozen=True)
class _Table(Parameter):
    by: str

    @property
    def reads(self) -> frozenset[str]:
        """The one name that it is read by."""
        return frozenset({self.by})

    @property
    def words(self) -> str:
        """How it is told before it can be worked out."""
        return f"by the table for {self.title}"

    @property
    def title(self) -> str:
        """The reading or finding it is read by, in words."""
        return self.by.replace("_", " ")

    def _asked(self, known: Mapping[str, Known]) -> Known:
        if self.by not in known:
            raise Undetermined(f"{self.title} has not been read")
        return known[self.by]


@lean_dataclass(frozen=True)
class ReadingTable(_Table):
    """A table by a reading: linear between its rows, refused outside them.

    Attributes:
        by_unit: The unit of the first column.
        rows: Rising pairs of the reading and what it gives there, two or more.
        rows_unit: The unit of the second column.
    """

    FORM = "table by reading"
    by_unit: str
    rows: Sequence[tuple[Decimal, Decimal]]
    rows_unit: str

    @property
    def given_unit(self) -> str:
        """The unit of its second column."""
        return self.rows_unit

    def measure(self, known: Mapping[str, Known]) -> Measure:
        """The table's value at the reading.

        Raises:
            Undetermined: The reading is missing or outside the table.
        """
        asked = self._asked(known)
        if not isinstance(asked, Measure):
            raise Undetermined(f"{self.title} is no single reading")
        number = asked.to(self.by_unit)
        low, high = self.rows[0][0], self.rows[-1][0]
        if not low <= number <= high:
            raise Undetermined(
                f"{self.title} is {in_words(number, self.by_unit)}; the table goes from "
                f"{in_words(low, self.by_unit)} to {in_words(high, self.by_unit)}"
            )
        return Measure("", self._at(number).normalize(), self.rows_unit)

    def _at(self, number: Decimal) -> Decimal:
        for (low, first), (high, last) in pairwise(self.rows):
            if number <= high:
                return first + (number - low) / (high - low) * (last - first)
        return self.rows[-1][1]


@lean_dataclass(frozen=True)
class FindingTable(_Table):
    """A table by a finding: one row for each of its words.

    Attributes:
        rows: What each finding gives.
    """

    FORM = "table by finding"
    rows: Mapping[str, Measure]

    @property
    def given_unit(self) -> str:
        """The unit of its first row."""
        return next((row.unit for row in self.rows.values()), "")

    def measure(self, known: Mapping[str, Known]) -> Measure:
        """The table's value for the finding.

        Raises:
            Undetermined: The finding is missing or has no row.
        """
        asked = self._asked(known)
        row = self.rows.get(asked) if isinstance(asked, str) else None
        if row is None:
            raise Undetermined(f"the table has no row for {asked}")
        return row


def time_constant(key: Key, milliseconds: int, text: str) -> Constant:
    """A length of time that depends on nothing."""
    value = Measure(text, Decimal(milliseconds) / 1000, TIME)
    return Constant(key, text, TIME, "", value)
