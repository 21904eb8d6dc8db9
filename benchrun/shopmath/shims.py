"""End float and shims: what the dial said, and which packs bring it inside."""

import re
from collections.abc import Iterator
from decimal import Decimal
from itertools import islice
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import in_words, read
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input, is_bare, shared_unit, split
from benchrun.shopmath.refusals import positive

_MOST_SHIMS: Final = 6
_MOST_SIZES: Final = 40
_PACKS_SAID: Final = 5
_MOST_PACKS: Final = 20000
_WIDER: Final = tuple(map(Decimal, ("0.05", "0.1", "0.2", "0.5", "1", "2", "5", "25")))  # mm
_TIMES: Final = re.compile(r"(.+?)\s*[x*×]\s*([0-9]{1,3})", re.ASCII)
_REPEAT: Final = Decimal("0.01")  # mm
_RE_MEASURE: Final = "fit the pack, settle the bearings and measure again: a sum is no measurement"
_FLOAT_CAUTION: Final = (
    "Too little float seizes a bearing, too much throws a wheel: the limits come from the maker's "
    "manual for that hub, and float is measured again after locking."
)

Pack = tuple[Decimal, ...]


def stock_of(shims: str) -> dict[Decimal, int]:
    """Read the shims in stock: `0.05 0.10x4 0.50 mm`; each mention is one piece.

    Returns:
        Thickness in mm to pieces.

    Raises:
        BenchrunError: An item is no thickness, or there are too many to try.
    """
    stock: dict[Decimal, int] = {}
    items = split(re.sub(r"\s*([x*×])\s*(?=[0-9]{1,3}(?:\s|;|,|$))", r"\1", shims))
    counted = [(match[1], int(match[2])) if (match := _TIMES.fullmatch(item)) else (item, 1)
               for item in items]  # fmt: skip
    unit = shared_unit([text for text, _ in counted])
    for text, pieces in counted:
        thickness = read(f"{text}{unit}" if is_bare(text) else text, "mm").to("mm")
        if thickness <= 0:
            raise BenchrunError(f"a shim of {said(thickness, 'mm')} is none")
        stock[thickness] = stock.get(thickness, 0) + pieces
    if not stock:
        raise BenchrunError("type the shims at hand, such as 0.05x4 0.10x2 0.50")
    if len(stock) > _MOST_SIZES:
        raise BenchrunError(f"{len(stock)} thicknesses are too many; {_MOST_SIZES} are the most")
    return stock


def packs_between(stock: dict[Decimal, int], least: Decimal, most: Decimal) -> Iterator[Pack]:
    """All packs of up to six shims whose sum lies between two thicknesses, fewest shims first.

    Args:
        stock: Thickness in mm to pieces.
        least: Thinnest pack, mm.
        most: Thickest pack, mm.
    """
    sizes = sorted(stock, reverse=True)
    if least <= 0 <= most:
        yield ()
    for number in range(1, _MOST_SHIMS + 1):
        yield from _of_number(sizes, stock, number, least, most, 0)


def _of_number(
    sizes: list[Decimal], stock: dict[Decimal, int], number: int, least: Decimal, most: Decimal,
    start: int,
) -> Iterator[Pack]:  # fmt: skip
    if number == 0:
        if least <= 0 <= most:
            yield ()
        return
    for index in range(start, len(sizes)):
        size = sizes[index]
        if size * number < least:
            return  # the sizes fall from here on, so no pack can be thick enough
        if sizes[-1] * (number - 1) + size > most:
            continue
        for pieces in range(min(stock[size], number), 0, -1):
            rest = _of_number(
                sizes,
                stock,
                number - pieces,
                least - pieces * size,
                most - pieces * size,
                index + 1,
            )
            for pack in rest:
                yield (size,) * pieces + pack


def stock_of_pieces(each: tuple[Decimal, ...]) -> dict[Decimal, int]:
    """The shims in stock from the thickness of each piece, mm; 0 stands for none.

    Raises:
        BenchrunError: None is above 0, one is below, or there are too many to try.
    """
    if any(size < 0 for size in each):
        raise BenchrunError("a shim is not thinner than nothing")
    stock: dict[Decimal, int] = {}
    for size in each:
        if size:
            stock[size] = stock.get(size, 0) + 1
    if not stock:
        raise BenchrunError("measure the shims at hand, the fitted ones too")
    if len(stock) > _MOST_SIZES:
        raise BenchrunError(f"{len(stock)} thicknesses are too many; {_MOST_SIZES} are the most")
    return stock


