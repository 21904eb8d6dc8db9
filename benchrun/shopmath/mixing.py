"""Baths and paints: diluting a stock and mixing two packs with thinner."""

import re
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import Measure, dimension, read
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import positive

_BASES: Final = ("w/w", "w/v", "v/v")
_WATER: Final = Decimal("0.998")  # g/ml at 20 °C
_PARTS_TYPED: Final = re.compile(
    r"([0-9]{1,4}(?:[.,][0-9]+)?)\s*(:|\+|in|to)\s*([0-9]{1,5}(?:[.,][0-9]+)?)", re.IGNORECASE
)
_BASIS_TYPED: Final = re.compile(r"(.*?)\s*\(?([wvm]/[wvm])\)?", re.IGNORECASE)


def strength_of(name: str, text: str, basis: str) -> Decimal:
    """Read a strength in per cent; a basis typed with it must be the calculation's.

    Raises:
        BenchrunError: It is another basis, or no strength.
    """
    match = _BASIS_TYPED.fullmatch(text.strip())
    number, typed = (match[1], match[2].lower().replace("m", "w")) if match else (text, basis)
    if typed != basis:
        raise BenchrunError(
            f"{name} is {typed} and basis is {basis}: mixed bases do not dilute by one rule; bring "
            "both to one (w/v = w/w × density in g/ml)"
        )
    value = read(number, "%").value
    if basis != "w/v" and value > 100:
        raise BenchrunError(f"{name} is {said(value, '%')}: nothing is stronger than 100 % {basis}")
    if value <= 0 or value > 300:
        raise BenchrunError(f"{name} is {said(value, '%')}: that is no strength")
    return value


def dilution_of(text: str) -> Decimal | None:
    """The share of stock in a bath told in parts: `1+10` a eleventh, `1 in 10` a tenth.

    None where no parts are told.

    Raises:
        BenchrunError: The parts are joined by a colon, which is said both ways.
    """
    match = _PARTS_TYPED.fullmatch(text.strip())
    if match is None:
        return None
    stock, other = (Decimal(match[place].replace(",", ".")) for place in (1, 3))
    if match[2] in {":", "to"}:
        raise BenchrunError(
            f"{text.strip()[:20]!r} is said both ways: type {match[1]}+{match[3]} for "
            f"{match[3]} parts of water, or {match[1]} in {match[3]} for {match[3]} of bath"
        )
    whole = stock + other if match[2] == "+" else other
    if stock <= 0 or stock > whole:
        raise BenchrunError(f"{text.strip()[:20]!r}: so much stock is not in the bath")
    return stock / whole


def amount_of(text: str, *, weighed: bool) -> Measure:
    """Read an amount as a volume or a mass: `5 l`, `1 kg`, `500`.

    Args:
        text: As typed.
        weighed: Whether a number without a unit is g instead of ml.

    Raises:
        BenchrunError: It is neither, or nothing.
    """
    try:
        measure = read(text, "g" if weighed else "ml")
    except BenchrunError as refused:
        try:
            measure = read(text, "ml" if weighed else "g")
        except BenchrunError:
            raise refused from None
    positive("amount", measure.value, measure.unit)
    return measure


