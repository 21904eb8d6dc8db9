"""Values with units as sums answer them, and how people read them."""

from decimal import Context, Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import convert, in_words, plain

# 15 digits are more than any gauge gives and fewer than the noise of a division that does not end.
_KEPT: Final = Context(prec=15)
_WIDE: Final = Context(prec=120)
_DECIMALS: Final = {
    "mm": 4, "µm": 1, "in": 5, "thou": 2, "m": 3, "MPa": 2, "kN": 2, "N m": 2, "ft lb": 2,
    "degC": 1, "delta degC": 1, "K": 1, "%": 1, "g": 1, "ml": 1, "m²": 4, "l": 3, "min": 1,
    "m²/l": 2, "mm²": 2, "kg": 3, "µm/mm": 3, "g/ml": 3, "h": 2,
}  # fmt: skip


@lean_dataclass(frozen=True, slots=True)
class Amount:
    """A value with its unit: a number, or a word such as a verdict (then without unit)."""

    value: Decimal | str
    unit: str = ""

    @property
    def number(self) -> Decimal:
        """The value as a number.

        Raises:
            BenchrunError: It is a word.
        """
        if isinstance(self.value, str):
            raise BenchrunError(f"{self.value!r} is a word; a number is wanted here")
        return self.value

    def to(self, unit: str) -> Decimal:
        """The number in another unit of the same dimension."""
        return convert(self.number, self.unit, unit)

    @property
    def exact(self) -> str:
        """The value as text for records: up to 15 significant digits, no exponent, no noise."""
        return self.value if isinstance(self.value, str) else tidy(self.value)

    @property
    def words(self) -> str:
        """The value as people read it, rounded to what the unit bears: `48.75 MPa`."""
        return self.value if isinstance(self.value, str) else said(self.value, self.unit)


def tidy(value: Decimal) -> str:
    """A number with up to 15 significant digits, without exponent and trailing zeros."""
    return plain(_KEPT.plus(value).normalize())


def rounded_to(value: Decimal, decimals: int) -> Decimal:
    """Round half even to a number of decimals, however long the number is."""
    return value.quantize(Decimal(1).scaleb(-decimals), context=_WIDE)


def said(value: Decimal, unit: str) -> str:
    """A number with its unit, rounded for display but never to fewer than 3 significant digits."""
    decimals = _DECIMALS.get(unit)
    rounded = Context(prec=5).plus(value)
    if decimals is not None:
        by_unit = rounded_to(value, decimals)
        if len(by_unit.as_tuple().digits) >= 3 or by_unit == value:
            rounded = by_unit
        else:
            rounded = Context(prec=3).plus(value)
    return in_words(Decimal(plain(rounded.normalize())), unit)
