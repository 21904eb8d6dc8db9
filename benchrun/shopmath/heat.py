"""Heat and fits: how hot to make a part so that it slides on, and what a warm part loses."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import as_microns_or_mm
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows

_HEATED: Final = {
    "bearing": "bearing",
    "open bearing": "bearing",
    "sealed": "sealed",
    "sealed bearing": "sealed",
    "aluminium": "aluminium",
    "aluminium carrier": "aluminium",
    "iron": "iron",
    "iron carrier": "iron",
    "steel": "steel",
    "steel carrier": "steel",
}
_STANDS: Final = {
    "bearing": "an open bearing",
    "sealed": "a sealed bearing",
    "aluminium": "this aluminium part",
    "iron": "this iron part",
    "steel": "this steel part",
}
_FIXED_CAPS: Final = {"bearing", "sealed"}
# Groups that a restorer names without knowing the alloy, and the row that stands for them.
_COMMON: Final = {
    "bearing steel": "bearing steel (ring/ball)",
    "steel": "steel A36/1020",
    "cast iron": "grey iron G1800/G3000/G4000",
    "iron": "grey iron G1800/G3000/G4000",
    "grey iron": "grey iron G1800/G3000/G4000",
    "ductile iron": "ductile 60-40-18",
    "cast aluminium": "aluminium 356.0 cast",
    "aluminium": "aluminium 6061",
    "stainless": "stainless 304",
    "brass": "brass C36000",
    "bronze": "bearing bronze C93200",
}
# What is heated says its own metal, so that it is not asked for twice.
_OF_HEATED: Final = {
    "bearing": "bearing steel",
    "sealed": "bearing steel",
    "aluminium": "aluminium",
    "iron": "iron",
    "steel": "steel",
}


def alpha_unit(value: Decimal) -> str:
    """The unit of an expansion coefficient typed without one: under 0.001 it is per kelvin."""
    return "/K" if abs(value) < Decimal("0.001") else "µm/m/K"


def expansion_of(material: str) -> tuple[Decimal, str]:
    """Expansion coefficient of a material in µm/m/K, and where the figure comes from.

    Raises:
        BenchrunError: The table has no such material.
    """
    wanted = " ".join(material.casefold().replace("aluminum", "aluminium").split())
    wanted = _COMMON.get(wanted, wanted).casefold()
    for row in table_rows("thermal_expansion"):
        if row["material"].casefold() == wanted:
            return Decimal(row["alpha"]), f"{row['material']}: {row['source']}"
    names = [*_COMMON, *(row["material"] for row in table_rows("thermal_expansion"))]
    raise BenchrunError(f"material {material[:30]!r} is not in the table: {', '.join(names)}")


def _expansion(name: str, alpha: Decimal | None, material: str | None) -> tuple[Decimal, list[str]]:
    if alpha is not None:
        between(name, alpha, "µm/m/K", "0.5", 40, "metals expand by")
        return alpha, []
    if material is None:
        raise BenchrunError(f"give {name} or the material")
    value, source = expansion_of(material)
    return value, [source]


def heat_to_fit(
    diameter: Decimal,
    interference: Decimal,
    heated: str,
    clearance: Decimal = Decimal(0),
    alpha: Decimal | None = None,
    material: str | None = None,
    room: Decimal = Decimal(20),
    cap: Decimal | None = None,
) -> Result:
    """How hot a part must be to slide over a larger one.

    rise = (interference + clearance) / (alpha × diameter); heat_to = room + rise.

    Args:
        diameter: Diameter of the fit, mm.
        interference: Diametral interference at room temperature, mm; the largest possible.
        heated: `bearing`, `sealed` (bearing with seals or grease), `aluminium`, `iron`, `steel`
            (the carrier's or hub's metal).
        clearance: Diametral clearance wanted while it slides, mm.
        alpha: Expansion of the heated part, µm/m/K.
        material: Its material, when another than `heated` says; a bearing is bearing steel.
        room: Temperature of the room and of the other part, °C.
        cap: The heated part's own highest temperature, °C; may lower a bearing's, never raise it.

    Returns:
        rise in K and heat_to in °C.

    Raises:
        BenchrunError: It would have to be hotter than what is heated stands.
    """
    heated = _HEATED.get(heated, heated)
    positive("diameter", diameter, "mm")
    for name, gap in (("interference", interference), ("clearance", clearance)):
        if not 0 <= gap <= diameter / 100:
            raise BenchrunError(
                f"{name} is {said(gap, 'mm')}: it must lie between 0 and 1 % of the diameter"
            )
    between("room", room, "degC", -40, 60, "a workshop is not colder or hotter")
    rate, sources = _expansion("alpha", alpha, material or _OF_HEATED.get(heated))
    limit, cap_source = _cap(heated, cap)
    rise = (interference + clearance) * 10**6 / (rate * diameter)
    heat_to = room + rise
    sum_ = (
        f"({said(interference * 1000, 'µm')} + {said(clearance * 1000, 'µm')}) ÷ "
        f"({said(rate, 'µm/m/K')} × {said(diameter, 'mm')}) = {said(rise, 'K')}; "
        f"room {said(room, 'degC')} + {said(rise, 'K')} = {said(heat_to, 'degC')}"
    )
    if heat_to > limit:
        raise BenchrunError(
            f"{sum_}: over the {said(limit, 'degC')} that {_STANDS[heated]} stands; "
            "cool the inner part, check the sizes, or press"
        )
    notes = [f"the highest for {_STANDS[heated]} is {said(limit, 'degC')}"]
    if not clearance:
        notes.append("no clearance was asked for: add some 20 to 30 K so that it slides")
    return Result(
        {"rise": Amount(rise, "K"), "heat_to": Amount(heat_to, "degC")},
        workings=(sum_,),
        notes=tuple(notes),
        sources=(*sources, cap_source),
    )


def _cap(heated: str, own: Decimal | None) -> tuple[Decimal, str]:
    row = next((row for row in table_rows("heating_caps") if row["heated"] == heated), None)
    if row is None:
        raise BenchrunError(f"heated {heated[:20]!r} is none of {', '.join(_HEATED)}")
    limit = Decimal(row["cap_degC"])
    if own is None:
        return limit, f"highest temperature: {row['source']}"
    if heated in _FIXED_CAPS and own > limit:
        raise BenchrunError(
            f"cap {said(own, 'degC')} is over the {said(limit, 'degC')} that "
            f"{_STANDS[heated]} stands"
        )
    between("cap", own, "degC", 30, 300, "a part that is heated to slide stands")
    return own, "highest temperature: as given"


def loss_of_fit(
    diameter: Decimal,
    rise: Decimal,
    alpha_outer: Decimal | None = None,
    alpha_inner: Decimal | None = None,
    material_outer: str | None = None,
    material_inner: str | None = None,
    interference: Decimal | None = None,
) -> Result:
    """The interference that a fit of two materials gains or loses when both get warm.

    change = (alpha_inner − alpha_outer) × diameter × rise; minus is interference lost.

    Args:
        diameter: Diameter of the fit, mm.
        rise: Rise of temperature of both parts, K; minus when they get colder.
        alpha_outer: Expansion of the outer part, µm/m/K.
        alpha_inner: Expansion of the inner part, µm/m/K.
        material_outer: Material of the outer part, when alpha_outer is not given.
        material_inner: Material of the inner part, when alpha_inner is not given.
        interference: Interference when cold, mm, to see what is left.

    Returns:
        change in µm, and left in µm where an interference is given.

    Raises:
        BenchrunError: An input is outside physics.
    """
    positive("diameter", diameter, "mm")
    between("rise", rise, "K", -250, 500, "the coefficients hold for a rise of")
    outer, outer_source = _expansion("alpha_outer", alpha_outer, material_outer)
    inner, inner_source = _expansion("alpha_inner", alpha_inner, material_inner)
    change = (inner - outer) * diameter * rise / 1000
    outputs = {"change": Amount(change, "µm")}
    workings = [
        f"({said(inner, '')} − {said(outer, '')}) µm/m/K × {said(diameter, 'mm')} × "
        f"{said(rise, 'K')} = {said(change, 'µm')}"
    ]
    notes = ["minus means that interference is lost"]
    if interference is not None:
        left = interference * 1000 + change
        outputs["left"] = Amount(left, "µm")
        workings.append(
            f"{said(interference * 1000, 'µm')} + ({said(change, 'µm')}) = {said(left, 'µm')}"
        )
        if left <= 0:
            notes.append("nothing holds the part when warm")
    return Result(outputs, tuple(workings), tuple(notes), (), (*outer_source, *inner_source))


HEAT_TO_FIT: Final = Calc(
    "heat_to_fit",
    "how hot to make a part so that it slides on without a press",
    (
        Input("diameter", "diameter of the fit", "mm", needed=True),
        Input("interference", "the most, diametral", "mm", needed=True, bare=as_microns_or_mm),
        Input("clearance", "gap wanted while it slides", "mm", default="0", bare=as_microns_or_mm),
        Input("alpha", "expansion of what is heated", "µm/m/K", bare=alpha_unit),
        Input("material", "its alloy, when not the metal that heated says", kind="text"),
        Input("room", "temperature of the room", "degC", default="20"),
        Input("heated", "what is heated", kind="text", needed=True, choices=tuple(_HEATED)),
        Input("cap", "its own highest temperature, from its maker", "degC"),
    ),
    (
        Output("rise", "K", "above room"),
        Output("heat_to", "degC", "temperature to reach, right through"),
    ),
    heat_to_fit,
    {
        "diameter": "50", "interference": "30 µm", "clearance": "15 µm", "alpha": "12",
        "heated": "bearing",
    },
    cautions=(
        "Hot metal burns and does not look hot: gloves, tongs, a clear way to the seat; never a "
        "flame on a bearing; degrease first, solvent off a part before it is warmed.",
        "The bearing maker's limit goes first where it is lower.",
    ),
    sources=(
        "linear thermal expansion, ΔD = α D ΔT; 20 to 30 K on top for handling: a bearing page",
    ),
)  # fmt: skip
LOSS_OF_FIT: Final = Calc(
    "loss_of_fit",
    "what a fit of two materials loses when it gets warm",
    (
        Input("diameter", "diameter of the fit", "mm", needed=True),
        Input("alpha_outer", "expansion of the outer part", "µm/m/K", bare=alpha_unit),
        Input("alpha_inner", "expansion of the inner part", "µm/m/K", bare=alpha_unit),
        Input("material_outer", "material of the outer part instead", kind="text"),
        Input("material_inner", "material of the inner part instead", kind="text"),
        Input("rise", "rise of temperature of both", "K", needed=True),
        Input("interference", "when cold, to see what is left", "mm", bare=as_microns_or_mm),
    ),
    (
        Output("change", "µm", "change of interference; minus is lost"),
        Output("left", "µm", "interference when warm"),
    ),
    loss_of_fit,
    {
        "diameter": "62",
        "material_outer": "aluminium",
        "material_inner": "bearing steel",
        "rise": "40",
    },
    cautions=("A ring that loses its fit creeps: keep to the maker's fit for that material.",),
    sources=("linear thermal expansion, ΔD = α D ΔT",),
)