def shim(
    float_: Decimal,
    pack: Decimal,
    low: Decimal,
    high: Decimal,
    sense: str,
    shims: str | None = None,
    each: tuple[Decimal, ...] | None = None,
) -> Result:
    """Which packs of the shims at hand bring a measured float between its limits.

    Where more pack gives more float, new float = float + (new pack − pack); else minus.
    Fewest shims come first, among them the pack nearest the middle.

    Args:
        float_: Float as measured with the pack that is fitted, mm; minus is preload.
        pack: That pack, mm.
        low: Least float wanted, mm.
        high: Most float wanted, mm.
        sense: `more` (or `yes`, `+`) when more pack gives more float, `less` (`no`, `-`) when
            it gives less.
        shims: Shims at hand, those of the fitted pack too: `0.05x4 0.10 0.50`.
        each: The thickness of each of them instead, mm, as measured; 0 for none.

    Returns:
        pack and shims of the best pack, float_after, change of the pack, packs (how many land
        inside, in words), the pack for the middle, and the pack nearest to that; without a pack
        inside, it says none, and nearest is the pack that misses least.

    Raises:
        BenchrunError: The limits run backwards, no shims are given or both ways, or nothing
            could be a pack.
    """
    if low > high:
        raise BenchrunError(f"low {said(low, 'mm')} is above high {said(high, 'mm')}")
    if pack < 0:
        raise BenchrunError(f"pack is {said(pack, 'mm')}: a pack is not less than nothing")
    sign = 1 if sense in {"more", "yes", "+"} else -1
    middle = (low + high) / 2
    aim = pack + sign * (middle - float_)
    ends = sorted((pack + sign * (low - float_), pack + sign * (high - float_)))
    if ends[1] < 0:
        raise BenchrunError(
            f"the float wants a pack of {said(aim, 'mm')}: less than no shims; look at sense, or "
            "at the seats"
        )
    if (shims is None) == (each is None):
        raise BenchrunError("give the shims at hand, as shims or as each, not both")
    stock = stock_of(shims) if shims is not None else stock_of_pieces(each or ())
    packs = list(islice(packs_between(stock, *ends), _MOST_PACKS))
    packs.sort(key=lambda shims_: (len(shims_), abs(sum(shims_, Decimal(0)) - aim)))
    workings = (
        f"{said(pack, 'mm')} {'+' if sign > 0 else '−'} ({said(middle, 'mm')} − "
        f"{said(float_, 'mm')}) = {said(aim, 'mm')} for the middle; "
        f"{said(ends[0], 'mm')} to {said(ends[1], 'mm')} land inside",
    )
    if not packs:
        return _none(aim, ends, workings, _nearest(stock, aim, ends))
    return _best(packs, pack, float_, sign, aim, workings)


def _best(
    packs: list[Pack], pack: Decimal, float_: Decimal, sign: int, aim: Decimal,
    workings: tuple[str, ...],
) -> Result:  # fmt: skip
    total = sum(packs[0], Decimal(0))
    said_packs = [
        f"{_listed(shims)} = {said(sum(shims, Decimal(0)), 'mm')}" for shims in packs[:_PACKS_SAID]
    ]
    outputs = {
        "pack": Amount(total, "mm"),
        "shims": Amount(_listed(packs[0])),
        "count": Amount(Decimal(len(packs[0])), ""),
        "float_after": Amount(float_ + sign * (total - pack), "mm"),
        "change": Amount(total - pack, "mm"),
        "aim": Amount(aim, "mm"),
        "nearest": Amount(
            min((sum(p, Decimal(0)) for p in packs), key=lambda t: abs(t - aim)), "mm"
        ),
        "packs": Amount("; ".join(said_packs)),
    }
    return Result(outputs, workings, (_RE_MEASURE,))


def _nearest(stock: dict[Decimal, int], aim: Decimal, ends: list[Decimal]) -> Decimal:
    """The pack that misses least, where none lands inside; the thickest if all are far off."""
    for wider in _WIDER:
        found = islice(packs_between(stock, ends[0] - wider, ends[1] + wider), _MOST_PACKS)
        sums = [sum(pack, Decimal(0)) for pack in found]
        if sums:
            return min(sums, key=lambda total: abs(total - aim))
    return sum(sorted(stock, reverse=True)[:_MOST_SHIMS], Decimal(0))


def _none(aim: Decimal, ends: list[Decimal], workings: tuple[str, ...], nearest: Decimal) -> Result:
    return Result(
        {"aim": Amount(aim, "mm"), "nearest": Amount(nearest, "mm"), "packs": Amount("none")},
        workings,
        (
            f"none: no pack of up to {_MOST_SHIMS} of these shims is between "
            f"{said(ends[0], 'mm')} and {said(ends[1], 'mm')}; get or grind one",
        ),
    )


def _listed(shims: Pack) -> str:
    return " + ".join(in_words(size, "mm").removesuffix(" mm") for size in shims) or "no shims"


