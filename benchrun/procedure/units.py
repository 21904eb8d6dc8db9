"""Values with units inside a formula: what may be added, what a product measures.

A dimension is written as powers of base kinds (metre, kilogram, second, kelvin and the rest), so
that a product of any two units has one. Values keep their own unit as long as they can: adding and
comparing in one unit touches nothing but the decimals.
"""

from collections.abc import Mapping
from decimal import Context, Decimal
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import UNITS, Measure, convert, plain, unit_named

Powers = tuple[tuple[str, int], ...]

PURE: Final[Powers] = ()
_DIGITS: Final = Context(prec=34)

# dimension -> (base unit of the dimension in coherent SI units, powers of base kinds). A dimension
# that is not here (a hardness, pH) is a kind of its own.
_MECHANICS: Final[Mapping[str, tuple[Fraction, Powers]]] = MappingProxyType(
    {
        "number": (Fraction(1), PURE),
        "percentage": (Fraction(1, 100), PURE),
        "slope": (Fraction(1, 1000), PURE),
        "length": (Fraction(1, 1000), (("m", 1),)),
        "area": (Fraction(1), (("m", 2),)),
        "volume": (Fraction(1, 10**6), (("m", 3),)),
        "coverage": (Fraction(1000), (("m", -1),)),
        "mass": (Fraction(1, 1000), (("kg", 1),)),
        "density": (Fraction(1000), (("kg", 1), ("m", -3))),
        "force": (Fraction(1), (("kg", 1), ("m", 1), ("s", -2))),
        "torque": (Fraction(1), (("kg", 1), ("m", 2), ("s", -2))),
        "pressure": (Fraction(1), (("kg", 1), ("m", -1), ("s", -2))),
        "spring rate": (Fraction(1000), (("kg", 1), ("s", -2))),
        "time": (Fraction(1), (("s", 1),)),
        "temperature difference": (Fraction(1), (("K", 1),)),
        "expansion": (Fraction(1), (("K", -1),)),
        "speed": (Fraction(1000, 3600), (("m", 1), ("s", -1))),
        "flow": (Fraction(1, 60000), (("m", 3), ("s", -1))),
        "heating rate": (Fraction(1, 60), (("K", 1), ("s", -1))),
        "pressure rate": (Fraction(10**5, 60), (("kg", 1), ("m", -1), ("s", -3))),
        "electric current": (Fraction(1), (("A", 1),)),
        "electric charge": (Fraction(3600), (("A", 1), ("s", 1))),
        "current density": (Fraction(100), (("A", 1), ("m", -2))),
    }
)
# What is by the minute goes through seconds, which leaves a tail of noughts behind many a number.
_PER_TIME: Final = frozenset({"flow", "heating rate", "pressure rate"})
POINT: Final = "temperature"
DIFFERENCE: Final = "temperature difference"
FINDING: Final = "finding"
CONDITION: Final = "condition"


@lean_dataclass(frozen=True, slots=True)
class UnitValue:
    """A number inside a formula.

    Attributes:
        value: The number, in `unit` or, where that is None, in coherent SI units.
        unit: A canonical unit, or None for a product that has none of its own.
        powers: What it measures, for a product; empty while `unit` says it.
    """

    value: Decimal
    unit: str | None
    powers: Powers = PURE


Single = UnitValue | str | bool
Result = Single | tuple[Single, ...]


@cache
def _prompts() -> Mapping[str, str]:
    """The first unit of each dimension, in the order of the unit table."""
    first: dict[str, str] = {}
    for unit in UNITS:
        first.setdefault(unit.dimension, unit.name)
    return MappingProxyType(first)


@cache
def powers_of(dimension: str) -> Powers:
    """A dimension of the unit table in powers of base kinds."""
    known = _MECHANICS.get(dimension)
    return known[1] if known is not None else ((dimension, 1),)


@cache
def dimension_named(powers: Powers) -> str:
    """The dimension of the unit table that has these powers, or the powers written out."""
    for dimension in _prompts():
        if powers_of(dimension) == powers and dimension not in {"percentage", "slope"}:
            return dimension
    return " ".join(f"{kind}^{power}" if power != 1 else kind for kind, power in powers)


@lean_dataclass(frozen=True, slots=True)
class UnitKind:
    """The kind of a part of a formula.

    Attributes:
        dimension: A dimension of the unit table, `finding`, `condition`, or empty for a product.
        powers: The powers of base kinds of a quantity.
        many: Whether it is several values that must still be drawn together.
    """

    dimension: str
    powers: Powers = PURE
    many: bool = False

    @property
    def words(self) -> str:
        """The name with its article, for a message."""
        return a(self.dimension or dimension_named(self.powers))


def kind_of_dimension(name: str) -> UnitKind:
    """The kind of a dimension of the unit table."""
    return UnitKind(name, powers_of(name))


def times(left: Powers, right: Powers, sign: int) -> Powers:
    """The powers of a product (sign 1) or of a quotient (sign -1)."""
    both = dict(left)
    for kind, power in right:
        both[kind] = both.get(kind, 0) + sign * power
    return tuple(sorted((kind, power) for kind, power in both.items() if power))


@cache
def si_factor(unit: str) -> Fraction:
    """The factor from a unit to the coherent SI unit of what it measures, offsets aside."""
    known = unit_named(unit)
    scale = _MECHANICS.get(known.dimension, (Fraction(1), PURE))[0]
    return known.factor * scale