def dilute(
    basis: str,
    stock: str,
    target: str,
    amount: str,
    stock_density: Decimal | None = None,
    mix_density: Decimal | None = None,
) -> Result:
    """How much stock and water make an amount of a weaker bath.

    w/w: stock mass = mix mass × target / stock. w/v and v/v: stock volume = mix volume × target /
    stock. The rest is water: by mass where masses are known, else made up to the volume.

    Args:
        basis: `w/w` (mass in mass), `w/v` (g in 100 ml) or `v/v` (volume in volume).
        stock: Strength of the stock, %.
        target: Strength wanted, %, not above the stock's; or parts of stock: `1+10` with ten
            parts of water, `1 in 10` in ten of bath.
        amount: Amount of bath wanted, a volume or a mass.
        stock_density: g/ml, to have the stock by mass and by volume.
        mix_density: g/ml of the finished bath, to go between its mass and its volume.

    Returns:
        stock_mass, stock_volume, water_mass, water_volume, mix_mass, mix_volume, as far as the
        densities allow; g and ml.

    Raises:
        BenchrunError: Mixed bases, a target above the stock, or a density missing.
    """
    strong = strength_of("stock", stock, basis)
    share = dilution_of(target)
    weak = strength_of("target", target, basis) if share is None else strong * share
    if weak > strong:
        raise BenchrunError(
            f"target {said(weak, '%')} is above stock {said(strong, '%')}: water does not "
            "strengthen it"
        )
    for name, density in (("stock_density", stock_density), ("mix_density", mix_density)):
        if density is not None and not Decimal("0.5") <= density <= 3:
            raise BenchrunError(f"{name} is {said(density, 'g/ml')}: baths have 0.5 to 3 g/ml")
    mass, volume = _mass_and_volume(amount_of(amount, weighed=basis == "w/w"), mix_density)
    whole, unit = (mass, "g") if basis == "w/w" else (volume, "ml")
    if whole is None:
        raise BenchrunError(
            f"a {basis} bath is {'weighed' if unit == 'g' else 'measured'}: give amount as a "
            f"{'mass' if unit == 'g' else 'volume'}, or mix_density too"
        )
    part = whole * weak / strong
    stock_mass, stock_volume = _both(part, stock_density, weighed=unit == "g")
    water = mass - stock_mass if mass is not None and stock_mass is not None else None
    if water is not None and water < 0:
        raise BenchrunError("the densities leave no room for water: look at them")
    notes = ["order: water first, then the acid or caustic into the water, slowly, never reversed"]
    if water is None:
        notes.append(f"make up with water to {said(whole, 'ml')}: volumes do not add up exactly")
    return Result(
        _amounts(stock_mass, stock_volume, water, mass, volume),
        (f"{said(whole, unit)} × {said(weak, '%')} ÷ {said(strong, '%')} = {said(part, unit)}",),
        tuple(notes),
    )


def _both(
    part: Decimal, density: Decimal | None, *, weighed: bool
) -> tuple[Decimal | None, Decimal | None]:
    """Mass and volume of a part that was weighed or measured, as far as its density is known."""
    if weighed:
        return part, part / density if density else None
    return part * density if density else None, part


def _mass_and_volume(
    measure: Measure, density: Decimal | None
) -> tuple[Decimal | None, Decimal | None]:
    weighed = dimension(measure.unit) == "mass"
    return _both(measure.to("g" if weighed else "ml"), density, weighed=weighed)


def _amounts(
    stock_mass: Decimal | None,
    stock_volume: Decimal | None,
    water: Decimal | None,
    mass: Decimal | None,
    volume: Decimal | None,
) -> dict[str, Amount]:
    water_volume = None if water is None else water / _WATER
    if water is None and volume is not None and stock_volume is not None:
        water_volume = volume - stock_volume
    found = (
        ("stock_mass", stock_mass, "g"),
        ("stock_volume", stock_volume, "ml"),
        ("water_mass", water, "g"),
        ("water_volume", water_volume, "ml"),
        ("mix_mass", mass, "g"),
        ("mix_volume", volume, "ml"),
    )
    return {name: Amount(value, unit) for name, value, unit in found if value is not None}


def ratio_of(text: str) -> tuple[Decimal, ...]:
    """Read a mixing ratio of two parts or three: `2:1`, `4 to 1`, `100:12.5`, `4:1:1`.

    Raises:
        BenchrunError: It is no such ratio.
    """
    parts = re.split(r"\s*(?::|\bto\b)\s*", text.strip())
    if len(parts) not in {2, 3}:
        raise BenchrunError(f"{text[:20]!r} is not a ratio such as 4:1, or 4:1:1 with thinner")
    numbers = tuple(read(part, "").value for part in parts)
    if min(numbers) <= 0:
        raise BenchrunError(f"{text[:20]!r}: every part must be more than nothing")
    return numbers


