"""All calculations by name, the same for formulas, calculators, the command line and Python."""

from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath import (
    accepting,
    air,
    alignment,
    baths,
    bearings,
    bolt_stretch,
    bolts,
    bores,
    brakes,
    braking,
    coating,
    coil_springs,
    cold,
    drum_brakes,
    engagement,
    fits,
    hardness,
    heat,
    leaf_springs,
    mixing,
    nuts,
    plating,
    press,
    rolling,
    shims,
    spread,
    thread_data,
    torsion_bars,
    units,
    wrenches,
)
from benchrun.shopmath.calc import Calc
from benchrun.text import meant, shown

_ALL: Final = (
    fits.LIMITS,
    fits.FIT,
    press.PRESS_FIT,
    heat.HEAT_TO_FIT,
    cold.COOL_TO_FIT,
    heat.LOSS_OF_FIT,
    bearings.BEARING_CLEARANCE,
    shims.SHIM,
    shims.END_FLOAT,
    nuts.NUT_TURN,
    rolling.ROLLING_TORQUE,
    bolts.BOLT,
    bolt_stretch.BOLT_STRETCH,
    wrenches.TORQUE_SETTING,
    thread_data.THREAD_DATA,
    thread_data.THREE_WIRE,
    engagement.THREAD_ENGAGEMENT,
    coil_springs.COIL_SPRING,
    leaf_springs.LEAF_SPRING,
    torsion_bars.TORSION_BAR,
    alignment.ALIGNMENT,
    brakes.BRAKE,
    drum_brakes.DRUM_BRAKE,
    braking.BRAKE_BALANCE,
    braking.BRAKE_HEAT,
    air.DEW_POINT,
    coating.FILM,
    coating.AREA,
    plating.PLATING_GROWTH,
    baths.RELIEF_BAKE,
    hardness.HARDNESS,
    mixing.DILUTE,
    mixing.MIX,
    baths.BATH_DWELL,
    bores.BORE,
    bores.ROUNDNESS,
    accepting.ACCEPT,
    spread.SUMMARY,
    spread.CONTROL,
    spread.CAPABILITY,
    units.CONVERT,
)
CALCS: Final = MappingProxyType({calc.name: calc for calc in _ALL})


def calc_named(name: str) -> Calc:
    """Look up a calculation; `-` may stand for `_`.

    Raises:
        BenchrunError: There is none of that name.
    """
    calc = CALCS.get(name.replace("-", "_"))
    if calc is None:
        would = meant(name, CALCS, len(CALCS))
        raise BenchrunError(f"there is no sum {shown(name, 40)!r}: {would}")
    return calc
