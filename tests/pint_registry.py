"""The units of the house as a registry of pint, a reckoning that formulas are held against."""

from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pint

from benchrun.quantity.unit_table import PI, UNITS, Unit

# One base unit of each dimension of the table, in metre, kilogram, second and kelvin.
IN_SI = {
    "percentage": "0.01",
    "length": "0.001 * m",
    "area": "m**2",
    "volume": "0.000001 * m**3",
    "mass": "0.001 * kg",
    "density": "1000 * kg / m**3",
    "force": "kg * m / s**2",
    "torque": "kg * m**2 / s**2",
    "pressure": "kg / m / s**2",
    "temperature difference": "K",
    "time": "s",
    "expansion": "1 / K",
    "coverage": "1000 / m",
    "slope": "0.001",
    "spring rate": "1000 * kg / s**2",
    "turning stiffness": "kg * m**2 / s**2 / deg",
    "speed": "1 / 3.6 * m / s",
    "energy": "kg * m**2 / s**2",
    "power": "kg * m**2 / s**3",
    "specific heat": "m**2 / s**2 / K",
    "turning speed": "6 * deg / s",
    "flow": "1 / 60000 * m**3 / s",
    "heating rate": "1 / 60 * K / s",
    "pressure rate": "100000 / 60 * kg / m / s**3",
    "electric current": "A",
    "electric charge": "3600 * A * s",
    "current density": "100 * A / m**2",
}
OF_THEIR_OWN = {"energy", "power", "specific heat", "turning speed", "turning stiffness"}
"""Kinds that a formula keeps apart from the products that measure the same."""
_BASES = {
    "m": "[length]",
    "kg": "[mass]",
    "s": "[time]",
    "K": "[temperature]",
    "A": "[current]",
}
_MADE_BY_PINT = {"delta degC", "delta degF"}


def pint_name(unit: str) -> str:
    """The name of a canonical unit in the registry: `N m` is `N_m`, `m²` is `m2`."""
    name = unit.replace("²", "2").replace("³", "3").replace(" ", "_").replace("%", "percent")
    return f"per{name.replace('/', '_')}" if name.startswith("/") else name.replace("/", "_per_")


@cache
def registry() -> pint.UnitRegistry:
    """The registry for formulas, made once: `registry().Quantity(Decimal("25.4"), "mm")`.

    Units go by `pint_name`. Temperatures are points (degC, degF): subtracting two gives a
    difference, adding two is refused by pint.
    """
    made = pint.UnitRegistry(None, non_int_type=Decimal)
    for name, kind in _BASES.items():
        made.define(f"{name} = {kind}")
    made.define("radian = []")
    made.define(f"deg = {_ratio(PI / 180)} * radian")
    made.define("degC = K; offset: 273.15")
    made.define("degF = 5 / 9 * K; offset: 255.3722222222222222222222222")
    for unit in UNITS:
        if unit.name not in {"", "deg", "degC", "degF", *_BASES, *_MADE_BY_PINT}:
            made.define(f"{pint_name(unit.name)} = {_definition(unit)}")
    return made


def _definition(unit: Unit) -> str:
    if unit.dimension == "angle":
        return f"{_ratio(unit.factor)} * deg"
    base = IN_SI.get(unit.dimension, f"[{unit.dimension.replace(' ', '_')}]")
    if base.startswith("["):
        return base if unit.factor == 1 else f"{_ratio(unit.factor)} * {_first(unit.dimension)}"
    return f"{_ratio(unit.factor)} * {base}"


def _first(kind: str) -> str:
    return next(pint_name(unit.name) for unit in UNITS if unit.dimension == kind)


def _ratio(exact: Fraction) -> str:
    return f"{exact.numerator} / {exact.denominator}"


def quantity(value: Decimal, unit: str) -> pint.Quantity[Any]:
    """A value with its unit that formulas can multiply and divide.

    Args:
        value: The number.
        unit: Its canonical unit; empty for a pure number.
    """
    return registry().Quantity(value, pint_name(unit))


def value_in(amount: pint.Quantity[Any], unit: str) -> Decimal:
    """The number of a formula's result in a canonical unit.

    Raises:
        pint.DimensionalityError: The result measures something else.
    """
    return Decimal(amount.to(pint_name(unit)).magnitude)


MIXED = [
    name
    for kind in IN_SI
    if kind not in OF_THEIR_OWN
    for name in {[unit.name for unit in UNITS if unit.dimension == kind][at] for at in (0, -1)}
]
"""Two units of each kind that a formula may multiply and divide."""