def mix(
    ratio: str,
    amount: str,
    by: str = "volume",
    thinner: Decimal = Decimal(0),
    thinner_of: str = "mixed",
    base_density: Decimal | None = None,
    hardener_density: Decimal | None = None,
    thinner_density: Decimal | None = None,
) -> Result:
    """Amounts of base, hardener and thinner for a two-pack coating.

    Args:
        ratio: Base to hardener, `4:1`; or with the thinner as third part, `4:1:1`.
        amount: Ready mixture wanted, thinner counted: a volume, or a mass.
        by: Whether ratio and thinner are by `volume` or by `mass`.
        thinner: Thinner, %.
        thinner_of: What it is a share of: `mixed` (base and hardener), `base`, or `total`.
        base_density: g/ml, to have volumes and masses.
        hardener_density: g/ml.
        thinner_density: g/ml.

    Returns:
        base, hardener, thinner in ml and base_mass, hardener_mass, thinner_mass in g, as far as
        the densities allow; ratio_by_mass or ratio_by_volume: the other way's base to one
        hardener.

    Raises:
        BenchrunError: A density is missing to go from mass to volume, or a share cannot be.
    """
    parts = _parts(ratio, thinner, thinner_of)
    densities = (base_density, hardener_density, thinner_density)
    _check_densities(densities)
    wanted = amount_of(amount, weighed=by == "mass")
    by_volume = by == "volume"
    same = (dimension(wanted.unit) == "volume") == by_volume
    # The size of one share in the ratio's own way (ml or g), and in the way of the amount.
    weights = [
        _crossed(part, rho, by_volume=by_volume) for part, rho in zip(parts, densities, strict=True)
    ]
    counted = parts if same else weights
    if any(part is None for part in counted):
        raise BenchrunError("give the densities too: the amount is not in the ratio's own way")
    scale = wanted.to("ml" if dimension(wanted.unit) == "volume" else "g") / sum(
        part for part in counted if part is not None
    )
    own = [part * scale for part in parts]
    other = [None if part is None else part * scale for part in weights]
    volumes, masses = (own, other) if by_volume else (other, own)
    outputs = _named("", volumes, "ml") | _named("_mass", masses, "g")
    if weights[0] is not None and weights[1] is not None:
        name = "ratio_by_mass" if by_volume else "ratio_by_volume"
        outputs[name] = Amount(weights[0] / weights[1], "")
    unit = "ml" if by_volume else "g"
    three_parts = len(ratio_of(ratio)) == 3
    how = ratio.strip() if three_parts else f"{ratio} with {said(thinner, '%')} thinner"
    note = (
        "the third part of the ratio is thinner"
        if three_parts
        else f"the share of thinner is of {_OF[thinner_of]}"
    )
    whole = said(sum(own, Decimal(0)), unit)
    working = f"{how}: {' + '.join(said(part, unit) for part in own)} = {whole}"
    return Result(outputs, (working,), (note,))


def _check_densities(densities: tuple[Decimal | None, ...]) -> None:
    for name, density in zip(("base", "hardener", "thinner"), densities, strict=True):
        if density is not None and not Decimal("0.5") <= density <= 5:
            raise BenchrunError(f"{name}_density is {said(density, 'g/ml')}: 0.5 to 5 is possible")


_OF: Final = {
    "mixed": "base and hardener together",
    "base": "the base alone",
    "total": "the ready mixture",
}


def _parts(ratio: str, thinner: Decimal, thinner_of: str) -> tuple[Decimal, Decimal, Decimal]:
    base, hardener, *third = ratio_of(ratio)
    if third:
        if thinner:
            raise BenchrunError(
                f"{ratio.strip()} tells the thinner already, as its third part: name no thinner"
            )
        return base, hardener, third[0]
    most = 100 if thinner_of == "total" else 200
    if not 0 <= thinner < most:
        raise BenchrunError(f"thinner is {said(thinner, '%')}: 0 and more, under {most} % is meant")
    shares = {
        "mixed": (base + hardener) * thinner / 100,
        "base": base * thinner / 100,
        "total": (base + hardener) * thinner / (100 - thinner) if thinner < 100 else Decimal(0),
    }
    return base, hardener, shares[thinner_of]


