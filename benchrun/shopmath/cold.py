"""Cooling the inner part of a fit: how cold, by which coolant, and what is left to heat."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.heat import alpha_unit, expansion_of
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import as_microns_or_mm
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows

_PARTS: Final = (
    "shaft", "bush", "bearing", "precision outer ring", "sealed bearing", "bonded bush",
)  # fmt: skip
_COOLANTS: Final = ("freezer", "dry ice", "nitrogen")
_NEVER: Final = {
    "sealed bearing": "seals and grease stand no cold that any maker's sheet allows: ask the maker",
    "bonded bush": "rubber cracks and comes off its sleeve in the cold: ask the maker",
}
_CONSTANT_TO: Final = Decimal(-80)  # °C; colder, metals contract by less than their room figure


def contraction(material: str, cold: Decimal, warm: Decimal) -> tuple[Decimal, str] | None:
    """Contraction in µm/m between two temperatures in °C by a measured curve, and its source.

    None where the table has no curve for the material.
    """
    wanted = " ".join(material.casefold().replace("aluminum", "aluminium").split())
    row = next((row for row in table_rows("cold_expansion") if wanted in row["names"].split("|")),
               None)  # fmt: skip
    if row is None:
        return None
    factors = [Decimal(row[name]) for name in "abcde"]

    def length(celsius: Decimal) -> Decimal:
        kelvin = celsius + Decimal("273.15")
        return sum((factor * kelvin**power for power, factor in enumerate(factors)), Decimal(0))

    # The curve is in 1e-5 of the length.
    return (length(warm) - length(cold)) * 10, row["source"]


@lean_dataclass(frozen=True, slots=True)
class CoolToFit:
    """How cold an inner part must be to slide into a smaller hole.

    drop = (interference + clearance) / (alpha × diameter); cool_to = room − drop.

    Attributes:
        diameter: Diameter of the fit, mm.
        interference: Diametral interference at room temperature, mm; the largest possible.
        part: Kind of the inner part.
        clearance: Diametral clearance wanted while it slides, mm.
        alpha: Expansion of the inner part, µm/m/K.
        material: Its material, when alpha is not given.
        room: Temperature of the room, °C.
        coolant: `freezer`, `dry ice` or `nitrogen`.
        coldest: Coldest that the part gets, °C, instead of the coolant's own.
        alpha_outer: Expansion of the outer part, µm/m/K, to see how much to heat it.
    """

    diameter: Decimal
    interference: Decimal
    part: str = "shaft"
    clearance: Decimal = Decimal(0)
    alpha: Decimal | None = None
    material: str | None = None
    room: Decimal = Decimal(20)
    coolant: str = "dry ice"
    coldest: Decimal | None = None
    alpha_outer: Decimal | None = None

    def result(self) -> Result:
        """Work out how cold, and whether it is reached.

        Returns:
            drop K, cool_to °C, limit °C, contraction µm at the limit, left µm for heating the
            outer part, verdict; heat_outer K with alpha_outer.

        Raises:
            BenchrunError: The part may not be cooled, or an input is outside physics.
        """
        self._check()
        rate, sources = self._expansion()
        limit, why = self._limit()
        if limit >= self.room:
            raise BenchrunError(
                f"coldest {said(limit, 'degC')} is not colder than the room's "
                f"{said(self.room, 'degC')}"
            )
        wanted = self.interference + self.clearance
        drop = wanted * 10**6 / (rate * self.diameter)
        cool_to = self.room - drop
        if cool_to < Decimal("-273.15"):
            raise BenchrunError(
                f"it would have to be {said(drop, 'K')} colder than the room, below absolute zero: "
                "heat the outer part, check the sizes, or press"
            )
        shrunk, curve = self._contraction(rate, limit)
        reachable = shrunk >= wanted * 1000
        left = max(wanted * 1000 - shrunk, Decimal(0))
        outputs = {
            "drop": Amount(drop, "K"),
            "cool_to": Amount(cool_to, "degC"),
            "limit": Amount(limit, "degC"),
            "contraction": Amount(shrunk, "µm"),
            "left": Amount(left, "µm"),
            "verdict": Amount("reachable" if reachable else "not reachable"),
        }
        notes = [why, "the part warms in seconds once it is handled: allow for it"]
        if not reachable:
            notes.append(
                f"at {said(limit, 'degC')} {said(left, 'µm')} are left: heat the outer part as "
                "well, or press"
            )
        if self.alpha_outer is not None:
            between("alpha_outer", self.alpha_outer, "µm/m/K", "0.5", 40, "metals expand by")
            outputs["heat_outer"] = Amount(left * 1000 / (self.alpha_outer * self.diameter), "K")
        if not curve and cool_to < _CONSTANT_TO:
            notes.append(
                "one expansion figure down to here: metals contract by 5 to 10 % less (from "
                "memory); go colder than the sum says"
            )
        return Result(outputs, (self._sum(rate, drop, cool_to),), tuple(notes), (),
                      (*sources, *curve))  # fmt: skip

    def _sum(self, rate: Decimal, drop: Decimal, cool_to: Decimal) -> str:
        return (
            f"({said(self.interference * 1000, 'µm')} + {said(self.clearance * 1000, 'µm')}) ÷ "
            f"({said(rate, 'µm/m/K')} × {said(self.diameter, 'mm')}) = {said(drop, 'K')}; room "
            f"{said(self.room, 'degC')} − {said(drop, 'K')} = {said(cool_to, 'degC')}"
        )

    def _check(self) -> None:
        if self.part in _NEVER:
            raise BenchrunError(f"a {self.part} is not cooled: {_NEVER[self.part]}")
        positive("diameter", self.diameter, "mm")
        positive("interference", self.interference, "mm")
        for name, gap in (("interference", self.interference), ("clearance", self.clearance)):
            if not 0 <= gap <= self.diameter / 100:
                raise BenchrunError(
                    f"{name} is {said(gap, 'mm')}: it must lie between 0 and 1 % of the diameter; "
                    "it is the difference of the diameters, not of the radii"
                )
        between("room", self.room, "degC", -40, 60, "a workshop is not colder or hotter")

    def _expansion(self) -> tuple[Decimal, tuple[str, ...]]:
        if self.alpha is not None:
            between("alpha", self.alpha, "µm/m/K", "0.5", 40, "metals expand by")
            return self.alpha, ()
        material = self.material
        if material is None and self.part in {"bearing", "precision outer ring"}:
            material = "bearing steel"
        if material is None:
            raise BenchrunError("give alpha or the material of the INNER part")
        rate, source = expansion_of(material)
        return rate, (source,)

    def _limit(self) -> tuple[Decimal, str]:
        """The coldest that coolant and part allow, in °C, and why."""
        limits = {row["item"]: row for row in table_rows("cold_limits")}
        cold = limits[self.coolant]
        degrees, why = Decimal(cold["degC"]), f"{self.coolant}: {cold['source']}"
        if self.coldest is not None:
            between("coldest", self.coldest, "degC", -196, 40, "coolants reach")
            degrees, why = self.coldest, "coldest: as given"
        own = limits.get(self.part)
        if own is not None and degrees < Decimal(own["degC"]):
            degrees, why = Decimal(own["degC"]), f"a {self.part}: {own['source']}"
        return degrees, f"not colder than {said(degrees, 'degC')}: {why}"

    def _contraction(self, rate: Decimal, limit: Decimal) -> tuple[Decimal, tuple[str, ...]]:
        """Contraction of the diameter at the limit in µm; by a curve where there is one."""
        if self.alpha is None and self.material is not None:
            curve = contraction(self.material, limit, self.room)
            if curve is not None:
                return curve[0] * self.diameter / 1000, (curve[1],)
        return rate * self.diameter * (self.room - limit) / 1000, ()


COOL_TO_FIT: Final = Calc(
    "cool_to_fit",
    "how cold to make an inner part so that it slides in",
    (
        Input("diameter", "diameter of the fit", "mm", needed=True),
        Input("interference", "the most, diametral", "mm", needed=True, bare=as_microns_or_mm),
        Input("clearance", "gap wanted while it slides", "mm", default="0", bare=as_microns_or_mm),
        Input("alpha", "expansion of the INNER part", "µm/m/K", bare=alpha_unit),
        Input("material", "its material, when alpha is not given", kind="text"),
        Input("room", "temperature of the room", "degC", default="20"),
        Input("part", "kind of the inner part", kind="text", default="shaft", choices=_PARTS),
        Input("coolant", "cooled by", kind="text", default="dry ice", choices=_COOLANTS),
        Input("coldest", "coldest that it gets, instead of the coolant's own", "degC"),
        Input("alpha_outer", "of the outer part, to heat that too", "µm/m/K", bare=alpha_unit),
    ),
    (
        Output("drop", "K", "below room"),
        Output("cool_to", "degC", "temperature to reach, right through"),
        Output("limit", "degC", "coldest that coolant and part allow"),
        Output("contraction", "µm", "of the diameter at the limit"),
        Output("left", "µm", "still missing at the limit"),
        Output("heat_outer", "K", "rise of the outer part for what is left"),
        Output("verdict", "", "reachable or not reachable"),
    ),
    CoolToFit,
    {
        "diameter": "30", "interference": "20 µm", "clearance": "10 µm", "alpha": "11.7",
        "coolant": "freezer", "alpha_outer": "23",
    },
    cautions=(
        "Cold burns: gloves, goggles, tongs. Dry ice gives off carbon dioxide and nitrogen pushes "
        "the air out of a room: work outside or with open doors, never in a closed vessel.",
        "Ice and dew: wipe and oil the part, trap no ice under a shoulder, dry it afterwards. "
        "Steel is brittle when cold: do not hammer; hardened steel may change its size for good.",
    ),
    sources=("linear thermal expansion, ΔD = α D ΔT",),
    convention="interference and clearance are on the diameter; alpha is the inner part's",
)  # fmt: skip
