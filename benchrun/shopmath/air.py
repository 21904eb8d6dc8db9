"""Air and steel: the dew point and whether a surface is warm and dry enough to be coated."""

import math
from collections.abc import Callable
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between

_RATIO: Final = 0.621945  # molar mass of water over that of dry air


def saturation_pressure(celsius: float) -> float:
    """Pressure of saturated water vapour in Pa, over ice up to 0.01 °C, over water above.

    ASHRAE Handbook of Fundamentals 2017, chapter 1, equations 5 and 6 (Hyland and Wexler);
    −100 °C to 200 °C.
    """
    return _over_ice(celsius) if celsius <= 0.01 else _over_water(celsius)


def _over_ice(celsius: float) -> float:
    t = celsius + 273.15
    return math.exp(
        -5.6745359e3 / t
        + 6.3925247
        - 9.677843e-3 * t
        + 6.2215701e-7 * t**2
        + 2.0747825e-9 * t**3
        - 9.484024e-13 * t**4
        + 4.1635019 * math.log(t)
    )


def _over_water(celsius: float) -> float:
    t = celsius + 273.15
    return math.exp(
        -5.8002206e3 / t
        + 1.3914993
        - 4.8640239e-2 * t
        + 4.1764768e-5 * t**2
        - 1.4452093e-8 * t**3
        + 6.5459673 * math.log(t)
    )


def _temperature_of(pressure: float, curve: Callable[[float], float]) -> float:
    """The temperature at which vapour of a pressure is saturated, by halving an interval."""
    low, high = -100.0, 150.0
    if not curve(low) < pressure < curve(high):
        raise BenchrunError("the air is drier than -100 °C dew point; look at the hygrometer")
    while high - low > 1e-10:
        middle = (low + high) / 2
        low, high = (middle, high) if curve(middle) < pressure else (low, middle)
    return (low + high) / 2


def _vapour_pressure_by_wet_bulb(air: float, wet: float, pressure: float) -> float:
    """Vapour pressure in Pa from dry and wet bulb, ASHRAE 2017 chapter 1, equations 33 and 35."""
    saturated = saturation_pressure(wet)
    ratio = _RATIO * saturated / (pressure - saturated)
    if wet >= 0:
        above, below = (2501 - 2.326 * wet) * ratio - 1.006 * (air - wet), 2501 + 1.86 * air
        moisture = above / (below - 4.186 * wet)
    else:
        above, below = (2830 - 0.24 * wet) * ratio - 1.006 * (air - wet), 2830 + 1.86 * air
        moisture = above / (below - 2.1 * wet)
    return pressure * moisture / (_RATIO + moisture)


def dew_point(
    air: Decimal,
    rh: Decimal | None = None,
    wet_bulb: Decimal | None = None,
    surface: Decimal | None = None,
    margin: Decimal = Decimal(3),
    rh_max: Decimal = Decimal(85),
    pressure: Decimal = Decimal("101.325"),
) -> Result:
    """Dew point of the air, and whether a surface is fit to be coated in it.

    Vapour pressure = RH × saturation pressure at the air's temperature (or by wet bulb); the dew
    point is where that pressure saturates: below 0 °C the frost point, over ice.

    Args:
        air: Air temperature, °C, −40 to 80.
        rh: Relative humidity, %, over 0 to 100.
        wet_bulb: Wet-bulb temperature, °C, instead of rh.
        surface: Temperature of the surface, °C.
        margin: Least that the surface must be above the dew point, K.
        rh_max: Highest relative humidity to coat in, %.
        pressure: Air pressure, kPa; matters for the wet bulb alone.

    Returns:
        dew_point °C, rh %, coldest_surface °C, and with a surface: above (surface less dew point),
        spare (that less margin) in K, verdict `suitable` or `not suitable`.

    Raises:
        BenchrunError: The air cannot be so.
    """
    between("air", air, "degC", -40, 80, "the formula is used from")
    between("margin", margin, "K", 0, 20, "a margin lies between")
    between("rh_max", rh_max, "%", 1, 100, "a highest humidity lies between")
    humidity, vapour = _humidity(air, rh, wet_bulb, pressure)
    dew = _decimal(_temperature_of(vapour, saturation_pressure))
    coldest = dew + margin
    outputs = {
        "dew_point": Amount(dew, "degC"),
        "rh": Amount(humidity, "%"),
        "coldest_surface": Amount(coldest, "degC"),
    }
    workings = [
        f"air {said(air, 'degC')} at {said(humidity, '%')}: dew point {said(dew, 'degC')}; "
        f"+ {said(margin, 'K')} = {said(coldest, 'degC')} at least"
    ]
    notes = _below_zero(dew, vapour)
    if humidity < 1:
        notes.append(f"rh was taken as {said(humidity, '%')}, less than one per cent")
    if surface is None:
        notes.append("give surface for a verdict; measure it on the coldest, thickest part")
        return Result(outputs, tuple(workings), tuple(notes))
    between("surface", surface, "degC", -40, 120, "a surface to coat lies between")
    outputs["above"] = Amount(surface - dew, "K")
    outputs["spare"] = Amount(surface - coldest, "K")
    reasons = _against(surface, coldest, humidity, rh_max)
    outputs["verdict"] = Amount("not suitable" if reasons else "suitable")
    workings.append(f"surface {said(surface, 'degC')} − {said(coldest, 'degC')} = "
                    f"{said(surface - coldest, 'K')} to spare")  # fmt: skip
    return Result(outputs, tuple(workings), (*reasons, *notes))