def _crossed(part: Decimal, density: Decimal | None, *, by_volume: bool) -> Decimal | None:
    """A part in the other way: mass of a volume, or volume of a mass; nothing stays nothing."""
    if part == 0:
        return part
    if density is None:
        return None
    return part * density if by_volume else part / density


def _named(
    suffix: str, values: list[Decimal] | list[Decimal | None], unit: str
) -> dict[str, Amount]:
    names = ("base", "hardener", "thinner")
    return {
        f"{name}{suffix}": Amount(value, unit)
        for name, value in zip(names, values, strict=True)
        if value is not None
    }


DILUTE: Final = Calc(
    "dilute",
    "how much stock and water make a weaker bath",
    (
        Input("basis", "w/w by mass, w/v g in 100 ml, v/v by volume", kind="text", needed=True,
              choices=_BASES),
        Input("stock", "strength of the stock, %", kind="text", needed=True),
        Input("target", "strength wanted, %, or 1+10, or 1 in 10", kind="text", needed=True),
        Input("amount", "bath wanted: 5 l or 1 kg", kind="text", needed=True),
        Input("stock_density", "of the stock", "g/ml"),
        Input("mix_density", "of the finished bath", "g/ml"),
    ),
    (
        Output("stock_mass", "g", "stock by mass"),
        Output("stock_volume", "ml", "stock by volume"),
        Output("water_mass", "g", "water by mass"),
        Output("water_volume", "ml", "water by volume"),
        Output("mix_mass", "g", "bath by mass"),
        Output("mix_volume", "ml", "bath by volume"),
    ),
    dilute,
    {"basis": "w/w", "stock": "85", "target": "15", "amount": "1 kg", "stock_density": "1.685"},
    cautions=(
        "Acid or caustic goes into water, slowly, stirring; water into acid boils and spits. Face "
        "shield, gauntlets, apron, eyewash within reach; the maker's safety sheet goes first.",
    ),
    sources=("mass and volume balance; water 0.998 g/ml at 20 °C; order: general chemistry",),
)  # fmt: skip
MIX: Final = Calc(
    "mix",
    "base, hardener and thinner for an amount of two-pack coating",
    (
        Input("ratio", "base to hardener, 4:1; with thinner as third part, 4:1:1", kind="text",
              needed=True),
        Input("amount", "ready mixture, thinner counted: 500 ml or 1 kg", kind="text", needed=True),
        Input("by", "ratio by volume or by mass", kind="text", default="volume",
              choices=("volume", "mass")),
        Input("thinner", "thinner", "%", default="0"),
        Input("thinner_of", "what the thinner is a share of", kind="text", default="mixed",
              choices=tuple(_OF)),
        Input("base_density", "of the base", "g/ml"),
        Input("hardener_density", "of the hardener", "g/ml"),
        Input("thinner_density", "of the thinner", "g/ml"),
    ),
    (
        Output("base", "ml", "base by volume"),
        Output("hardener", "ml", "hardener by volume"),
        Output("thinner", "ml", "thinner by volume"),
        Output("base_mass", "g", "base by mass"),
        Output("hardener_mass", "g", "hardener by mass"),
        Output("thinner_mass", "g", "thinner by mass"),
        Output("ratio_by_mass", "", "base to one hardener, by mass"),
        Output("ratio_by_volume", "", "base to one hardener, by volume"),
    ),
    mix,
    {"ratio": "2:1", "amount": "500 ml", "thinner": "10"},
    cautions=(
        "Isocyanate hardeners harm the lungs for good: air, gloves, the mask that the data sheet "
        "names; mixed paint heats in the pot, so mix little.",
    ),
    sources=("mass and volume balance; sheets differ in what thinner is a share of",),
)  # fmt: skip
