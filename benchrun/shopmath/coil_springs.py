"""Coil springs in compression: rate, stress, solid height and buckling."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import modulus_unit
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.trig import PI_DECIMAL, arctangent

# Ends: coils that do not work, and coils of wire in the solid height besides the total.
_ENDS: Final[Mapping[str, tuple[int, int]]] = MappingProxyType(
    {"plain": (0, 1), "plain ground": (1, 0), "squared": (2, 1), "squared ground": (2, 0)}
)
# Seats and the share of the free length that buckles as one half wave.
_SEATS: Final[Mapping[str, Decimal]] = MappingProxyType(
    {
        "both fixed": Decimal("0.5"),
        "one hinged": Decimal("0.707"),
        "both hinged": Decimal(1),
        "one free": Decimal(2),
    }
)


@lean_dataclass(frozen=True, slots=True)
class CoilSpring:
    """A coil spring of round wire in compression, linear.

    rate = G d⁴ / (8 D³ Na); stress = K 8 F D / (π d³) with Wahl's K.

    Attributes:
        wire: Wire diameter, mm.
        mean: Mean coil diameter, mm; or outside or inside instead.
        outside: Outside diameter of the coil, mm.
        inside: Inside diameter of the coil, mm.
        coils: Total coils; or active instead.
        active: Coils that work.
        ends: `plain`, `plain ground`, `squared`, `squared ground`.
        free: Free length, mm.
        load: Load, N; or height instead.
        height: Height under load, mm.
        g: Shear modulus, GPa.
        e: Young's modulus, GPa, for buckling.
        allowed: Allowed shear stress, MPa.
        seat: How the ends stand.
    """

    wire: Decimal
    free: Decimal
    mean: Decimal | None = None
    outside: Decimal | None = None
    inside: Decimal | None = None
    coils: Decimal | None = None
    active: Decimal | None = None
    ends: str = "squared ground"
    load: Decimal | None = None
    height: Decimal | None = None
    g: Decimal = Decimal("79.3")
    e: Decimal = Decimal(207)
    allowed: Decimal | None = None
    seat: str = "both fixed"

    def result(self) -> Result:
        """Work out the spring, and how it stands under a load or at a height.

        Returns:
            index, rate, rate_with_shear, solid, load_solid, stress_solid, K_wahl,
            K_bergstraesser, K_direct, stable_below and, where it can buckle, buckles_at; with a
            load or height: load, height, deflection, stress, stress_bergstraesser, stress_direct,
            verdict.

        Raises:
            BenchrunError: No such spring can be, or the height is below solid.
        """
        diameter, active, total = self._shape()
        index = diameter / self.wire
        rate = self.g * 1000 * self.wire**4 / (8 * diameter**3 * active)
        solid = (total + _ENDS[self.ends][1]) * self.wire
        if self.free <= solid:
            raise BenchrunError(
                f"free length {said(self.free, 'mm')} is not above the solid height of "
                f"{said(solid, 'mm')}: look at the coils and the wire"
            )
        factors = {
            "wahl": (4 * index - 1) / (4 * index - 4) + Decimal("0.615") / index,
            "bergstraesser": (4 * index + 2) / (4 * index - 3),
            "direct": 1 + Decimal("0.5") / index,
        }
        full = (self.free - solid) * rate
        plain = 8 * diameter / (PI_DECIMAL * self.wire**3)  # stress of a newton, uncorrected
        outputs = {
            "index": Amount(index, ""),
            "rate": Amount(rate, "N/mm"),
            "rate_with_shear": Amount(rate / (1 + Decimal("0.5") / index**2), "N/mm"),
            "solid": Amount(solid, "mm"),
            "load_solid": Amount(full, "N"),
            "stress_solid": Amount(factors["wahl"] * plain * full, "MPa"),
            "active": Amount(active, ""),
        }
        outputs |= {f"K_{name}": Amount(value, "") for name, value in factors.items()}
        buckles = self._buckling(diameter, outputs)
        workings = [
            f"{said(self.g, 'GPa')} × ({said(self.wire, 'mm')})⁴ ÷ (8 × ({said(diameter, 'mm')})³ "
            f"× {said(active, '')}) = {said(rate, 'N/mm')}"
        ]
        notes = self._remarks(index, diameter, active, solid)
        if self.load is not None or self.height is not None:
            force = self._force(rate, solid)
            deflection = force / rate
            stress = factors["wahl"] * plain * force
            outputs |= {
                "load": Amount(force, "N"),
                "deflection": Amount(deflection, "mm"),
                "height": Amount(max(self.free - deflection, solid), "mm"),
                "stress": Amount(stress, "MPa"),
                "stress_bergstraesser": Amount(factors["bergstraesser"] * plain * force, "MPa"),
                "stress_direct": Amount(factors["direct"] * plain * force, "MPa"),
                "verdict": Amount(self._verdict(deflection, solid, buckles, stress)),
            }
            workings.append(
                f"{said(factors['wahl'], '')} × 8 × {said(force, 'N')} × {said(diameter, 'mm')} ÷ "
                f"(π × ({said(self.wire, 'mm')})³) = {said(stress, 'MPa')}"
            )
        return Result(outputs, tuple(workings), tuple(notes))

    def _shape(self) -> tuple[Decimal, Decimal, Decimal]:
        """Mean diameter, active and total coils."""
        positive("wire", self.wire, "mm")
        positive("free", self.free, "mm")
        between("G", self.g, "GPa", 10, 130, "spring metals have")
        between("E", self.e, "GPa", 40, 300, "spring metals have")
        if not 2 * self.g < self.e < 3 * self.g:
            raise BenchrunError(
                f"E {said(self.e, 'GPa')} and G {said(self.g, 'GPa')} are not of one metal: E is "
                "between twice and three times G"
            )
        diameters = [
            size
            for size in (
                self.mean,
                None if self.outside is None else self.outside - self.wire,
                None if self.inside is None else self.inside + self.wire,
            )
            if size is not None
        ]
        if len(diameters) != 1:
            raise BenchrunError("give the mean, the outside or the inside diameter, one of them")
        if diameters[0] <= 2 * self.wire:
            raise BenchrunError(
                f"a mean diameter of {said(diameters[0], 'mm')} over wire of "
                f"{said(self.wire, 'mm')} is an index of 2 or less: no such spring is wound"
            )
        dead = _ENDS[self.ends][0]
        if (self.coils is None) == (self.active is None):
            raise BenchrunError("give coils, the total, or active, one of them")
        active = self.active if self.active is not None else (self.coils or Decimal(0)) - dead
        if not 1 <= active <= 500:
            raise BenchrunError(
                f"{said(active, '')} active coils: 1 and more are meant; {self.ends} ends take "
                f"{dead} of the total"
            )
        return diameters[0], active, active + dead

    def _buckling(self, diameter: Decimal, outputs: dict[str, Amount]) -> Decimal | None:
        """The deflection at which it buckles, None where it never does."""
        share = _SEATS[self.seat]
        spread = self.e - self.g
        stable = PI_DECIMAL * diameter / share * (2 * spread / (2 * self.g + self.e)).sqrt()
        outputs["stable_below"] = Amount(stable, "mm")
        slender = share * self.free / diameter
        ratio = 2 * PI_DECIMAL**2 * spread / (2 * self.g + self.e) / slender**2
        if ratio > 1:
            return None
        reach = self.e / (2 * spread)
        buckles = self.free * reach * (1 - (1 - ratio).sqrt())
        outputs["buckles_at"] = Amount(buckles, "mm")
        return buckles

    def _force(self, rate: Decimal, solid: Decimal) -> Decimal:
        if self.load is not None and self.height is not None:
            raise BenchrunError("give load or height, not both")
        if self.height is not None:
            if self.height < solid:
                raise BenchrunError(
                    f"height {said(self.height, 'mm')} is below the solid height of "
                    f"{said(solid, 'mm')}"
                )
            if self.height > self.free:
                raise BenchrunError(f"height {said(self.height, 'mm')} is above the free length")
            return (self.free - self.height) * rate
        load = self.load or Decimal(0)
        positive("load", load, "N")
        return load

    def _verdict(
        self, deflection: Decimal, solid: Decimal, buckles: Decimal | None, stress: Decimal
    ) -> str:
        if deflection > self.free - solid:
            return "solid before this load"
        if buckles is not None and deflection >= buckles:
            return "buckles before this load"
        if self.allowed is not None:
            positive("allowed", self.allowed, "MPa")
            if stress > self.allowed:
                return "over the allowed stress"
        return "stands"

    def _remarks(
        self, index: Decimal, diameter: Decimal, active: Decimal, solid: Decimal
    ) -> list[str]:
        notes = ["stress is with Wahl's factor; the direct factor alone tells less, show which"]
        if not 4 <= index <= 12:
            extreme = "" if 3 <= index <= 20 else ", beyond what the formulas are for (3 to 20)"
            notes.append(f"index {said(index, '')} is outside the usual 4 to 12{extreme}")
        pitch = (self.free - solid) / active + self.wire
        angle = arctangent(pitch / (PI_DECIMAL * diameter))
        if angle > 12:
            notes.append(f"a pitch angle of {said(angle, 'deg')} is steeper than the formulas' 12°")
        return notes


COIL_SPRING: Final = Calc(
    "coil_spring",
    "rate, stress, solid height and buckling of a helical spring in compression",
    (
        Input("wire", "diameter of the wire, in a middle coil, paint off", "mm", needed=True),
        Input("free", "free length", "mm", needed=True),
        Input("mean", "mean diameter of the coil; or outside or inside", "mm"),
        Input("outside", "outside diameter of the coil, instead", "mm"),
        Input("inside", "inside diameter of the coil, instead", "mm"),
        Input("coils", "total coils, dead ones too; or active"),
        Input("active", "coils that work, instead"),
        Input("ends", "how the ends are made", kind="text", default="squared ground",
              choices=tuple(_ENDS)),
        Input("load", "load; or height instead", "N"),
        Input("height", "height under load, instead", "mm"),
        Input("G", "shear modulus", "GPa", default="79.3", bare=modulus_unit),
        Input("E", "Young's modulus, for buckling", "GPa", default="207", bare=modulus_unit),
        Input("allowed", "allowed shear stress", "MPa"),
        Input("seat", "how the ends stand", kind="text", default="both fixed",
              choices=tuple(_SEATS)),
    ),
    (
        Output("index", "", "mean diameter by wire"),
        Output("rate", "N/mm", "load for each mm"),
        Output("rate_with_shear", "N/mm", "the same, direct shear counted"),
        Output("active", "", "coils that work"),
        Output("solid", "mm", "height with all coils touching"),
        Output("load_solid", "N", "load there"),
        Output("stress_solid", "MPa", "shear stress there, Wahl"),
        Output("load", "N", "at the height"),
        Output("deflection", "mm", "from the free length"),
        Output("height", "mm", "under the load, not below solid"),
        Output("stress", "MPa", "shear stress with Wahl's factor"),
        Output("stress_bergstraesser", "MPa", "with Bergsträsser's factor"),
        Output("stress_direct", "MPa", "with direct shear alone, for a still load"),
        Output("K_wahl", "", "Wahl's factor"),
        Output("K_bergstraesser", "", "Bergsträsser's factor"),
        Output("K_direct", "", "factor of direct shear, 1 + 0.5/C"),
        Output("stable_below", "mm", "free length below which it never buckles"),
        Output("buckles_at", "mm", "deflection at which it buckles"),
        Output("verdict", "", "stands, solid, buckles or over the allowed stress"),
    ),
    CoilSpring,
    {"wire": "14", "mean": "120", "coils": "8.5", "free": "700", "load": "4000"},
    cautions=(
        "A compressed spring is a loaded gun: spring compressors, chains or a cage, never bolts or "
        "wire, and nobody in its line.",
        "The rate goes with the fourth power of the wire: rust and wear count. Sag shows as lost "
        "free length at the same rate.",
    ),
    sources=(
        "rate, Wahl, Bergsträsser, solid heights, buckling: Shigley, Mechanical Engineering "
        "Design, ch. 10",
    ),
    convention="coil diameter is the mean one, outside less one wire; round wire of one pitch, no "
    "cones",
)  # fmt: skip
