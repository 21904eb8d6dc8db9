"""Units and typed readings: what a person types at the bench, read and converted exactly.

Not here: judging a reading against limits, sums (shopmath), display of whole screens.
"""

from benchrun.quantity.reading import Measure, read
from benchrun.quantity.unit_table import UNITS, Unit
from benchrun.quantity.units import (
    canonical,
    convert,
    dimension,
    in_words,
    known,
    limits_words,
    plain,
    spelled,
    unit_named,
    unit_words,
)

__all__ = [
    "UNITS",
    "Measure",
    "Unit",
    "canonical",
    "convert",
    "dimension",
    "in_words",
    "known",
    "limits_words",
    "plain",
    "read",
    "spelled",
    "unit_named",
    "unit_words",
]
