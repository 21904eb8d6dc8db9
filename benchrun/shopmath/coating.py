"""Coating films: wet from dry thickness, coverage and paint, and the area to be coated."""

import re
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import read
from benchrun.quantity.unit_table import PI
from benchrun.quantity.units import decimal_of
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive

_PI: Final = decimal_of(PI)


def film(
    dft: Decimal,
    solids: Decimal,
    thinner: Decimal = Decimal(0),
    area: Decimal | None = None,
    coats: Decimal = Decimal(1),
    loss: Decimal = Decimal(0),
) -> Result:
    """Wet film for a dry film, coverage and the paint needed.

    wft = dft (1 + thinner) / solids; coverage = solids / dft × (1 − loss);
    paint = area × coats / coverage.

    Args:
        dft: Dry film of one coat, µm.
        solids: Volume solids of the paint, %, over 0 to 100.
        thinner: Thinner added, % of the paint's volume.
        area: Area, m².
        coats: Number of coats.
        loss: Share of the paint lost in brush, pot and spray, %, less than 100.

    Returns:
        wft µm, coverage and coverage_no_loss m² a litre of unthinned paint, and with an area:
        paint and thinner in ml. Coverage and paint count the loss.

    Raises:
        BenchrunError: Solids over 100 %, or another input that no paint has.
    """
    _check_film(dft, solids, thinner, coats, loss)
    wft = dft * (100 + thinner) / solids
    full = 10 * solids / dft
    coverage = full * (100 - loss) / 100
    outputs = {
        "wft": Amount(wft, "µm"),
        "coverage": Amount(coverage, "m²/l"),
        "coverage_no_loss": Amount(full, "m²/l"),
    }
    workings = [
        f"{said(dft, 'µm')} × {said(100 + thinner, '%')} ÷ {said(solids, '%')} = "
        f"{said(wft, 'µm')} wet"
    ]
    notes = ["dry and wet film are of one coat; coverage is of paint before thinning"]
    notes += [
        f"{name} was taken as {said(value, '%')}, less than one per cent"
        for name, value in (("solids", solids), ("thinner", thinner), ("loss", loss))
        if 0 < value < 1
    ]
    if area is not None:
        positive("area", area, "m²")
        paint = area * coats / coverage * 1000
        outputs["paint"] = Amount(paint, "ml")
        outputs["thinner"] = Amount(paint * thinner / 100, "ml")
        workings.append(
            f"{said(area, 'm²')} × {said(coats, '')} ÷ {said(coverage, 'm²/l')} = "
            f"{said(paint, 'ml')}"
        )
    return Result(outputs, tuple(workings), tuple(notes))


def _check_film(
    dft: Decimal, solids: Decimal, thinner: Decimal, coats: Decimal, loss: Decimal
) -> None:
    between("dft", dft, "µm", "0.1", 10000, "a dry film lies between")
    if not 0 < solids <= 100:
        raise BenchrunError(f"solids is {said(solids, '%')}: over 0 and up to 100 % is possible")
    between("thinner", thinner, "%", 0, 100, "a share of the paint's volume lies between")
    if not 0 <= loss < 100:
        raise BenchrunError(f"loss is {said(loss, '%')}: 0 and more, less than 100 % is possible")
    if coats < 1 or coats != int(coats):
        raise BenchrunError(f"coats is {said(coats, '')}: a whole number from 1 is meant")


@lean_dataclass(frozen=True, slots=True)
class _Shape:
    """A simple shape: the names of its sizes in typed order, and what its area is made of."""

    sizes: tuple[str, ...]
    formula: str


_SHAPES: Final = {
    "plate": _Shape(("length", "width"), "both faces: 2 L W"),
    "face": _Shape(("length", "width"), "one face: L W"),
    "box": _Shape(("length", "width", "height"), "all six faces: 2 (LW + LH + WH)"),
    "disc": _Shape(("diameter",), "both faces: 2 pi D²/4"),
    "ring": _Shape(("diameter", "inside"), "both faces: 2 pi (D² - d²)/4"),
    "tube": _Shape(("diameter", "length"), "outside alone, no ends: pi D L"),
    "bar": _Shape(("diameter", "length"), "round, with both ends: pi D L + 2 pi D²/4"),
    "ball": _Shape(("diameter",), "pi D²"),
}
_ITEM: Final = re.compile(
    r"(?:(?P<before>[0-9]{1,4}) ?[x×*]? ?)?(?P<kind>[a-z]+)s? +(?P<sizes>[^*]+?)"
    r"(?: *\* *(?P<after>[0-9]{1,4}))?",
    re.ASCII,
)


