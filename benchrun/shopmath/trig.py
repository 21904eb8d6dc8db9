"""Angles in degrees and the functions of them, as decimals with the 15 digits of a float."""

import math
from decimal import Decimal
from typing import Final

from benchrun.quantity.unit_table import PI
from benchrun.quantity.units import decimal_of

PI_DECIMAL: Final = decimal_of(PI)
DEGREE: Final = PI_DECIMAL / 180  # radians


def _decimal(value: float) -> Decimal:
    return Decimal(repr(value))


def sine(degrees: Decimal) -> Decimal:
    """Sine of an angle in degrees."""
    return _decimal(math.sin(math.radians(float(degrees))))


def cosine(degrees: Decimal) -> Decimal:
    """Cosine of an angle in degrees; exactly 0 at a right angle."""
    return Decimal(0) if abs(degrees) == 90 else _decimal(math.cos(math.radians(float(degrees))))


def tangent(degrees: Decimal) -> Decimal:
    """Tangent of an angle in degrees."""
    return _decimal(math.tan(math.radians(float(degrees))))


def arcsine(ratio: Decimal) -> Decimal:
    """Angle in degrees whose sine this is, from -1 to 1."""
    return _decimal(math.degrees(math.asin(float(ratio))))


def arctangent(ratio: Decimal) -> Decimal:
    """Angle in degrees whose tangent this is."""
    return _decimal(math.degrees(math.atan(float(ratio))))


def degrees_minutes(degrees: Decimal) -> str:
    """An angle as the trade writes it: `1°30'`, `−0°13.5'`, minutes to a tenth."""
    tenths = round(abs(degrees) * 600)
    whole, rest = divmod(tenths, 600)
    sign = "\N{MINUS SIGN}" if degrees < 0 and tenths else ""
    minutes = f"{rest // 10}" if rest % 10 == 0 else f"{rest / 10:.1f}"
    return f"{sign}{whole}°{minutes}'"
