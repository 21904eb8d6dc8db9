"""The units of an answer: those asked for, else those in which the question was typed."""

import re
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import convert, dimension, spelled
from benchrun.quantity.units import unit_named, unit_words
from benchrun.shopmath.amount import Amount
from benchrun.shopmath.inputs import Given, Input, unit_typed

# The unit that answers a question typed in inches and pounds, for each that sums reckon in.
_IMPERIAL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "mm": "in", "µm": "thou", "m": "ft", "mm²": "in²", "N": "lbf", "kN": "lbf",
        "N m": "ft lb", "MPa": "psi", "GPa": "psi", "N/mm": "lbf/in", "kg": "lb",
        "km/h": "mph", "N m/deg": "in lb/deg",
    }
)  # fmt: skip
_IMPERIAL_TYPED: Final = {
    "in", "thou", "tenth", "µin", "ft", "in²", "ft²", "lbf", "ozf", "ft lb", "in lb", "in oz",
    "psi", "ksi", "tsi", "lbf/in", "lb", "oz", "mph", "in lb/deg", "ft lb/deg", "imp tonf",
    "US tonf", "imp cwtf", "US cwtf", "imp cwt", "US cwt", "imp ton", "US ton", "st",
}  # fmt: skip
# What has no system of its own: angles, shares, hours, temperatures.
_NEUTRAL: Final = {
    "number", "percentage", "angle", "time", "temperature", "temperature difference",
}  # fmt: skip


def answers_in(
    outputs: Mapping[str, Amount], units: str, fixed: Collection[str] = ()
) -> dict[str, Amount]:
    """Answers in the units asked for: `ft lb`, or `in, psi` for several.

    Raises:
        BenchrunError: A unit fits none of the answers.
    """
    converted = dict(outputs)
    for text in filter(None, (part.strip() for part in re.split(r"[,;]", units))):
        fitting = {
            name: Amount(convert(amount.number, amount.unit, unit), unit)
            for name, amount in converted.items()
            if name not in fixed
            and isinstance(amount.value, Decimal)
            and amount.unit
            and (unit := spelled(text, amount.unit)) is not None
        }
        if not fitting:
            kinds = dict.fromkeys(
                f"{dimension(amount.unit)} in {unit_words(amount.unit)}"
                for amount in outputs.values()
                if amount.unit
            )
            raise BenchrunError(
                f"in: {text[:20]!r} is no unit of these answers: {', '.join(kinds) or 'words'}"
            )
        converted |= fitting
    return converted


def answers_as_typed(
    outputs: Mapping[str, Amount],
    inputs: Sequence[Input],
    values: Mapping[str, Given],
    fixed: Collection[str] = (),
) -> dict[str, Amount]:
    """Answers in the units in which the question was typed, for people to read.

    A dimension that was typed in one unit is answered in it, metric multiples apart (a size in mm
    keeps its deviations in µm); a question typed in inches and pounds alone is answered so.
    """
    typed = [unit for entry in inputs if (unit := unit_typed(entry, values)) is not None]
    systems = {unit in _IMPERIAL_TYPED for unit in typed if dimension(unit) not in _NEUTRAL}
    return {
        name: amount
        if isinstance(amount.value, str) or not amount.unit or name in fixed
        else _as_typed(amount, typed, imperial=systems == {True})
        for name, amount in outputs.items()
    }


def _as_typed(amount: Amount, typed: Collection[str], *, imperial: bool) -> Amount:
    if dimension(amount.unit) == "angle":  # turns and flats are typed, degrees are read
        return amount
    alike = {unit for unit in typed if dimension(unit) == dimension(amount.unit)}
    if len(alike) == 1 and not _decimal_multiple(amount.unit, *alike):
        unit = next(iter(alike))
        if unit == "in" and amount.unit == "µm":
            unit = "thou"
    elif dimension(amount.unit) == "temperature difference" and "degF" in typed:
        unit = "delta degF"
    elif imperial and len(alike) != 1:
        unit = _IMPERIAL.get(amount.unit, amount.unit)
    else:
        return amount
    return Amount(amount.to(unit), unit)


def _decimal_multiple(unit: str, other: str) -> bool:
    """Whether two units differ by a power of ten alone, as mm and µm do."""
    first, second = unit_named(unit), unit_named(other)
    if first.offset != second.offset:
        return False
    ratio = first.factor / second.factor
    digits = str(max(ratio.numerator, ratio.denominator)).rstrip("0")
    return digits == "1" and 1 in {ratio.numerator, ratio.denominator}
