"""Steering geometry: toe, camber, king pin and caster from lengths and angles on the floor."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.trig import arcsine, arctangent, cosine, degrees_minutes, sine, tangent

_TOE_OF: Final = ("total", "per wheel")
_DISTANCES: Final = ("along the rim", "upright")
_LEAST_SWEEP: Final = 5  # degrees: less, and the change of camber drowns in the reading


def caster_of_sweep(
    camber_out: Decimal, camber_in: Decimal, sweep: Decimal, kpi: Decimal
) -> Decimal:
    """Caster in degrees from the camber at equal turns out and in, exact for a king pin.

    tan caster = [(sin C1 − sin C2) − tan KPI (cos C2 − cos C1) cos T] / [(cos C2 + cos C1) sin T].

    Args:
        camber_out: Camber with the wheel turned toe-out, degrees.
        camber_in: Camber with it turned toe-in as far.
        sweep: Turn each way, degrees.
        kpi: King-pin inclination, degrees.
    """
    change = sine(camber_out) - sine(camber_in)
    bend = tangent(kpi) * (cosine(camber_in) - cosine(camber_out)) * cosine(sweep)
    return arctangent((change - bend) / ((cosine(camber_in) + cosine(camber_out)) * sine(sweep)))


@lean_dataclass(frozen=True, slots=True)
class Alignment:
    """Toe, camber, king-pin inclination and caster, each from what was measured.

    Toe: total = 2 D sin θ, θ of one wheel. Camber: asin or atan of the difference of the gaps by
    their distance. King pin and caster: atan of offset by height.

    Attributes:
        toe: Toe as a length, mm; + is toe-in. Or toe_angle.
        toe_angle: Toe as an angle, degrees.
        toe_of: Whether that is the total of both wheels or one wheel's.
        diameter: Diameter at which toe is measured, at hub height, mm.
        gap_top: From a plumb line outside the wheel to the rim's top, mm.
        gap_bottom: To the rim's bottom, mm.
        distance: Between the two, mm.
        distance_is: `along the rim` or `upright`.
        camber: Camber known, degrees.
        height: Between the king pin's ends, upright, mm.
        inward: Top of the king pin inside its bottom, mm.
        rearward: Top behind the bottom, mm.
        kpi: King-pin inclination known, degrees.
        camber_out: Camber turned toe-out, degrees.
        camber_in: Camber turned toe-in, degrees.
        sweep: Turn toe-out, degrees.
        sweep_in: Turn toe-in, degrees; as sweep when not given.
    """

    toe: Decimal | None = None
    toe_angle: Decimal | None = None
    toe_of: str | None = None
    diameter: Decimal | None = None
    gap_top: Decimal | None = None
    gap_bottom: Decimal | None = None
    distance: Decimal | None = None
    distance_is: str = "along the rim"
    camber: Decimal | None = None
    height: Decimal | None = None
    inward: Decimal | None = None
    rearward: Decimal | None = None
    kpi: Decimal | None = None
    camber_out: Decimal | None = None
    camber_in: Decimal | None = None
    sweep: Decimal | None = None
    sweep_in: Decimal | None = None

    def result(self) -> Result:
        """Work out what the measured values give.

        Returns:
            Of toe: toe_total and toe_wheel mm, toe_total_angle and toe_wheel_angle degrees,
            verdict (toe-in, toe-out or straight ahead). Of gaps: camber. Of offsets: kpi, caster.
            Of a sweep: caster_sweep (with the king pin) and caster_short. Of camber and king pin:
            included. And angles, all of them in degrees and minutes.

        Raises:
            BenchrunError: Half of a pair is missing, or a value is outside what can be measured.
        """
        outputs: dict[str, Amount] = {}
        workings: list[str] = []
        self._toe(outputs, workings)
        camber = self._camber(outputs, workings)
        kpi = self._king_pin(outputs, workings)
        notes = self._sweep(kpi, outputs, workings)
        if camber is not None and kpi is not None:
            outputs["included"] = Amount(kpi + camber, "deg")
        if not outputs:
            raise BenchrunError("give a toe, two gaps, the king pin's offsets or a sweep")
        outputs["angles"] = Amount(
            "; ".join(
                f"{name.replace('_', ' ')} {degrees_minutes(amount.number)}"
                for name, amount in outputs.items()
                if amount.unit == "deg"
            )
        )
        return Result(outputs, tuple(workings), tuple(notes))

    def _toe(self, outputs: dict[str, Amount], workings: list[str]) -> None:
        if self.toe is None and self.toe_angle is None:
            return
        if self.toe is not None and self.toe_angle is not None:
            raise BenchrunError("give toe as a length or as an angle, not both")
        if self.toe_of is None:
            raise BenchrunError("say toe_of: is it the total of both wheels, or per wheel?")
        if self.diameter is None:
            raise BenchrunError(
                "give the diameter where the toe is measured: rim flange, tread or a bar; sheets "
                "differ"
            )
        positive("diameter", self.diameter, "mm")
        wheels = 1 if self.toe_of == "per wheel" else 2
        if self.toe is not None:
            if abs(self.toe) > self.diameter / 10:
                raise BenchrunError(
                    f"toe {said(self.toe, 'mm')} is over a tenth of the diameter: look at the unit"
                )
            angle = arcsine(self.toe / wheels / self.diameter)
        else:
            angle = (self.toe_angle or Decimal(0)) / wheels
            between("toe_angle of a wheel", angle, "deg", "-5.7", "5.7", "toe lies between")
        gap = self.diameter * sine(angle)
        outputs |= {
            "toe_total": Amount(2 * gap, "mm"),
            "toe_wheel": Amount(gap, "mm"),
            "toe_total_angle": Amount(2 * angle, "deg"),
            "toe_wheel_angle": Amount(angle, "deg"),
            "verdict": Amount("toe-in" if gap > 0 else "toe-out" if gap < 0 else "straight ahead"),
        }
        workings.append(
            f"{said(self.diameter, 'mm')} × sin {said(angle, 'deg')} = {said(gap, 'mm')} per "
            f"wheel, {said(2 * gap, 'mm')} in total"
        )

    def _camber(self, outputs: dict[str, Amount], workings: list[str]) -> Decimal | None:
        gaps = (self.gap_top, self.gap_bottom, self.distance)
        if all(gap is None for gap in gaps):
            if self.camber is not None:
                between("camber", self.camber, "deg", -15, 15, "cambers lie between")
            return self.camber
        if self.gap_top is None or self.gap_bottom is None or self.distance is None:
            raise BenchrunError("a camber needs gap_top, gap_bottom and their distance")
        if self.camber is not None:
            raise BenchrunError("give the gaps or the camber, not both")
        positive("distance", self.distance, "mm")
        lean = self.gap_bottom - self.gap_top
        if abs(lean) > self.distance / 4:
            raise BenchrunError(
                f"the gaps differ by {said(abs(lean), 'mm')} over {said(self.distance, 'mm')}: no "
                "wheel leans so far; look at the units"
            )
        ratio = lean / self.distance
        camber = arcsine(ratio) if self.distance_is == "along the rim" else arctangent(ratio)
        outputs["camber"] = Amount(camber, "deg")
        workings.append(
            f"({said(self.gap_bottom, 'mm')} − {said(self.gap_top, 'mm')}) ÷ "
            f"{said(self.distance, 'mm')}: camber {degrees_minutes(camber)}"
        )
        return camber

    def _king_pin(self, outputs: dict[str, Amount], workings: list[str]) -> Decimal | None:
        if self.inward is None and self.rearward is None:
            if self.kpi is not None:
                between("kpi", self.kpi, "deg", -5, 30, "king pins lean by")
            return self.kpi
        if self.height is None:
            raise BenchrunError("give the height between the king pin's ends")
        positive("height", self.height, "mm")
        kpi = self.kpi
        for name, offset in (("kpi", self.inward), ("caster", self.rearward)):
            if offset is None:
                continue
            if abs(offset) > self.height:
                raise BenchrunError(
                    f"an offset of {said(offset, 'mm')} over {said(self.height, 'mm')} is over 45°"
                )
            angle = arctangent(offset / self.height)
            outputs[name] = Amount(angle, "deg")
            workings.append(
                f"{said(offset, 'mm')} ÷ {said(self.height, 'mm')}: {name} {degrees_minutes(angle)}"
            )
            if name == "kpi":
                kpi = angle
        return kpi

    def _sweep(
        self, kpi: Decimal | None, outputs: dict[str, Amount], workings: list[str]
    ) -> list[str]:
        cambers = (self.camber_out, self.camber_in, self.sweep)
        if all(value is None for value in cambers):
            return []
        if self.camber_out is None or self.camber_in is None or self.sweep is None:
            raise BenchrunError("a sweep needs camber_out, camber_in and sweep")
        for name, value in (("camber_out", self.camber_out), ("camber_in", self.camber_in)):
            between(name, value, "deg", -20, 20, "cambers lie between")
        other = self.sweep if self.sweep_in is None else self.sweep_in
        if min(self.sweep, other) < _LEAST_SWEEP or max(self.sweep, other) > 45:
            raise BenchrunError(
                f"sweep {said(min(self.sweep, other), 'deg')}: 5° to 45° each way; less drowns in "
                "the reading"
            )
        if abs(self.sweep - other) > 1:
            raise BenchrunError("sweep and sweep_in differ by more than 1°: turn both ways alike")
        sweep = (self.sweep + other) / 2
        change = self.camber_out - self.camber_in
        short = change / (2 * sine(sweep))
        outputs["caster_short"] = Amount(short, "deg")
        workings.append(
            f"({said(self.camber_out, 'deg')} − {said(self.camber_in, 'deg')}) ÷ "
            f"(2 × sin {said(sweep, 'deg')}) = {said(short, 'deg')}"
        )
        if kpi is None:
            return ["without the king pin's inclination only the short form is told"]
        exact = caster_of_sweep(self.camber_out, self.camber_in, sweep, kpi)
        outputs["caster_sweep"] = Amount(exact, "deg")
        return ["1.5 times the change is a rule of thumb for 20°, some 3 % too much"]


ALIGNMENT: Final = Calc(
    "alignment",
    "toe, camber, king pin and caster from what was measured",
    (
        Input("toe", "toe as a length, + is toe-in", "mm"),
        Input("toe_angle", "or as an angle: 0.2, 0°12'", "deg"),
        Input("toe_of", "of both wheels, or of each", kind="text", choices=_TOE_OF),
        Input("diameter", "where toe is measured, at hub height", "mm"),
        Input("gap_top", "plumb line outside to the rim's top", "mm"),
        Input("gap_bottom", "to the rim's bottom", "mm"),
        Input("distance", "between the two", "mm"),
        Input("distance_is", "taken", kind="text", default="along the rim", choices=_DISTANCES),
        Input("camber", "camber known, instead of gaps; + leans out", "deg"),
        Input("height", "between the king pin's ends, upright", "mm"),
        Input("inward", "its top inside its bottom", "mm"),
        Input("rearward", "its top behind its bottom", "mm"),
        Input("kpi", "king-pin inclination known, instead", "deg"),
        Input("camber_out", "camber turned toe-out", "deg"),
        Input("camber_in", "camber turned toe-in", "deg"),
        Input("sweep", "turned by, toe-out: 20", "deg"),
        Input("sweep_in", "and toe-in, as sweep when not given", "deg"),
    ),
    (
        Output("toe_total", "mm", "of both wheels"),
        Output("toe_wheel", "mm", "of each wheel"),
        Output("toe_total_angle", "deg", "of both wheels"),
        Output("toe_wheel_angle", "deg", "of each wheel"),
        Output("verdict", "", "toe-in, toe-out or straight ahead"),
        Output("camber", "deg", "+ leans out at the top"),
        Output("kpi", "deg", "king-pin (steering axis) inclination"),
        Output("caster", "deg", "+ leans back at the top"),
        Output("included", "deg", "king-pin inclination and camber together"),
        Output("caster_sweep", "deg", "caster from the sweep, king pin counted"),
        Output("caster_short", "deg", "change of camber by 2 sin sweep"),
        Output("angles", "", "all of them in degrees and minutes"),
    ),
    Alignment,
    {
        "toe": "2", "toe_of": "total", "diameter": "381", "gap_top": "10", "gap_bottom": "12.5",
        "distance": "381", "height": "250", "inward": "35", "rearward": "13",
        "camber_out": "2.016772", "camber_in": "-0.041691", "sweep": "20",
    },
    cautions=(
        "Alignment is judged by the maker's sheet at its load and height; a crash, a bent arm or "
        "play in a joint is mended first. Chock the wheels that stay on the floor.",
    ),
    sources=(
        "geometry; caster from a sweep by the exact form that a calculator page prints (SAE), "
        "short form (C out − C in) / (2 sin sweep)",
    ),
    convention="toe-in, camber with the top out and caster with the top back are +; toe is told "
    "as total and per wheel, split evenly; level floor, run-out averaged by half a turn",
)  # fmt: skip