def end_float(
    pushed: tuple[Decimal, ...],
    pulled: tuple[Decimal, ...],
    low: Decimal | None = None,
    high: Decimal | None = None,
    resolution: Decimal = Decimal("0.01"),
    repeat: Decimal | None = None,
) -> Result:
    """End float from dial readings pushed in and pulled out, and whether they repeat.

    float = mean of |pulled − pushed| over the repeats; spread = largest − smallest of them.

    Args:
        pushed: Dial readings with the hub pushed in, mm, one a repeat.
        pulled: Dial readings with the hub pulled out, mm, as many.
        low: Least float, mm.
        high: Most float, mm.
        resolution: Smallest step of the dial, mm.
        repeat: Largest spread at which the readings count as one float, mm; when not given 0.01
            mm, or one step of a coarser dial, which it cannot tell apart.

    Returns:
        float and spread in mm; verdict `inside`, `outside` or `measure again` (readings differ
        too much), where a limit is given.

    Raises:
        BenchrunError: The lists do not pair, or the dial went both ways.
    """
    if len(pushed) != len(pulled):
        raise BenchrunError(f"{len(pushed)} pushed and {len(pulled)} pulled readings do not pair")
    if low is not None and high is not None and low > high:
        raise BenchrunError(f"low {said(low, 'mm')} is above high {said(high, 'mm')}")
    positive("resolution", resolution, "mm")
    if repeat is not None and repeat < resolution:
        raise BenchrunError(
            f"repeat {said(repeat, 'mm')} is less than one step of the dial, "
            f"{said(resolution, 'mm')}: it cannot tell so little apart"
        )
    limit = max(_REPEAT, resolution) if repeat is None else repeat
    moves = [pull - push for push, pull in zip(pushed, pulled, strict=True)]
    if min(moves) < 0 < max(moves):
        raise BenchrunError("the dial went up in one repeat and down in another; look at the list")
    sizes = [abs(move) for move in moves]
    mean, spread = sum(sizes, Decimal(0)) / len(sizes), max(sizes) - min(sizes)
    outputs = {"float": Amount(mean, "mm"), "spread": Amount(spread, "mm")}
    notes = []
    if len(sizes) < 3:
        notes.append("three repeats at each of two places 180° apart are usual")
    if low is not None or high is not None:
        inside = (low is None or mean >= low) and (high is None or mean <= high)
        verdict = "inside" if inside else "outside"
        if spread > limit:
            verdict = "measure again"
            notes.append(f"the repeats differ by more than {said(limit, 'mm')}: settle and repeat")
        outputs["verdict"] = Amount(verdict)
    shown = ", ".join(said(size, "mm") for size in sizes[:6])
    return Result(outputs, (f"moves {shown}: mean {said(mean, 'mm')}",), tuple(notes))


SHIM: Final = Calc(
    "shim",
    "which packs of shims bring the float between its limits",
    (
        Input("float", "float measured with the fitted pack; minus is preload", "mm", needed=True),
        Input("pack", "thickness of the fitted pack", "mm", needed=True),
        Input("low", "least float", "mm", needed=True),
        Input("high", "most float", "mm", needed=True),
        Input("shims", "at hand, the fitted ones too: 0.05x4 0.10 0.50", kind="text"),
        Input("each", "each of them as measured, instead; 0 for none", "mm", "numbers"),
        Input("sense", "does more pack give more float or less?", kind="text", needed=True,
              choices=("more", "less", "yes", "no", "+", "-")),
    ),
    (
        Output("pack", "mm", "the pack to fit"),
        Output("shims", "", "the shims that make it"),
        Output("count", "", "how many shims"),
        Output("float_after", "mm", "float to expect"),
        Output("change", "mm", "change of the pack"),
        Output("aim", "mm", "the pack for the middle of the limits"),
        Output("nearest", "mm", "the pack of these shims nearest to that, inside or not"),
        Output("packs", "", "packs that land inside, fewest shims first"),
    ),
    shim,
    {
        "float": "0.31", "pack": "1.20", "low": "0.05", "high": "0.10",
        "shims": "0.05 0.10 0.15 0.25 0.50", "sense": "more",
    },
    cautions=(_FLOAT_CAUTION,),
    sources=("arithmetic of a spacer or shim pack; at most six shims: common practice, no source",),
)  # fmt: skip
END_FLOAT: Final = Calc(
    "end_float",
    "end float from dial readings, their spread and the verdict",
    (
        Input("pushed", "dial readings pushed in, one a repeat", "mm", "numbers", needed=True),
        Input("pulled", "dial readings pulled out, as many", "mm", "numbers", needed=True),
        Input("low", "least float", "mm"),
        Input("high", "most float", "mm"),
        Input("resolution", "smallest step of the dial", "mm", default="0.01"),
        Input("repeat", "largest spread; 0.01 mm or one step of the dial when not given", "mm"),
    ),
    (
        Output("float", "mm", "mean of the moves"),
        Output("spread", "mm", "largest less smallest move"),
        Output("verdict", "", "inside, outside or measure again"),
    ),
    end_float,
    {"pushed": "0 0 0.01", "pulled": "0.08 0.08 0.09", "low": "0.025", "high": "0.127"},
    cautions=(_FLOAT_CAUTION,),
    sources=(
        "total indicator movement, push and pull while turning: a hub maker's procedure; "
        "0.01 mm spread, three repeats at two places: common practice, no source",
    ),
)
