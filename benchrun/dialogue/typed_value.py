"""A reading as far as it is typed: what it comes to in the step's unit, and its ruling."""

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Final

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.accepting import verdict_words

if TYPE_CHECKING:
    from benchrun.procedure.route import Reading
    from benchrun.run.entries import Tool

MINUS: Final = ("-", "\u2212")
_TWO_SIDED: Final = frozenset({"degC", "degF", "delta degC", "delta degF", "deg", "rad", "turn"})
_MOST_DIGITS: Final = 10
_USUAL_DIGITS: Final = 7


@lean_dataclass(frozen=True, slots=True)
class TypedValue:
    """The text in the field of a reading, and the value that would be recorded of it.

    Attributes:
        detail: The quantity.
        typed: What is typed.
        low, high: Its limits, in its unit, as far as they are known.
        uncertainty: The instrument's expanded uncertainty, 0 when none is known.
        resolution: The instrument's smallest step in the reading's unit, None when unknown.
    """

    detail: "Reading"
    typed: str
    low: Decimal | None = None
    high: Decimal | None = None
    uncertainty: Decimal = Decimal(0)
    resolution: Decimal | None = None

    @property
    def measure(self) -> quantity.Measure | None:
        """The typed text as it is understood; None while it is no reading, or one below zero."""
        from benchrun.run.measurement import read_of

        try:
            measure = read_of(self.detail, self.typed)
        except BenchrunError:
            return None
        below = measure.to(self.detail.unit) < 0
        return None if below and not below_zero(self.detail, self.low, self.high) else measure

    @property
    def value(self) -> Decimal | None:
        """The number that would be recorded, in the reading's unit; None while it is none."""
        measure = self.measure
        return None if measure is None else measure.to(self.detail.unit)

    @property
    def figures(self) -> str:
        """The value as it is drawn large; empty while it is not understood.

        Figures typed in the reading's unit stand as they were typed. Others have as many decimals
        as the instrument shows, and one more where the value goes on.
        """
        measure = self.measure
        if measure is None:
            return ""
        value = measure.to(self.detail.unit)
        if measure.unit == self.detail.unit and "/" not in measure.text:
            return quantity.plain(value)
        if self.resolution is None:
            return quantity.plain(_short(value))
        return quantity.plain(_to_resolution(value, self.resolution))

    @property
    def words(self) -> str:
        """The value with its unit; empty while it is not understood."""
        shown = quantity.unit_named(self.detail.unit).shown
        return f"{self.figures} {shown}".strip() if self.figures else ""

    @property
    def converted(self) -> bool:
        """Whether what was typed is recorded as other figures: of another unit, or a fraction."""
        measure = self.measure
        if measure is None:
            return False
        same = measure.unit == self.detail.unit and "/" not in measure.text
        return not same or self.figures not in measure.text.replace(",", ".")

    @property
    def whole(self) -> bool:
        """Whether as many figures are typed as a limit has: half a number is no verdict."""
        limits = [one for one in (self.low, self.high) if one is not None]
        return (
            not limits
            or self.converted
            or len(self.typed) >= min(len(quantity.plain(one)) for one in limits)
        )

    @property
    def verdict(self) -> str:
        """How the rules would rule on it, in words; empty when nothing can be said."""
        value = self.value
        if value is None:
            return ""
        if self.low is None and self.high is None:
            limited = self.detail.low or self.detail.high
            return "its limits cannot be worked out yet" if limited else ""
        return verdict_words(value, self.low, self.high, self.uncertainty, self.detail.unit)


def uncertainty_of(tool: "Tool | None") -> Decimal:
    """The expanded uncertainty of an instrument, 0 when none is known."""
    return Decimal(tool.uncertainty) if tool is not None and tool.uncertainty else Decimal(0)


def below_zero(detail: "Reading", low: Decimal | None, high: Decimal | None) -> bool:
    """Whether a reading can be less than zero.

    A temperature on its scale and an angle can, and so can whatever has a limit below zero or is
    said to by the procedure. A count, a film, a size, a mass or a temperature in K cannot.

    Args:
        detail: The quantity.
        low: Its lower limit, as far as it is known.
        high: Its upper limit.
    """
    if detail.below_zero or detail.unit in _TWO_SIDED:
        return True
    return any(one is not None and one < 0 for one in (low, high))


def minus_refused(detail: "Reading") -> str:
    """Why a minus is not taken, in words."""
    dimension = quantity.unit_named(detail.unit).dimension
    what = {"number": "count", "temperature difference": "temperature in K"}.get(
        dimension, dimension
    )
    return f"This {what} cannot be below zero: type it without a minus."


def _short(value: Decimal) -> Decimal:
    """A value that does not end, to so many digits as anybody reads."""
    if len(value.as_tuple().digits) <= _MOST_DIGITS:
        return value
    rounded = value.quantize(Decimal(1).scaleb(value.adjusted() - _USUAL_DIGITS + 1))
    return rounded.normalize() if rounded % 1 else rounded.quantize(Decimal(1))


def _to_resolution(value: Decimal, resolution: Decimal) -> Decimal:
    step = resolution.normalize()
    digits, exponent = step.as_tuple().digits, step.as_tuple().exponent
    # 0.25 has two decimals; 0.0254, a thousandth of an inch in mm, is read to two as well.
    last = int(exponent) if len(digits) <= 2 else step.adjusted()
    places = max(0, -last)
    rounded = value.quantize(Decimal(1).scaleb(-places - 1), ROUND_HALF_UP)
    fewer = rounded.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return fewer if fewer == rounded else rounded
