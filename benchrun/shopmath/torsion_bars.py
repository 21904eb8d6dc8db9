"""Torsion bars: stiffness, load and rate at the arm's end, shear stress, degrees a tooth."""

import math
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import modulus_unit
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.trig import DEGREE, PI_DECIMAL, cosine, tangent


@lean_dataclass(frozen=True, slots=True)
class TorsionBar:
    """A round torsion bar with an arm.

    k = π G (d⁴ − b⁴) / (32 L); load = k φ / (R cos β); rate = k (1 + φ tan β) / (R cos β)²;
    stress = 16 T d / (π (d⁴ − b⁴)).

    Attributes:
        diameter: Diameter of the bar, mm.
        length: Working length between the spline roots, mm.
        arm: Arm square to the bar, mm.
        bore: Bore of a hollow bar, mm.
        wind_up: Twist, degrees.
        arm_angle: Of the arm above level, degrees.
        g: Shear modulus, GPa.
        teeth: Teeth of the splines at one end.
        other_teeth: Teeth at the other end, where they differ.
        allowed: Allowed shear stress, MPa.
    """

    diameter: Decimal
    length: Decimal
    arm: Decimal
    bore: Decimal = Decimal(0)
    wind_up: Decimal | None = None
    arm_angle: Decimal = Decimal(0)
    g: Decimal = Decimal("79.3")
    teeth: Decimal | None = None
    other_teeth: Decimal | None = None
    allowed: Decimal | None = None

    def result(self) -> Result:
        """Work out the bar.

        Returns:
            stiffness N m/deg, rate_level N/mm; with wind_up: torque N m, load N, rate N/mm,
            stress MPa, verdict; with teeth: tooth and finest degrees.

        Raises:
            BenchrunError: The bar cannot be, or its stress is over the allowed one.
        """
        self._check()
        fourth = self.diameter**4 - self.bore**4
        stiff = PI_DECIMAL * self.g * 1000 * fourth / (32 * self.length)  # N mm a radian
        outputs = {
            "stiffness": Amount(stiff * DEGREE / 1000, "N m/deg"),
            "rate_level": Amount(stiff / self.arm**2, "N/mm"),
        }
        hollow = f" − ({said(self.bore, 'mm')})⁴" if self.bore else ""
        workings = [
            f"π × {said(self.g, 'GPa')} × (({said(self.diameter, 'mm')})⁴{hollow}) ÷ "
            f"(32 × {said(self.length, 'mm')}) = {said(outputs['stiffness'].number, 'N m/deg')}"
        ]
        if self.wind_up is not None:
            self._wound(stiff, fourth, self.wind_up, outputs, workings)
        self._splines(outputs)
        return Result(outputs, tuple(workings))

    def _check(self) -> None:
        for name, size in (("diameter", self.diameter), ("length", self.length), ("arm", self.arm)):
            positive(name, size, "mm")
        if not 0 <= self.bore < self.diameter:
            raise BenchrunError(
                f"bore {said(self.bore, 'mm')} is not inside a bar of {said(self.diameter, 'mm')}"
            )
        between("G", self.g, "GPa", 10, 130, "bar metals have")
        if not -60 < self.arm_angle < 60:
            raise BenchrunError(
                f"arm_angle is {said(self.arm_angle, 'deg')}: an arm within 60° of level is meant"
            )

    def _wound(
        self,
        stiff: Decimal,
        fourth: Decimal,
        wind_up: Decimal,
        outputs: dict[str, Amount],
        workings: list[str],
    ) -> None:
        between("wind_up", wind_up, "deg", 0, 120, "bars are wound by")
        twist = wind_up * DEGREE
        reach = self.arm * cosine(self.arm_angle)
        torque = stiff * twist
        load = torque / reach
        stress = 16 * torque * self.diameter / (PI_DECIMAL * fourth)
        outputs |= {
            "torque": Amount(torque / 1000, "N m"),
            "load": Amount(load, "N"),
            "rate": Amount(stiff * (1 + twist * tangent(self.arm_angle)) / reach**2, "N/mm"),
            "stress": Amount(stress, "MPa"),
        }
        workings.append(
            f"{said(torque / 1000, 'N m')} ÷ ({said(self.arm, 'mm')} × "
            f"cos {said(self.arm_angle, 'deg')}) = {said(load, 'N')}"
        )
        if self.allowed is not None:
            positive("allowed", self.allowed, "MPa")
            if stress > self.allowed:
                raise BenchrunError(
                    f"{said(wind_up, 'deg')} of twist give {said(stress, 'MPa')}, over the allowed "
                    f"{said(self.allowed, 'MPa')}"
                )
        verdict = "no allowed stress given" if self.allowed is None else "within the allowed stress"
        outputs["verdict"] = Amount(verdict)

    def _splines(self, outputs: dict[str, Amount]) -> None:
        if self.teeth is None:
            if self.other_teeth is not None:
                raise BenchrunError("give teeth, those of the first end, too")
            return
        counts = [self.teeth, *([] if self.other_teeth is None else [self.other_teeth])]
        for count in counts:
            if count != int(count) or not 3 <= count <= 200:
                raise BenchrunError(f"teeth is {said(count, '')}: a whole number from 3 is meant")
        outputs["tooth"] = Amount(Decimal(360) / counts[0], "deg")
        outputs["finest"] = Amount(Decimal(360) / math.lcm(*map(int, counts)), "deg")


TORSION_BAR: Final = Calc(
    "torsion_bar",
    "stiffness, load, rate and stress of a torsion bar",
    (
        Input("diameter", "diameter of the bar", "mm", needed=True),
        Input("length", "working length between the spline roots", "mm", needed=True),
        Input("arm", "arm square to the bar", "mm", needed=True),
        Input("bore", "of a hollow bar", "mm", default="0"),
        Input("wind_up", "twist of the bar", "deg"),
        Input("arm_angle", "of the arm above level, minus is below", "deg", default="0"),
        Input("G", "shear modulus", "GPa", default="79.3", bare=modulus_unit),
        Input("teeth", "teeth of the splines at one end"),
        Input("other_teeth", "at the other end, where they differ"),
        Input("allowed", "allowed shear stress", "MPa"),
    ),
    (
        Output("stiffness", "N m/deg", "torque for each degree"),
        Output("rate_level", "N/mm", "at the arm's end, arm level, bar unloaded"),
        Output("torque", "N m", "in the bar"),
        Output("load", "N", "at the arm's end, upright"),
        Output("rate", "N/mm", "at the arm's end, as it stands"),
        Output("stress", "MPa", "shear stress at the skin"),
        Output("tooth", "deg", "one tooth"),
        Output("finest", "deg", "finest step with both ends moved against each other"),
        Output("verdict", "", "within the allowed stress; over it the sum refuses"),
    ),
    TorsionBar,
    {
        "diameter": "24", "length": "1000", "arm": "320", "wind_up": "30", "arm_angle": "10",
        "teeth": "36", "other_teeth": "40",
    },
    cautions=(
        "A wound bar holds the vehicle's weight: unload it by its adjuster with the wheel hanging, "
        "stand out of the arm's way, measure the height before dismantling.",
        "Bars are preset one way: mark the hand and the end. A nick or a rust pit breaks a bar.",
    ),
    sources=(
        "stiffness and stress of a round bar: Mechanical Engineer's Data Handbook, p. 46; rate "
        "with the arm off level: geometry",
    ),
    convention="one bar, one side; the arm is measured square to the bar; it does not bend, and "
    "bushes are without friction",
)  # fmt: skip
