"""Intervals of quantities: all values that a reading may have, and what sums make of them.

Numbers are exact, in coherent SI units; a temperature counts in degC. An end that is open is no
value itself: what is more than 5 mm begins right above it.
"""

import math
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.units import POINT, UnitValue, si_factor
from benchrun.quantity import in_words, unit_named
from benchrun.quantity.units import decimal_of

End = Fraction | float
"""An end of an interval: exact, or endless."""


@lean_dataclass(frozen=True, slots=True)
class Span:
    """An interval; by itself every number there is."""

    low: End = -math.inf
    high: End = math.inf
    low_open: bool = False
    high_open: bool = False

    @property
    def empty(self) -> bool:
        """Whether no value lies in it."""
        return self.low > self.high or (self.low == self.high and (self.low_open or self.high_open))

    @property
    def endless(self) -> bool:
        """Whether it has no end on either side."""
        return self.low == -math.inf and self.high == math.inf

    def holds(self, number: End) -> bool:
        """Whether a number lies in it."""
        above = number > self.low or (number == self.low and not self.low_open)
        return above and (number < self.high or (number == self.high and not self.high_open))

    def meet(self, other: "Span") -> "Span":
        """The values that lie in both."""
        low, low_open = max((self.low, self.low_open), (other.low, other.low_open))
        high, high_shut = min((self.high, not self.high_open), (other.high, not other.high_open))
        return Span(low, high, low_open, not high_shut)

    def hull(self, other: "Span") -> "Span":
        """The least interval that holds both."""
        low, low_open = min((self.low, self.low_open), (other.low, other.low_open))
        high, high_shut = max((self.high, not self.high_open), (other.high, not other.high_open))
        return Span(low, high, low_open, not high_shut)

    def __add__(self, other: "Span") -> "Span":
        return Span(
            self.low + other.low,
            self.high + other.high,
            self.low_open or other.low_open,
            self.high_open or other.high_open,
        )

    def __neg__(self) -> "Span":
        return Span(-self.high, -self.low, self.high_open, self.low_open)

    def __mul__(self, other: "Span") -> "Span":
        corners = [
            (_product(one, two), one_open or two_open)
            for one, one_open in ((self.low, self.low_open), (self.high, self.high_open))
            for two, two_open in ((other.low, other.low_open), (other.high, other.high_open))
        ]
        low = min(number for number, _ in corners)
        high = max(number for number, _ in corners)
        return Span(
            low,
            high,
            all(is_open for number, is_open in corners if number == low),
            all(is_open for number, is_open in corners if number == high),
        )

    def over(self, other: "Span") -> "Span":
        """The quotients; every number there is where the divisor may be nothing."""
        if other.low < 0 < other.high or other.low == other.high == 0:
            return ALL
        if other.low == 0:
            turned = Span(_inverse(other.high), math.inf, other.high_open, True)
        elif other.high == 0:
            turned = Span(-math.inf, _inverse(other.low), True, other.low_open)
        else:
            turned = Span(
                _inverse(other.high), _inverse(other.low), other.high_open, other.low_open
            )
        return self * turned

    def power(self, exponent: int) -> "Span":
        """The values multiplied with themselves so often, or one over that."""
        result = Span(Fraction(1), Fraction(1))
        for _ in range(abs(exponent)):
            result = result * self
        if exponent % 2 == 0 and result.low < 0:
            result = Span(Fraction(0), result.high, False, result.high_open)
        return Span(Fraction(1), Fraction(1)).over(result) if exponent < 0 else result

    def words(self, unit: str) -> str:
        """The interval as a person says it: `from 20 mm to 25 mm`, `more than 5 mm`."""
        low, high = (end_words(end, unit) for end in (self.low, self.high))
        if self.low == self.high:
            return low
        above = f"{'more than' if self.low_open else 'at least'} {low}" if low else ""
        below = f"{'less than' if self.high_open else 'at most'} {high}" if high else ""
        if low and high and not (self.low_open or self.high_open):
            return f"from {low} to {high}"
        return f"{above} and {below}" if above and below else above or below or "anything"


ALL: Final = Span()
NOT_BELOW_ZERO: Final = Span(low=Fraction(0))


def _product(one: End, two: End) -> End:
    return Fraction(0) if one == 0 or two == 0 else one * two


def _inverse(end: End) -> End:
    return Fraction(0) if end in (math.inf, -math.inf) else 1 / end


def base_number(value: UnitValue) -> Fraction:
    """A value as the exact number that spans count in; of a temperature that is degC."""
    if value.unit is None:
        return Fraction(value.value)
    unit = unit_named(value.unit)
    if unit.dimension == POINT:
        return Fraction(value.value) * unit.factor + unit.offset - unit_named("degC").offset
    return Fraction(value.value) * si_factor(value.unit)


def measured(number: Fraction, unit: str) -> Decimal:
    """A number of a span in a unit, rounded to six figures."""
    known = unit_named(unit)
    if known.dimension == POINT:
        exact = (number + unit_named("degC").offset - known.offset) / known.factor
    else:
        exact = number / si_factor(unit)
    return Decimal(format(Context(prec=6).plus(decimal_of(exact)).normalize(), "f"))


def end_words(end: End, unit: str) -> str:
    """An end in a unit, to at most six figures; empty where it is endless."""
    return in_words(measured(end, unit), unit) if isinstance(end, Fraction) else ""
