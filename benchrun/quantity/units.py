"""Units by their names and spellings, exact conversion, and how numbers with units are said."""

import re
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity.unit_table import TABLE, UNITS, Unit

_DIGITS: Final = Context(prec=34)


def spelling_key(spelling: str) -> str:
    """The form in which spellings are compared: no case, no blanks, dots or hyphens inside."""
    folded = spelling.replace("µ", "u").replace("μ", "u").casefold()
    folded = re.sub(r"(?<=\w)[ .·⋅*-]+(?=\w)", "", folded)
    return folded if folded == "°" else folded.lstrip("°")


_BY_NAME: Final = MappingProxyType({unit.name: unit for unit in UNITS})
_SPELLED: Final = MappingProxyType(
    {
        (unit.dimension, spelling_key(spelling)): unit
        for unit in reversed(UNITS)
        for spelling in (*unit.spellings, unit.name)
    }
)


def unit_named(name: str) -> Unit:
    """Look up a unit by its canonical name.

    Raises:
        BenchrunError: There is no unit of that name.
    """
    try:
        return _BY_NAME[name]
    except KeyError:
        raise BenchrunError(
            f"{name[:20]!r} is not a unit that benchrun knows; it knows "
            + ", ".join(unit.name for unit in UNITS if unit.name)
        ) from None


def known(unit: str) -> bool:
    """Whether this is the canonical name of a unit; the empty name is the pure number."""
    return unit in _BY_NAME


def dimension(unit: str) -> str:
    """The kind of a unit: `length`, `temperature`, `torque`, `number` for a pure number.

    Raises:
        BenchrunError: There is no unit of that name.
    """
    return unit_named(unit).dimension


def spelled(text: str, prompt: str) -> str | None:
    """The canonical name of a unit as typed, in the context of a prompt's unit.

    Args:
        text: A spelling such as `ft-lb`, `um`, `C`; empty means the prompt's own unit.
        prompt: The canonical unit of the prompt.

    Returns:
        The name, or None when it is no unit of the prompt's dimension.
    """
    if not text:
        return prompt
    if text == "mPa":  # a millipascal, which nobody means and "mpa" does not say
        return None
    found = _SPELLED.get((unit_named(prompt).dimension, spelling_key(text)))
    return found.name if found else None


def canonical(text: str) -> str | None:
    """The canonical name of a unit spelled without context: `Nm`, `um`, `ft-lb`, `C`.

    Where a spelling fits several dimensions the first in the order of `UNITS` is meant:
    `C` is a temperature, `lb` a mass. None when nothing is spelled so.
    """
    if text in _BY_NAME:
        return text
    kinds = {kind for kind, spelling in _SPELLED if spelling == spelling_key(text)}
    first = next((kind for kind in TABLE if kind in kinds), None)
    return _SPELLED[first, spelling_key(text)].name if first and text != "mPa" else None


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """Convert exactly: 25.4 mm is 1 in, 20 degC is 68 degF.

    Args:
        value: The number.
        unit: Its canonical unit.
        to: The canonical unit wanted, of the same dimension.

    Returns:
        The exact value where a decimal fraction can hold it, else rounded to 34 digits.

    Raises:
        BenchrunError: A unit is unknown, or the two measure different things.
    """
    if unit == to:
        return value
    factor, offset = _between(unit, to)
    exact = Fraction(value) * factor
    return decimal_of(exact + offset if offset else exact)


@lru_cache(maxsize=1024)
def _between(unit: str, to: str) -> tuple[Fraction, Fraction]:
    """The factor, and the number added after it, that turn a number of a unit into another's."""
    source, target = unit_named(unit), unit_named(to)
    if source.dimension != target.dimension:
        raise BenchrunError(
            f"{source.name or 'a pure number'} is {source.dimension} and "
            f"{target.name or 'a pure number'} is {target.dimension}: "
            "one does not convert to the other"
        )
    return source.factor / target.factor, (source.offset - target.offset) / target.factor


def decimal_of(exact: Fraction) -> Decimal:
    """The exact value where a decimal fraction can hold it, else rounded to 34 digits."""
    return _DIGITS.divide(Decimal(exact.numerator), Decimal(exact.denominator))


def plain(value: Decimal) -> str:
    """Write a number as a decimal string without an exponent; zeros that were typed stay."""
    return format(value or abs(value), "f")


def in_words(value: Decimal, unit: str) -> str:
    """Write a value with its unit for people: `61.968 mm`, `20 °C`, `65 %`.

    A value with more than 10 digits (a conversion that does not end) is rounded to 7.
    """
    if len(value.as_tuple().digits) > 10:
        value = Context(prec=7).plus(value)
        value = value.normalize() if value.as_tuple().exponent else value
    return f"{plain(value)}{_joined(unit_words(unit))}"


def unit_words(unit: str) -> str:
    """A unit as people write it (`degC` is `°C`); a pure number has none, an unknown one stays."""
    return unit_named(unit).shown if known(unit) else unit


def limits_words(low: str, high: str, unit: str = "") -> str:
    """Limits in words: `61.949 to 61.979 mm`, `at least 3 K`, `at most 0.006 mm`, or nothing.

    Args:
        low: A decimal string; empty where there is no such limit.
        high: As `low`.
        unit: Theirs; none where it is told elsewhere.
    """
    end = _joined(unit_words(unit))
    if low and high:
        return f"exactly {low}{end}" if low == high else f"{low} to {high}{end}"
    if low:
        return f"at least {low}{end}"
    return f"at most {high}{end}" if high else ""


def _joined(words: str) -> str:
    """The end of a number: angles stand close to it, other units after a blank."""
    return words if words in ("", "°", "′") else f" {words}"
