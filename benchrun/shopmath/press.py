"""Press fits: pressure, stress, force and torque of a shaft in a hub, by Lamé."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity.unit_table import PI
from benchrun.quantity.units import decimal_of
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive

_PI: Final = decimal_of(PI)


def as_microns_or_mm(value: Decimal) -> str:
    """The unit of an interference typed without one: under 1 it can only be mm, else µm."""
    return "mm" if abs(value) < 1 else "µm"


def modulus_unit(value: Decimal) -> str:
    """The unit of a modulus typed without one: no metal has 1,000 GPa or 1,000 MPa."""
    return "GPa" if value < 1000 else "MPa" if value < 10**7 else "Pa"


def press_fit(
    diameter: Decimal,
    hub_od: Decimal,
    interference: Decimal,
    length: Decimal | None = None,
    shaft_bore: Decimal = Decimal(0),
    friction: Decimal = Decimal("0.12"),
    shaft_e: Decimal = Decimal(205),
    hub_e: Decimal = Decimal(205),
    shaft_nu: Decimal = Decimal("0.3"),
    hub_nu: Decimal = Decimal("0.3"),
) -> Result:
    """Press fit of two cylinders (Lamé, plane stress, elastic, even interference).

    With d diameter, D hub_od, b shaft_bore, δ interference on the diameter:
    p = δ / {d [ ((D²+d²)/(D²−d²) + ν_hub)/E_hub + ((d²+b²)/(d²−b²) − ν_shaft)/E_shaft ]};
    force = μ p π d L; torque = force d/2; hoop of the hub at the fit = p (D²+d²)/(D²−d²).

    Args:
        diameter: Diameter of the fit, mm.
        hub_od: Outside diameter of the hub or ring, mm.
        interference: Diametral interference, mm.
        length: Length of the fit, mm; without it no force and torque are answered.
        shaft_bore: Bore of a hollow shaft, mm; 0 for a solid one.
        friction: Coefficient of friction, 0 to 1.
        shaft_e: Young's modulus of the shaft, GPa.
        hub_e: Young's modulus of the hub, GPa.
        shaft_nu: Poisson's ratio of the shaft.
        hub_nu: Poisson's ratio of the hub.

    Returns:
        pressure, hub_hoop, hub_od_hoop, shaft_hoop, shaft_bore_hoop in MPa, press_force in kN,
        torque in N m. Tension is +.

    Raises:
        BenchrunError: The shapes cannot be, or an input is outside physics.
    """
    _check_shape(diameter, hub_od, interference, shaft_bore)
    if length is not None:
        positive("length", length, "mm")
    between("friction", friction, "", 0, 1, "a coefficient of friction is not less or more")
    _check_metal("shaft", shaft_e, shaft_nu)
    _check_metal("hub", hub_e, hub_nu)
    hub = (hub_od**2 + diameter**2) / (hub_od**2 - diameter**2)
    shaft = (diameter**2 + shaft_bore**2) / (diameter**2 - shaft_bore**2)
    give = (hub + hub_nu) / (hub_e * 1000) + (shaft - shaft_nu) / (shaft_e * 1000)
    pressure = interference / (diameter * give)
    at_bore = -2 * pressure * diameter**2 / (diameter**2 - shaft_bore**2)
    outputs = {
        "pressure": Amount(pressure, "MPa"),
        "hub_hoop": Amount(pressure * hub, "MPa"),
        "hub_od_hoop": Amount(pressure * (hub - 1), "MPa"),
        "shaft_hoop": Amount(-pressure * shaft, "MPa"),
        **({"shaft_bore_hoop": Amount(at_bore, "MPa")} if shaft_bore else {}),
    }
    working = f"{said(interference, 'mm')} tight on {said(diameter, 'mm')} presses with "
    working += said(pressure, "MPa")
    if length is not None:
        force = friction * pressure * _PI * diameter * length / 1000
        outputs["press_force"] = Amount(force, "kN")
        outputs["torque"] = Amount(force * diameter / 2, "N m")
        working += f"; friction {said(friction, '')} over {said(length, 'mm')} takes "
        working += said(force, "kN")
    return Result(
        outputs,
        workings=(working,),
        notes=(
            f"compare the {said(pressure * hub, 'MPa')} at the hub's bore with its yield strength",
        ),
    )


def _check_metal(part: str, modulus: Decimal, ratio: Decimal) -> None:
    between(f"{part}_E", modulus, "GPa", 1, 1000, "Young's modulus of a metal lies between")
    between(f"{part}_nu", ratio, "", 0, "0.5", "Poisson's ratio of a metal lies between")


def _check_shape(diameter: Decimal, hub_od: Decimal, interference: Decimal, bore: Decimal) -> None:
    positive("diameter", diameter, "mm")
    if hub_od <= diameter:
        raise BenchrunError(
            f"hub_od {said(hub_od, 'mm')} is not larger than the fit's {said(diameter, 'mm')}: "
            "a hub must have a wall"
        )
    if not 0 <= bore < diameter:
        raise BenchrunError(
            f"shaft_bore {said(bore, 'mm')} must be 0 (solid) or less than the fit's "
            f"{said(diameter, 'mm')}"
        )
    if interference <= 0:
        raise BenchrunError(
            f"interference is {said(interference, 'mm')}: without interference nothing presses"
        )
    if interference > diameter / 100:
        raise BenchrunError(
            f"interference {said(interference, 'mm')} is over 1 % of the diameter: no metal takes "
            "that elastically; look at the unit"
        )


PRESS_FIT: Final = Calc(
    "press_fit",
    "pressure, stress, press force and torque of an interference fit",
    (
        Input("diameter", "diameter of the fit", "mm", needed=True),
        Input("shaft_bore", "bore of a hollow shaft, 0 when solid", "mm", default="0"),
        Input("hub_od", "outside diameter of the hub or ring", "mm", needed=True),
        Input("interference", "on the diameter", "mm", needed=True, bare=as_microns_or_mm),
        Input("length", "length of the fit, for force and torque", "mm"),
        Input("friction", "coefficient of friction", default="0.12"),
        Input("shaft_E", "Young's modulus of the shaft", "GPa", default="205", bare=modulus_unit),
        Input("hub_E", "Young's modulus of the hub", "GPa", default="205", bare=modulus_unit),
        Input("shaft_nu", "Poisson's ratio of the shaft", default="0.3"),
        Input("hub_nu", "Poisson's ratio of the hub", default="0.3"),
    ),
    (
        Output("pressure", "MPa", "between the faces"),
        Output("hub_hoop", "MPa", "hoop stress at the hub's bore, + is tension"),
        Output("hub_od_hoop", "MPa", "hoop stress at the hub's outside"),
        Output("shaft_hoop", "MPa", "hoop stress of the shaft at the fit"),
        Output("shaft_bore_hoop", "MPa", "hoop stress at a hollow shaft's bore"),
        Output("press_force", "kN", "to push it home, or off"),
        Output("torque", "N m", "that the fit can carry before it slips"),
    ),
    press_fit,
    {
        "diameter": "50", "hub_od": "80", "interference": "0.04", "length": "40",
        "friction": "0.15", "shaft_E": "200 GPa", "hub_E": "200 GPa",
    },
    cautions=(
        "A press stores force: guard it, keep hands out, stand aside; push the ring that is tight.",
        "Real parts need up to twice this force where faces are rough, dry or not square; the "
        "maker's data goes first.",
    ),
    sources=(
        "Lamé's equations for thick cylinders, plane stress, as in strength-of-materials texts",
        "steel 205 GPa and 0.3, friction 0.12 when not given, up to twice the force for rough or "
        "dry faces: common practice, no source",
    ),
)  # fmt: skip