def powers(value: UnitValue) -> Powers:
    """The kind of a value."""
    return value.powers if value.unit is None else powers_of(unit_named(value.unit).dimension)


def _si(value: UnitValue) -> Decimal:
    if value.unit is None:
        return value.value
    return _exact(Fraction(value.value) * si_factor(value.unit))


def _exact(value: Fraction) -> Decimal:
    return _DIGITS.divide(Decimal(value.numerator), Decimal(value.denominator))


def _lined_up(left: UnitValue, right: UnitValue) -> tuple[Decimal, Decimal, str | None]:
    """Both numbers in one unit, the left one's where it has any."""
    if left.unit is not None and left.unit == right.unit:
        return left.value, right.value, left.unit
    if left.unit is not None and right.unit is not None:
        first, other = unit_named(left.unit), unit_named(right.unit)
        if first.dimension == other.dimension:
            return left.value, convert(right.value, right.unit, left.unit), left.unit
        raise BenchrunError(f"{a(first.dimension)} and {a(other.dimension)} do not go together")
    if powers(left) != powers(right):
        raise BenchrunError(
            f"{a(dimension_named(powers(left)))} and {a(dimension_named(powers(right)))} "
            "do not go together"
        )
    return _si(left), _si(right), None


def a(dimension: str) -> str:
    """A dimension with its article, for a message."""
    return f"{'an' if dimension[:1] in 'aeiou' else 'a'} {dimension or 'number'}"


def _is_point(value: UnitValue) -> bool:
    return value.unit is not None and unit_named(value.unit).dimension == POINT


def add(left: UnitValue, right: UnitValue, sign: str) -> UnitValue:
    """The sum or the difference; two temperatures have a difference and no sum.

    Raises:
        BenchrunError: They measure different things.
    """
    work = _DIGITS.add if sign == "+" else _DIGITS.subtract
    if left.unit == right.unit and not _is_point(left):
        return UnitValue(work(left.value, right.value), left.unit, left.powers)
    if _is_point(left) and _is_point(right):
        if sign == "+":
            raise BenchrunError("two temperatures cannot be added: give the difference in K")
        first = convert(left.value, left.unit or "", "degC")
        return UnitValue(work(first, convert(right.value, right.unit or "", "degC")), "K")
    if _is_point(left):
        return UnitValue(work(convert(left.value, left.unit or "", "degC"), _kelvin(right)), "degC")
    if _is_point(right) and sign == "+":
        return add(right, left, sign)
    first, other, unit = _lined_up(left, right)
    return UnitValue(work(first, other), unit, PURE if unit else powers(left))


def _kelvin(value: UnitValue) -> Decimal:
    if powers(value) != powers_of(DIFFERENCE):
        raise BenchrunError(
            f"a temperature and {a(dimension_named(powers(value)))} do not go together"
        )
    return _si(value)


def multiply(left: UnitValue, right: UnitValue, sign: str) -> UnitValue:
    """The product or the quotient.

    Raises:
        BenchrunError: One of them is a temperature rather than a difference.
    """
    work = _DIGITS.multiply if sign == "*" else _DIGITS.divide
    if _is_point(left) or _is_point(right):
        raise BenchrunError("a temperature cannot be multiplied or divided: use a difference in K")
    if right.unit == "":
        return UnitValue(work(left.value, right.value), left.unit, left.powers)
    if sign == "*" and left.unit == "":
        return UnitValue(work(left.value, right.value), right.unit, right.powers)
    if sign == "/" and left.unit is not None and left.unit == right.unit:
        return UnitValue(work(left.value, right.value), "")
    result = times(powers(left), powers(right), 1 if sign == "*" else -1)
    return UnitValue(work(_si(left), _si(right)), None if result else "", result)


def power(base: UnitValue, exponent: int) -> UnitValue:
    """A value multiplied with itself a whole number of times, or one over that."""
    result = UnitValue(Decimal(1), "")
    for _ in range(abs(exponent)):
        result = multiply(result, base, "*")
    return multiply(UnitValue(Decimal(1), ""), result, "/") if exponent < 0 else result


def order(left: UnitValue, right: UnitValue) -> int:
    """-1, 0 or 1 as the left value is less than, equal to or more than the right one.

    Raises:
        BenchrunError: They measure different things.
    """
    if left.unit == right.unit and left.unit is not None:
        first, other = left.value, right.value
    else:
        first, other, _ = _lined_up(left, right)
    return (first > other) - (first < other)


def measure(value: UnitValue, unit: str | None) -> Measure:
    """A result as a measure in a unit, or in its own where none is asked for.

    Raises:
        BenchrunError: It does not measure what the unit measures.
    """
    if unit is None:
        unit = value.unit
    if unit is None:
        unit = _prompts().get(dimension_named(powers(value)))
        if unit is None:
            raise BenchrunError(
                f"a result in {dimension_named(powers(value))} has no unit of its own"
            )
    if value.unit is not None and unit_named(value.unit).dimension == unit_named(unit).dimension:
        number = convert(value.value, value.unit, unit)
    elif powers(value) == powers_of(unit_named(unit).dimension):
        number = _exact(Fraction(_si(value)) / si_factor(unit))
        if unit_named(unit).dimension in _PER_TIME:
            number = number.normalize()
    else:
        raise BenchrunError(
            f"the result is {a(dimension_named(powers(value)))}, "
            f"not {a(unit_named(unit).dimension)}"
        )
    return Measure(f"{plain(number)} {unit}".strip(), number, unit)
