"""Drum brake shoes on fixed pivots: torque, lining pressure, and where a shoe locks itself."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.brakes import BRAKE_CAUTION, FLUID_CAUTION, check_friction
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import positive
from benchrun.shopmath.trig import DEGREE, cosine, sine

_ARRANGED: Final = ("leading and trailing", "two leading", "two trailing")


@lean_dataclass(frozen=True, slots=True)
class DrumBrake:
    """Torque of drum shoes on fixed pivots, lining pressure as the sine from the pivot line.

    Mn = p b r A / sin θa ∫ sin²; Mf = μ p b r / sin θa ∫ sin (r − A cos);
    leading p = W arm / (Mn − Mf), trailing / (Mn + Mf).

    Attributes:
        force: Force on each shoe's tip, N.
        radius: Radius of the drum, mm.
        width: Width of the lining, mm.
        pivot: From the drum's centre to the pivot, mm.
        from_: Where the lining begins, degrees from the line to the pivot.
        to: Where it ends, degrees.
        arm: From the pivot to the line of the tip force, mm.
        mu: Friction of the lining.
        shoes: `leading and trailing`, `two leading` or `two trailing`.
    """

    force: Decimal
    radius: Decimal
    width: Decimal
    pivot: Decimal
    from_: Decimal
    to: Decimal
    arm: Decimal
    mu: Decimal
    shoes: str = "leading and trailing"

    def result(self) -> Result:
        """Work out both kinds of shoe and the brake.

        Returns:
            torque of the brake, torque_leading and torque_trailing of a shoe N m, pmax_leading and
            pmax_trailing MPa, locks_at (friction where a leading shoe locks), normal_moment and
            friction_moment N m for 1 MPa, verdict.

        Raises:
            BenchrunError: A leading shoe locks itself, or the shape cannot be.
        """
        self._check()
        start, end = self.from_, self.to
        top = sine(end if end < 90 else start if start > 90 else Decimal(90))
        swept = (end - start) * DEGREE / 2 - (sine(2 * end) - sine(2 * start)) / 4
        along = self.radius * (cosine(start) - cosine(end))
        across = self.pivot / 2 * (sine(end) ** 2 - sine(start) ** 2)
        face = self.width * self.radius / top
        normal = face * self.pivot * swept  # N mm for 1 MPa
        drag = self.mu * face * (along - across)
        locks = normal / (face * (along - across))
        if self.shoes != "two trailing" and drag >= normal:
            raise BenchrunError(
                f"a leading shoe locks itself at a friction of {said(locks, '')} and more, and mu "
                f"is {said(self.mu, '')}: it grabs and does not let go"
            )
        turning = self.mu * face * self.radius * (cosine(start) - cosine(end))
        work = self.force * self.arm
        leading = work / (normal - drag) if drag < normal else Decimal(0)
        trailing = work / (normal + drag)
        torques = (leading * turning / 1000, trailing * turning / 1000)
        total = {"two leading": 2 * torques[0], "two trailing": 2 * torques[1]}.get(
            self.shoes, sum(torques, Decimal(0))
        )
        outputs = {
            "torque": Amount(total, "N m"),
            "torque_leading": Amount(torques[0], "N m"),
            "torque_trailing": Amount(torques[1], "N m"),
            "pmax_leading": Amount(leading, "MPa"),
            "pmax_trailing": Amount(trailing, "MPa"),
            "normal_moment": Amount(normal / 1000, "N m"),
            "friction_moment": Amount(drag / 1000, "N m"),
            "locks_at": Amount(locks, ""),
            "verdict": Amount("does not lock itself"),
        }
        workings = (
            f"{said(self.force, 'N')} × {said(self.arm, 'mm')} ÷ ({said(normal / 1000, 'N m')} − "
            f"{said(drag / 1000, 'N m')}) a MPa = {said(leading, 'MPa')} on the leading shoe, "
            f"÷ ({said(normal / 1000, 'N m')} + {said(drag / 1000, 'N m')}) a MPa = "
            f"{said(trailing, 'MPa')} on the trailing shoe",
            f"leading {said(torques[0], 'N m')}, trailing {said(torques[1], 'N m')}; "
            f"{self.shoes}: {said(total, 'N m')}",
        )
        return Result(outputs, workings)

    def _check(self) -> None:
        for name, size in (
            ("radius", self.radius), ("width", self.width), ("pivot", self.pivot), ("arm", self.arm)
        ):  # fmt: skip
            positive(name, size, "mm")
        positive("force", self.force, "N")
        check_friction("mu", self.mu)
        if self.pivot >= self.radius:
            raise BenchrunError(
                f"pivot {said(self.pivot, 'mm')} is not inside the drum's {said(self.radius, 'mm')}"
            )
        if not 0 <= self.from_ < self.to <= 180:
            raise BenchrunError(
                f"the lining from {said(self.from_, 'deg')} to {said(self.to, 'deg')}: an arc "
                "within 0° to 180° from the pivot is meant"
            )


DRUM_BRAKE: Final = Calc(
    "drum_brake",
    "torque and lining pressure of drum shoes on fixed pivots",
    (
        Input("force", "on each shoe's tip", "N", needed=True),
        Input("radius", "radius of the drum", "mm", needed=True),
        Input("width", "width of the lining", "mm", needed=True),
        Input("pivot", "drum's centre to the pivot", "mm", needed=True),
        Input("from", "lining begins, from the line to the pivot", "deg", needed=True),
        Input("to", "lining ends", "deg", needed=True),
        Input("arm", "pivot to the line of the tip force", "mm", needed=True),
        Input("mu", "friction of the lining", needed=True),
        Input("shoes", "how they are arranged", kind="text", default="leading and trailing",
              choices=_ARRANGED),
    ),
    (
        Output("torque", "N m", "of the brake, both shoes"),
        Output("torque_leading", "N m", "of a leading shoe"),
        Output("torque_trailing", "N m", "of a trailing shoe"),
        Output("pmax_leading", "MPa", "highest pressure on a leading lining"),
        Output("pmax_trailing", "MPa", "on a trailing lining"),
        Output("normal_moment", "N m", "about the pivot for 1 MPa"),
        Output("friction_moment", "N m", "about the pivot for 1 MPa"),
        Output("locks_at", "", "friction at which a leading shoe locks itself"),
        Output("verdict", "", "does not lock itself; else the sum refuses"),
    ),
    DrumBrake,
    {
        "force": "1500", "radius": "114.3", "width": "40", "pivot": "90", "from": "15",
        "to": "120", "arm": "175", "mu": "0.35",
    },
    cautions=(BRAKE_CAUTION, FLUID_CAUTION),
    sources=("long shoe on a fixed pivot: Shigley, Mechanical Engineering Design, ch. 16",),
    convention="radius, not diameter; force is on each shoe; angles count from the line to the "
    "pivot; rigid, evenly bedded shoes: not for sliding anchors or shoes that push each other",
)  # fmt: skip
