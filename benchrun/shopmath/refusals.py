"""Refusals that every sum shares: a value outside what can be, in one line that says why."""

from decimal import Decimal

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import said


def refuse_unless(good: bool, name: str, value: Decimal, unit: str, because: str) -> None:
    """Refuse an input in one line that says what was found and why it cannot be."""
    if not good:
        raise BenchrunError(f"{name} is {said(value, unit)}: {because}")


def between(
    name: str,
    value: Decimal,
    unit: str,
    least: Decimal | int | str,
    most: Decimal | int | str,
    because: str,
) -> None:
    """Refuse a value below `least` or above `most`, both in the value's unit."""
    low, high = Decimal(least), Decimal(most)
    refuse_unless(
        low <= value <= high,
        name,
        value,
        unit,
        f"{because} ({said(low, unit)} to {said(high, unit)})",
    )


def positive(name: str, value: Decimal, unit: str) -> None:
    """Refuse zero and less."""
    refuse_unless(value > 0, name, value, unit, "it must be more than nothing")
