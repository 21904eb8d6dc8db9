"""Radial internal clearance of a deep groove ball bearing once it is fitted and warm."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.heat import alpha_unit
from benchrun.shopmath.inputs import Input, measured_range
from benchrun.shopmath.press import as_microns_or_mm
from benchrun.shopmath.refusals import between
from benchrun.shopmath.tables import step

_CLASSES: Final = ("C2", "CN", "C3", "C4", "C5")


def bearing_clearance(
    bore: Decimal,
    class_: str = "CN",
    shaft_interference: str = "0",
    housing_interference: str = "0",
    shaft_factor: Decimal = Decimal("0.8"),
    housing_factor: Decimal = Decimal("0.85"),
    temperature_difference: Decimal = Decimal(0),
    outside: Decimal | None = None,
    raceway: Decimal | None = None,
    alpha: Decimal = Decimal("12.5"),
) -> Result:
    """Radial clearance left after fitting and warming of a deep groove ball bearing.

    clearance = clearance of its class − shaft_factor × shaft_interference
    − housing_factor × housing_interference − alpha × temperature_difference × raceway.
    A loose fit takes nothing. Least: least class clearance and most interference; and the reverse.

    Args:
        bore: Bore of the bearing, mm, over 2.5 up to 200.
        class_: C2, CN, C3, C4 or C5.
        shaft_interference: Of inner ring on shaft, one value or `2..25 µm`; minus is loose.
        housing_interference: Of outer ring in housing, the same.
        shaft_factor: Share of the interference that the inner raceway grows, 0 to 1.
        housing_factor: Share that the outer raceway shrinks, 0 to 1.
        temperature_difference: Inner ring above outer ring, K.
        outside: Outside diameter of the bearing, mm; its raceway is then (bore + 4 outside)/5.
        raceway: Diameter of the outer raceway, mm.
        alpha: Expansion of bearing steel, µm/m/K.

    Returns:
        clearance_min and clearance_max in µm; minus is preload.

    Raises:
        BenchrunError: The class or the bore is outside the table, or an input outside physics.
    """
    least, most = _of_class(bore, class_)
    for name, factor in (("shaft_factor", shaft_factor), ("housing_factor", housing_factor)):
        between(name, factor, "", 0, 1, "a share of the interference lies between")
    between("temperature_difference", temperature_difference, "K", -50, 100, "rings differ by")
    between("alpha", alpha, "µm/m/K", 5, 30, "bearing metals expand by")
    shaft = _range("shaft_interference", shaft_interference, bore)
    housing = _range("housing_interference", housing_interference, bore)
    warm = Decimal(0)
    if temperature_difference:
        warm = alpha * temperature_difference * _raceway(bore, outside, raceway) / 1000
    low = least - shaft_factor * shaft[1] - housing_factor * housing[1] - warm
    high = most - shaft_factor * shaft[0] - housing_factor * housing[0] - warm
    notes = []
    if low < 0:
        notes.append("the tightest case leaves no clearance: a looser class or fit is needed")
    return Result(
        {"clearance_min": Amount(low, "µm"), "clearance_max": Amount(high, "µm")},
        workings=(
            _sum("least", least, (shaft_factor, shaft[1]), (housing_factor, housing[1]), warm, low),
            _sum("most", most, (shaft_factor, shaft[0]), (housing_factor, housing[0]), warm, high),
        ),
        notes=tuple(notes),
    )


def _sum(
    name: str,
    start: Decimal,
    shaft: tuple[Decimal, Decimal],
    housing: tuple[Decimal, Decimal],
    warm: Decimal,
    end: Decimal,
) -> str:
    return (
        f"{name} {said(start, '')} − {said(shaft[0], '')} × {said(shaft[1], '')} − "
        f"{said(housing[0], '')} × {said(housing[1], '')} − {said(warm, '')} = {said(end, 'µm')}"
    )


def _of_class(bore: Decimal, class_: str) -> tuple[Decimal, Decimal]:
    row = step("radial_clearance", bore)
    if row is None:
        raise BenchrunError(f"bore {said(bore, 'mm')} is outside the table: over 2.5 to 200 mm")
    if class_ not in _CLASSES or not row[f"{class_}_min"]:
        raise BenchrunError(f"class {class_[:10]!r} is not in the table for {said(bore, 'mm')}")
    return Decimal(row[f"{class_}_min"]), Decimal(row[f"{class_}_max"])


def _range(name: str, text: str, bore: Decimal) -> tuple[Decimal, Decimal]:
    """Least and most interference in µm, nothing where the fit is loose."""
    low, high = measured_range(text, "µm")
    if not any(char.isalpha() or char in "\"'" for char in text.replace("to", "")):
        scale = 1000 if as_microns_or_mm(high) == "mm" else 1
        low, high = low * scale, high * scale
    if high > bore * 10:
        raise BenchrunError(f"{name} {said(high, 'µm')} is over 1 % of the bore; look at the unit")
    return max(low, Decimal(0)), max(high, Decimal(0))


def _raceway(bore: Decimal, outside: Decimal | None, raceway: Decimal | None) -> Decimal:
    if raceway is not None:
        diameter = raceway
    elif outside is not None:
        diameter = (bore + 4 * outside) / 5
    else:
        raise BenchrunError("with a temperature difference give outside or raceway too")
    if diameter <= bore:
        raise BenchrunError(f"a raceway of {said(diameter, 'mm')} is not larger than the bore")
    return diameter


BEARING_CLEARANCE: Final = Calc(
    "bearing_clearance",
    "radial clearance of a ball bearing after fitting and when warm",
    (
        Input("bore", "bore of the bearing", "mm", needed=True),
        Input("class", "C2, CN, C3, C4 or C5", kind="text", default="CN", choices=_CLASSES),
        Input("shaft_interference", "inner ring on shaft: 2..25 µm", kind="text", default="0"),
        Input("housing_interference", "outer ring in housing, the same", kind="text", default="0"),
        Input("shaft_factor", "share that the inner raceway grows", default="0.8"),
        Input("housing_factor", "share that the outer raceway shrinks", default="0.85"),
        Input("temperature_difference", "inner ring above outer", "K", default="0"),
        Input("outside", "outside diameter of the bearing", "mm"),
        Input("raceway", "diameter of the outer raceway", "mm"),
        Input("alpha", "expansion of the rings", "µm/m/K", default="12.5", bare=alpha_unit),
    ),
    (
        Output("clearance_min", "µm", "least; minus is preload"),
        Output("clearance_max", "µm", "most"),
    ),
    bearing_clearance,
    {
        "bore": "40", "class": "CN", "shaft_interference": "2..25", "outside": "80",
        "temperature_difference": "5",
    },
    cautions=("A bearing without clearance seizes: the maker's clearance data goes first.",),
    sources=(
        "clearance classes: from memory of ISO 5753-1, not confirmed; two makers' tables agree in "
        "most cells up to 100 mm",
        "reduction by fits and by temperature: bearing makers' guides",
        "factors 0.8 and 0.85, raceway (bore + 4 outside)/5: from memory",
    ),
)  # fmt: skip
