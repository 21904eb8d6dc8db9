"""Numbers as they were measured, for people: no more digits than the instrument can vouch for.

What was typed stays in the log to the last digit. Source: JCGM 100:2008, 7.2.6: an uncertainty is
given to two significant digits at most, and a result is rounded to be consistent with it.
"""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Final

from benchrun.account.value_facts import ReadingFacts
from benchrun.quantity import plain
from benchrun.shopmath.accepting import verdict_of

_MOST_DIGITS: Final = 2
_WORKED_OUT: Final = 5  # significant digits of a value that rests on no known instrument
_FINEST: Final = 28
_READ: Final = 12  # places behind the point that a person may read; a quotient has more
_WIDE: Final = Context(prec=80)


def uncertainty_shown(uncertainty: str) -> str:
    """An expanded uncertainty to two significant digits at most; empty for none.

    Args:
        uncertainty: A decimal number, or empty.
    """
    if not uncertainty or not Decimal(uncertainty):
        return ""
    return plain(_rounded(Decimal(uncertainty), _last_place(Decimal(uncertainty))))


def limit_shown(limit: str, value: str) -> str:
    """A limit for people: as it is written, or one worked out to no more than a digit past a value.

    Args:
        limit: A decimal number, or empty.
        value: The value as shown that is judged by it.
    """
    if not limit:
        return ""
    number, places = Decimal(limit), max(_decimals(Decimal(value)) + 1, 0)
    if _decimals(number) <= max(places, 3):
        return plain(number)
    return plain(_rounded(number, places).normalize())


def as_measured(reading: ReadingFacts, inputs: Iterable[str] = ()) -> str:
    """A value to the smallest step of its instrument, or as far as its uncertainty reaches.

    It keeps further digits where rounding would bring it to the other side of a limit.

    Args:
        reading: The value.
        inputs: The numbers in its unit that it was worked out from; it is known to one place more
            than the finest of them that somebody read: a quotient among them vouches for nothing.
    """
    value = Decimal(reading.value)
    written = (_written(Decimal(number)) for number in inputs)
    finest = max((places for places in written if places <= _READ), default=None)
    places = _places(reading, value) if finest is None else finest + 1
    if _decimals(value) <= places:
        least = finest or 0 if reading.source != "reading" else places
        return f"{_rounded(value, max(_decimals(value), least)):f}"
    low, high = (Decimal(limit) if limit else None for limit in (reading.low, reading.high))
    exact = verdict_of(value, low, high)
    for digits in range(places, min(_decimals(value), _FINEST)):
        rounded = _rounded(value, digits)
        if verdict_of(rounded, low, high) == exact:
            return f"{rounded:f}"
    return plain(value)


def _places(reading: ReadingFacts, value: Decimal) -> int:
    """How many places behind the point a value is known to."""
    if reading.resolution and not reading.typed.rstrip().endswith(_LETTERS):
        return max(0, _decimals(Decimal(reading.resolution)))
    if reading.uncertainty and Decimal(reading.uncertainty):
        return max(_last_place(Decimal(reading.uncertainty)), 0)
    if reading.source == "reading":
        return min(_written(value), 6)
    return max(0, _WORKED_OUT - 1 - value.adjusted()) if value else 0


_LETTERS: Final = tuple("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ%µ°")


def _last_place(uncertainty: Decimal) -> int:
    """The place behind the point to which an uncertainty is given."""
    digits = len(uncertainty.normalize().as_tuple().digits)
    return min(digits, _MOST_DIGITS) - 1 - uncertainty.adjusted()


def _written(number: Decimal) -> int:
    """How many places behind the point a number is written with."""
    exponent = number.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _rounded(number: Decimal, places: int) -> Decimal:
    return number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE)