def _against(surface: Decimal, coldest: Decimal, humidity: Decimal, rh_max: Decimal) -> list[str]:
    """The reasons that speak against coating now."""
    reasons = []
    if surface < coldest:
        reasons.append(f"the surface is {said(coldest - surface, 'K')} too cold")
    if humidity > rh_max:
        reasons.append(f"humidity {said(humidity, '%')} is over {said(rh_max, '%')}")
    return reasons


def _humidity(
    air: Decimal, rh: Decimal | None, wet_bulb: Decimal | None, pressure: Decimal
) -> tuple[Decimal, float]:
    """Relative humidity in % and vapour pressure in Pa."""
    saturated = saturation_pressure(float(air))
    if rh is not None and wet_bulb is not None:
        raise BenchrunError("give rh or wet_bulb, one of them")
    if rh is not None:
        if not 0 < rh <= 100:
            raise BenchrunError(f"rh is {said(rh, '%')}: over 0 and up to 100 % is possible")
        return rh, float(rh) / 100 * saturated
    if wet_bulb is None:
        raise BenchrunError("give rh or wet_bulb, one of them")
    if wet_bulb > air:
        raise BenchrunError(
            f"wet_bulb {said(wet_bulb, 'degC')} is above air {said(air, 'degC')}: swapped?"
        )
    between("wet_bulb", wet_bulb, "degC", -40, 80, "the formula is used from")
    between("pressure", pressure, "kPa", 50, 120, "air pressure lies between")
    vapour = _vapour_pressure_by_wet_bulb(float(air), float(wet_bulb), float(pressure) * 1000)
    if vapour <= 0:
        raise BenchrunError(
            f"wet_bulb {said(wet_bulb, 'degC')} is too far below air {said(air, 'degC')}: no air "
            "is so dry; wet the wick"
        )
    return min(_decimal(vapour / saturated * 100), Decimal(100)), vapour


def _below_zero(dew: Decimal, vapour: float) -> list[str]:
    if dew > 0:
        return []
    supercooled = _decimal(_temperature_of(vapour, _over_water))
    return [
        "below 0 °C this is the frost point, over ice; the dew point over supercooled water is "
        f"{said(supercooled, 'degC')}"
    ]


def _decimal(value: float) -> Decimal:
    return round(Decimal(repr(value)), 6)


DEW_POINT: Final = Calc(
    "dew_point",
    "dew point of the air and whether a surface is fit to be coated",
    (
        Input("air", "air temperature beside the part", "degC", needed=True),
        Input("rh", "relative humidity", "%"),
        Input("wet_bulb", "wet-bulb temperature instead of rh", "degC"),
        Input("surface", "temperature of the surface", "degC"),
        Input("margin", "least above the dew point", "K", default="3"),
        Input("rh_max", "highest humidity to coat in", "%", default="85"),
        Input("pressure", "air pressure, for the wet bulb", "kPa", default="101.325"),
    ),
    (
        Output("dew_point", "degC", "where this air wets a surface; frost point below 0 °C"),
        Output("rh", "%", "relative humidity"),
        Output("coldest_surface", "degC", "dew point plus margin"),
        Output("above", "K", "surface less dew point"),
        Output("spare", "K", "what is left of that above the margin"),
        Output("verdict", "", "suitable or not suitable"),
    ),
    dew_point,
    {"air": "20 C", "rh": "65", "surface": "18 C"},
    cautions=("The coating's data sheet goes first; some coatings want moisture, some none.",),
    sources=(
        "ASHRAE Handbook of Fundamentals 2017, chapter 1, equations 5, 6, 33, 35",
        "3 °C and 85 %: practice, as ISO 8502-4 and ISO 12944-7 are quoted",
    ),
)
