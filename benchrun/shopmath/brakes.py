"""Hydraulic disc brakes: pressure in the line, clamp and torque."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.trig import PI_DECIMAL

BRAKE_CAUTION: Final = (
    "Brakes are a safety part: this compares old parts with new ones and proves nothing. Linings "
    "scatter from 0.25 to 0.5; test on a roller bench; competent or licensed people sign it off."
)
FLUID_CAUTION: Final = (
    "Never mix brake fluids; seals, springs and lines lose 5 to 10 % (from memory)."
)


def check_friction(name: str, value: Decimal) -> None:
    """Refuse a coefficient of friction that is not over 0 and up to 1."""
    between(name, value, "", 0, 1, "a coefficient of friction lies between")
    positive(name, value, "")


@lean_dataclass(frozen=True, slots=True)
class Brake:
    """Line pressure, clamp and torque of a hydraulic disc brake.

    p = F × ratio × servo / A; clamp = p × area of one side; T = 2 μ clamp r.

    Attributes:
        pedal: Force on the pedal, N.
        ratio: Pedal ratio.
        master: Bore of the master cylinder, mm.
        servo: Factor of the servo.
        pistons: Pistons on ONE side of the disc.
        piston: Their diameter, mm.
        mu: Friction of the pads.
        radius: Friction radius, mm; or pad_inner and pad_outer.
        pad_inner: Inner radius of the pad, mm.
        pad_outer: Outer radius of the pad, mm.
        wheel_cylinder: Bore of a drum's wheel cylinder, mm.
    """

    pedal: Decimal
    ratio: Decimal
    master: Decimal
    servo: Decimal = Decimal(1)
    pistons: Decimal = Decimal(1)
    piston: Decimal | None = None
    mu: Decimal | None = None
    radius: Decimal | None = None
    pad_inner: Decimal | None = None
    pad_outer: Decimal | None = None
    wheel_cylinder: Decimal | None = None

    def result(self) -> Result:
        """Work out pressure and, where the parts are given, clamp, torque and tip force.

        Returns:
            pressure MPa, pressure_bar, pressure_psi; clamp N with a piston; friction_radius mm
            and disc_torque N m with friction and radius; tip_force N with a wheel cylinder.

        Raises:
            BenchrunError: An input is outside physics, or half of a pair is missing.
        """
        positive("pedal", self.pedal, "N")
        positive("master", self.master, "mm")
        between("ratio", self.ratio, "", 1, 15, "pedal ratios lie between")
        between("servo", self.servo, "", 1, 10, "servo factors lie between")
        area = PI_DECIMAL / 4 * self.master**2
        pressure = self.pedal * self.ratio * self.servo / area
        outputs = {
            "pressure": Amount(pressure, "MPa"),
            "pressure_bar": Amount(Amount(pressure, "MPa").to("bar"), "bar"),
            "pressure_psi": Amount(Amount(pressure, "MPa").to("psi"), "psi"),
        }
        workings = [
            f"{said(self.pedal, 'N')} × {said(self.ratio, '')} × {said(self.servo, '')} ÷ "
            f"(π/4 × ({said(self.master, 'mm')})²) = {said(pressure, 'MPa')}"
        ]
        if self.piston is not None:
            self._disc(pressure, self.piston, outputs, workings)
        elif self.mu is not None or self.radius is not None:
            raise BenchrunError("give the diameter of a piston too")
        if self.wheel_cylinder is not None:
            positive("wheel_cylinder", self.wheel_cylinder, "mm")
            tip = pressure * PI_DECIMAL / 4 * self.wheel_cylinder**2
            outputs["tip_force"] = Amount(tip, "N")
        return Result(outputs, tuple(workings))

    def _disc(
        self, pressure: Decimal, piston: Decimal, outputs: dict[str, Amount], workings: list[str]
    ) -> None:
        positive("piston", piston, "mm")
        if self.pistons != int(self.pistons) or not 1 <= self.pistons <= 8:
            raise BenchrunError(
                f"pistons is {said(self.pistons, '')}: those on ONE side of the disc, 1 to 8"
            )
        clamp = pressure * self.pistons * PI_DECIMAL / 4 * piston**2
        outputs["clamp"] = Amount(clamp, "N")
        workings.append(
            f"{said(pressure, 'MPa')} × {said(self.pistons, '')} × π/4 × "
            f"({said(piston, 'mm')})² = {said(clamp, 'N')} on each pad"
        )
        radius = self._radius()
        if self.mu is None or radius is None:
            return
        check_friction("mu", self.mu)
        torque = 2 * self.mu * clamp * radius / 1000
        outputs["friction_radius"] = Amount(radius, "mm")
        outputs["disc_torque"] = Amount(torque, "N m")
        workings.append(
            f"2 × {said(self.mu, '')} × {said(clamp, 'N')} × {said(radius, 'mm')} = "
            f"{said(torque, 'N m')}"
        )

    def _radius(self) -> Decimal | None:
        if self.radius is not None:
            if self.pad_inner is not None or self.pad_outer is not None:
                raise BenchrunError("give radius, or pad_inner and pad_outer, not both")
            positive("radius", self.radius, "mm")
            return self.radius
        if self.pad_inner is None and self.pad_outer is None:
            return None
        if self.pad_inner is None or self.pad_outer is None:
            raise BenchrunError("give both pad_inner and pad_outer")
        positive("pad_inner", self.pad_inner, "mm")
        if self.pad_outer <= self.pad_inner:
            raise BenchrunError("pad_outer is not above pad_inner")
        cubes = self.pad_outer**3 - self.pad_inner**3
        return cubes * 2 / 3 / (self.pad_outer**2 - self.pad_inner**2)


BRAKE: Final = Calc(
    "brake",
    "line pressure, clamp and torque of a hydraulic disc brake",
    (
        Input("pedal", "force on the pedal", "N", needed=True),
        Input("ratio", "pedal ratio", needed=True),
        Input("master", "bore of the master cylinder", "mm", needed=True),
        Input("servo", "factor of the servo; it is not constant", default="1"),
        Input("pistons", "pistons on ONE side of the disc", default="1"),
        Input("piston", "their diameter", "mm"),
        Input("mu", "friction of the pads"),
        Input("radius", "friction radius; or pad_inner and pad_outer", "mm"),
        Input("pad_inner", "inner radius of the pad", "mm"),
        Input("pad_outer", "outer radius of the pad", "mm"),
        Input("wheel_cylinder", "bore of a drum's wheel cylinder", "mm"),
    ),
    (
        Output("pressure", "MPa", "in the line"),
        Output("pressure_bar", "bar", "the same", fixed=True),
        Output("pressure_psi", "psi", "the same", fixed=True),
        Output("clamp", "N", "on each pad"),
        Output("friction_radius", "mm", "where the pads pull"),
        Output("disc_torque", "N m", "of one disc, both pads"),
        Output("tip_force", "N", "of the wheel cylinder on each shoe"),
    ),
    Brake,
    {
        "pedal": "300", "ratio": "4", "master": "19.05", "piston": "54", "mu": "0.35",
        "radius": "110", "wheel_cylinder": "19.05",
    },
    cautions=(BRAKE_CAUTION, FLUID_CAUTION),
    sources=(
        "pressure and clamp: hydrostatics; T = 2 μ F r for two pads: a reference page on disc "
        "brakes; radius of even pressure: Shigley, ch. 16",
    ),
    convention="pistons of one side count, opposed ones do not add; a tandem master has the same "
    "pressure in both circuits; torque is of one disc with both pads",
)  # fmt: skip