def area_of(shape: str, sizes: tuple[Decimal, ...]) -> Decimal:
    """Area in mm² of one piece of a simple shape.

    Args:
        shape: plate, face, box, disc, ring, tube, bar or ball.
        sizes: Its sizes in mm, in the order that `area` says.

    Raises:
        BenchrunError: No such shape, or its sizes do not make one.
    """
    form = _SHAPES.get(shape)
    if form is None:
        raise BenchrunError(f"shape {shape[:20]!r} is none of {', '.join(_SHAPES)}")
    if len(sizes) != len(form.sizes):
        raise BenchrunError(f"a {shape} takes {' x '.join(form.sizes)}")
    for name, size in zip(form.sizes, sizes, strict=True):
        positive(name, size, "mm")
    first, second, third = (*sizes, Decimal(0), Decimal(0))[:3]
    if shape == "ring" and second >= first:
        raise BenchrunError(f"inside {said(second, 'mm')} is not less than {said(first, 'mm')}")
    areas = {
        "plate": 2 * first * second,
        "face": first * second,
        "box": 2 * (first * second + first * third + second * third),
        "disc": _PI * first**2 / 2,
        "ring": _PI * (first**2 - second**2) / 2,
        "tube": _PI * first * second,
        "bar": _PI * first * second + _PI * first**2 / 2,
        "ball": _PI * first**2,
    }
    return areas[shape]


def area(shapes: str) -> Result:
    """Area of simple shapes, for `film`.

    Args:
        shapes: Items apart by semicolons, sizes in mm by x: `2 tube 60x400; disc 150; plate
            300x200`. A plate and a disc count both faces, a tube its outside alone.

    Returns:
        area in m².

    Raises:
        BenchrunError: An item is no shape.
    """
    total, workings = Decimal(0), []
    for item in filter(None, (part.strip() for part in shapes.split(";"))):
        match = _ITEM.fullmatch(item.casefold())
        if match is None:
            raise BenchrunError(f"{item[:40]!r} is not a shape such as 2 tube 60x400")
        kind = match["kind"] if match["kind"] in _SHAPES else match["kind"].rstrip("s")
        pieces = int(match["before"] or 1) * int(match["after"] or 1)
        if pieces < 1:
            raise BenchrunError(f"{item[:40]!r}: no piece is no area")
        parts = re.split(r" *[x×] *", match["sizes"].strip())
        square = area_of(kind, tuple(read(part, "mm").to("mm") for part in parts)) / 10**6
        total += pieces * square
        workings.append(
            f"{pieces} × {kind} {match['sizes'].strip()} = {said(pieces * square, 'm²')}"
        )
    if not workings:
        raise BenchrunError("type shapes such as 2 tube 60x400; disc 150; plate 300x200")
    return Result(
        {"area": Amount(total, "m²")},
        tuple(workings),
        ("webs, ribs and edges add: castings have some 10 to 30 % more",),
    )


def _solids_unit(value: Decimal) -> str:
    """Per cent; a share such as 0.6 is asked about, for no paint has 0.6 % of solids.

    Raises:
        BenchrunError: It is less than one.
    """
    if 0 < value < 1:
        raise BenchrunError(
            f"was {said(value * 100, '%')} meant? Type {said(value * 100, '')}; for less than one "
            f"per cent type {said(value, '%')}"
        )
    return "%"


FILM: Final = Calc(
    "film",
    "wet film for a dry film, coverage and paint needed",
    (
        Input("dft", "dry film of one coat", "µm", needed=True),
        Input("solids", "volume solids of the paint", "%", needed=True, bare=_solids_unit),
        Input("thinner", "thinner, share of the paint's volume", "%", default="0"),
        Input("area", "area to coat", "m²"),
        Input("coats", "number of coats", default="1"),
        Input("loss", "lost in brush, pot and spray", "%", default="0"),
    ),
    (
        Output("wft", "µm", "wet film to comb, one coat"),
        Output("coverage", "m²/l", "of paint before thinning, loss counted"),
        Output("coverage_no_loss", "m²/l", "the same without loss"),
        Output("paint", "ml", "paint for all coats, loss counted"),
        Output("thinner", "ml", "thinner for it"),
    ),
    film,
    {"dft": "75", "solids": "60", "thinner": "10", "area": "0.8", "coats": "2", "loss": "20"},
    cautions=("Solvent burns and its vapour harms: air, no flame; the data sheet goes first.",),
    sources=("WFT = DFT (1 + thinner) / volume solids; coverage = 10 VS% / DFT: coating pages",),
)
AREA: Final = Calc(
    "area",
    "area of simple shapes, for film",
    (
        Input("shapes", "2 tube 60x400; disc 150; plate 300x200", kind="text", needed=True),
    ),
    (Output("area", "m²", "of all pieces"),),
    area,
    {"shapes": "2 tube 60x400; 4 disc 150; plate 300x200"},
    sources=(
        "geometry: " + "; ".join(f"{name} {shape.formula}" for name, shape in _SHAPES.items()),
        "10 to 30 % for ribs: common practice, no source",
    ),
)  # fmt: skip
