"""Rolling torque of bearings by a spring balance: torque of a pull, and the reading for a band."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.accepting import verdict_of
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import positive

_SIMILAR: Final = "radius, stud_circle or hub_diameter"


@lean_dataclass(frozen=True, slots=True)
class RollingTorque:
    """Torque to keep a hub turning, from the pull of a balance square to the radius.

    T = (F − seal drag) × r; reading = T / r + seal drag.

    Attributes:
        force: Reading of the balance, N.
        radius: Where it pulls, from the centre, mm; or stud_circle or hub_diameter.
        stud_circle: Diameter of the circle of the studs, mm.
        hub_diameter: Diameter of a hub with a cord round it, mm.
        seal_drag: Reading with seals and grease alone, N.
        low: Least torque wanted, N m.
        high: Greatest torque wanted, N m.
    """

    force: Decimal | None = None
    radius: Decimal | None = None
    stud_circle: Decimal | None = None
    hub_diameter: Decimal | None = None
    seal_drag: Decimal = Decimal(0)
    low: Decimal | None = None
    high: Decimal | None = None

    def result(self) -> Result:
        """Work out torque, readings and verdict.

        Returns:
            With a force: torque N m, torque_inches in lb, torque_kgf kgf cm. With low or high:
            reading_low and reading_high N. With both: verdict.

        Raises:
            BenchrunError: It is not said which radius, or the drag is above the reading.
        """
        radius = self._radius()
        if self.seal_drag < 0:
            raise BenchrunError(f"seal_drag is {said(self.seal_drag, 'N')}: less than nothing")
        if self.force is None and self.low is None and self.high is None:
            raise BenchrunError("give the force, or the torque wanted, low and high")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise BenchrunError(f"low {said(self.low, 'N m')} is above high")
        outputs: dict[str, Amount] = {}
        workings: list[str] = []
        for name, limit in (("reading_low", self.low), ("reading_high", self.high)):
            if limit is not None:
                positive(name, limit, "N m")
                outputs[name] = Amount(limit * 1000 / radius + self.seal_drag, "N")
        if self.force is not None:
            self._pulled(self.force, radius, outputs, workings)
        elif outputs:
            shown = " to ".join(amount.words for amount in outputs.values())
            workings.append(f"torque ÷ {said(radius, 'mm')} + seal drag: {shown} on the balance")
        notes = ("while it turns steadily: the force to start it is higher",)
        return Result(outputs, tuple(workings), notes)

    def _radius(self) -> Decimal:
        radii = [
            size
            for size in (
                self.radius,
                None if self.stud_circle is None else self.stud_circle / 2,
                None if self.hub_diameter is None else self.hub_diameter / 2,
            )
            if size is not None
        ]
        if len(radii) != 1:
            raise BenchrunError(
                f"give {_SIMILAR}, one of them: whether it is a radius or a diameter cannot be "
                "known from the number"
            )
        positive("radius", radii[0], "mm")
        return radii[0]

    def _pulled(
        self, force: Decimal, radius: Decimal, outputs: dict[str, Amount], workings: list[str]
    ) -> None:
        positive("force", force, "N")
        if self.seal_drag >= force:
            raise BenchrunError(
                f"seal_drag {said(self.seal_drag, 'N')} is not below the reading "
                f"{said(force, 'N')}: read the balance again"
            )
        torque = (force - self.seal_drag) * radius / 1000
        amount = Amount(torque, "N m")
        outputs["torque"] = amount
        outputs["torque_inches"] = Amount(amount.to("in lb"), "in lb")
        outputs["torque_kgf"] = Amount(amount.to("kgf cm"), "kgf cm")
        workings.append(
            f"({said(force, 'N')} − {said(self.seal_drag, 'N')}) × {said(radius, 'mm')} = "
            f"{said(torque, 'N m')}"
        )
        if self.low is not None or self.high is not None:
            outputs["verdict"] = Amount(verdict_of(torque, self.low, self.high))


ROLLING_TORQUE: Final = Calc(
    "rolling_torque",
    "rolling torque of bearings by a spring balance",
    (
        Input("force", "reading of the balance; kg on it is kgf", "N"),
        Input("radius", "from the centre to the pull; or one of the next", "mm"),
        Input("stud_circle", "diameter of the circle of the studs", "mm"),
        Input("hub_diameter", "of a hub with a cord round it", "mm"),
        Input("seal_drag", "reading with seals and grease alone", "N", default="0"),
        Input("low", "least torque wanted", "N m"),
        Input("high", "greatest torque wanted", "N m"),
    ),
    (
        Output("torque", "N m", "of the bearings, seal drag taken off"),
        Output("torque_inches", "in lb", "the same", fixed=True),
        Output("torque_kgf", "kgf cm", "the same", fixed=True),
        Output("reading_low", "N", "on the balance for the least torque"),
        Output("reading_high", "N", "on the balance for the greatest"),
        Output("verdict", "", "inside or outside what is wanted"),
    ),
    RollingTorque,
    {"force": "1.2 kgf", "stud_circle": "114.3", "seal_drag": "0.3 kgf", "low": "0.4",
     "high": "1.2"},
    cautions=(
        "Brakes free, wheel clear of the floor on stands, bearings seated by turning first. Not "
        "where play is specified instead of preload.",
    ),
    sources=("T = F r: army manuals and workshop manuals on wheel bearings",),
    convention="the pull is square to the radius while the hub turns steadily; radius is half the "
    "stud circle",
)  # fmt: skip
