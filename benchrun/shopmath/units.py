"""Converting one value between units, as a calculation."""

from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import canonical, convert, in_words, read
from benchrun.quantity.unit_table import UNITS
from benchrun.quantity.units import spelling_key
from benchrun.shopmath.amount import Amount
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input, is_bare


def convert_sum(value: str, unit: str) -> Result:
    """Convert a typed value to another unit, exactly.

    Args:
        value: `25.4 mm`, `45 ft lb`, `20 C`.
        unit: The unit wanted: `in`, `N m`, `F`.

    Returns:
        value in that unit.

    Raises:
        BenchrunError: A unit is unknown, or the two measure different things.
    """
    if canonical(unit.strip()) is None:
        raise BenchrunError(f"unit {unit.strip()[:20]!r} is not one that benchrun knows")
    if is_bare(value):
        raise BenchrunError(f"{value.strip()[:30]!r} has no unit; type it like 25.4 mm")
    refused: BenchrunError | None = None
    for name in _meanings(unit.strip()):
        try:
            measure = read(value, name)
        except BenchrunError as error:
            refused = refused or error
            continue
        number = convert(measure.value, measure.unit, name)
        return Result(
            {"value": Amount(number, name)},
            (f"{measure.words} = {in_words(number, name)}",),
        )
    raise refused or BenchrunError(f"{value[:30]!r} is not a quantity")


def _meanings(unit: str) -> list[str]:
    """Every unit that a spelling may mean: `lb` is a mass, or a force."""
    key = spelling_key(unit)
    return [
        known.name
        for known in UNITS
        if unit == known.name
        or key in {spelling_key(text) for text in (known.name, *known.spellings)}
    ]


CONVERT: Final = Calc(
    "convert",
    "a value in another unit",
    (
        Input("value", "with its unit: 25.4 mm, 45 ft lb, 20 C", kind="text", needed=True),
        Input("unit", "the unit wanted: in, N m, F", kind="text", needed=True),
    ),
    (Output("value", "", "in that unit"),),
    convert_sum,
    {"value": "45 ft lb", "unit": "N m"},
    sources=("inch, pound, gallon and standard gravity: exact by definition",),
)
