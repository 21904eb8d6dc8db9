"""Limits and fits: tolerance classes of ISO 286 and what two of them, or two sizes, make."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import plain
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input, measured_range
from benchrun.shopmath.tables import step

_CLASS: Final = re.compile(
    r"(js|JS|[d-hjkmnprstuvxyzD-HJKMNPRSTUVXYZ]) ?(?:IT)?([0-9]{1,2})", re.ASCII
)
_LETTERS: Final = "d e f g h j js k m n p r s t u v x y z for shafts, their capitals for holes"
_ISO: Final = "ISO 286-1 and ISO 286-2: standard tolerances and fundamental deviations"
_MICRONS: Final = Decimal("0.001")
# The delta rule of ISO 286-1 holds for K, M, N up to IT8 and for P to S up to IT7.
_DELTA_UP_TO: Final = {"K": 8, "M": 8, "N": 8} | dict.fromkeys("PRSTUVXYZ", 7)
# The standard gives j and J grade by grade: the columns of the tables.
_OF_GRADE: Final = {
    ("j", 5): "j6", ("j", 6): "j6", ("j", 7): "j7", ("J", 6): "J6", ("J", 7): "J7", ("J", 8): "J8",
}  # fmt: skip


def limit_deviations(size: Decimal, class_: str) -> tuple[Decimal, Decimal]:
    """Lower and upper deviation of a tolerance class in µm, by ISO 286.

    Args:
        size: Nominal size in mm, over 0 up to 500.
        class_: Letter and grade, `k6` for a shaft, `P7` for a hole.

    Raises:
        BenchrunError: No such class, or the standard defines none at this size.
    """
    match = _CLASS.fullmatch(class_.strip())
    if match is None:
        raise BenchrunError(f"{class_[:20]!r} is not a class such as P7 or k6; letters: {_LETTERS}")
    letter, grade = match[1], int(match[2])
    grades = _row("iso286_grades", size)
    if not 4 <= grade <= 11:
        raise BenchrunError(f"grade {grade} in {class_.strip()} is outside the tables: IT4 to IT11")
    width = Decimal(grades[f"IT{grade}"])
    if letter in {"js", "JS"}:
        return -width / 2, width / 2
    if letter.islower():
        return _shaft(size, letter, grade, width)
    return _hole(size, letter, grade, width)


def _row(name: str, size: Decimal) -> Mapping[str, str]:
    row = step(name, size)
    if row is None:
        raise BenchrunError(f"size {said(size, 'mm')} is outside the tables: over 0 to 500 mm")
    return row


def _base(row: Mapping[str, str], size: Decimal, letter: str, grade: int) -> Decimal:
    """The fundamental deviation of a letter, in µm."""
    column = letter
    if letter in "jJ":
        of_grade = _OF_GRADE.get((letter, grade))
        if of_grade is None:
            grades = "5 to 7" if letter == "j" else "6 to 8"
            raise BenchrunError(f"{letter}{grade} is not defined; ISO 286 has {letter} in {grades}")
        column = of_grade
    if not row[column]:
        raise BenchrunError(f"{letter}{grade} is not defined at {said(size, 'mm')}")
    return Decimal(row[column])


def _shaft(size: Decimal, letter: str, grade: int, width: Decimal) -> tuple[Decimal, Decimal]:
    row = _row("iso286_shafts", size)
    base = _base(row, size, letter, grade)
    if letter in "defgh":
        return base - width, base
    if letter == "k" and grade > 7:
        base = Decimal(0)
    return base, base + width


def _hole(size: Decimal, letter: str, grade: int, width: Decimal) -> tuple[Decimal, Decimal]:
    row = _row("iso286_holes", size)
    base = _base(row, size, letter, grade)
    if letter in "DEFGH":
        return base, base + width
    if letter == "J":
        return base - width, base
    small = round(size, 6) <= 3
    if letter == "K" and grade > 8 and not small:
        raise BenchrunError(f"K{grade} is not defined over 3 mm; ISO 286 has K up to grade 8")
    if letter == "N" and grade > 8 and not small:
        base = Decimal(0)
    if letter == "M" and grade == 6 and 250 < round(size, 6) <= 315:
        return -9 - width, Decimal(-9)  # the standard's own exception to the delta rule
    delta = Decimal(row[f"delta_IT{grade}"]) if grade <= _DELTA_UP_TO[letter] else Decimal(0)
    return base + delta - width, base + delta


def fit_limits(size: Decimal, class_: str) -> Result:
    """Limits of a tolerance class: lower and upper deviation in µm, least and largest size in mm.

    Args:
        size: Nominal size in mm, over 0 up to 500 (a step holds its upper end: 30 is in 18–30).
        class_: `P7`, `k6`: d to z, D to Z, IT4 to IT11.

    Raises:
        BenchrunError: The class or the size is outside the tables.
    """
    lower, upper = limit_deviations(size, class_)
    least, largest = size + lower * _MICRONS, size + upper * _MICRONS
    if least <= 0:
        raise BenchrunError(
            f"size {said(size, 'mm')} is too small for {class_.strip()}: nothing would be left"
        )
    return Result(
        {
            "lower": Amount(lower, "µm"),
            "upper": Amount(upper, "µm"),
            "size_min": Amount(least, "mm"),
            "size_max": Amount(largest, "mm"),
        },
        workings=(
            f"{plain(size)} {class_.strip()}: {_signed(lower)} to {_signed(upper)} µm, "
            f"so {said(least, 'mm')} to {said(largest, 'mm')}",
        ),
    )


def _signed(value: Decimal) -> str:
    number = plain(value.normalize())
    return f"+{number}" if value > 0 else number.replace("-", "\N{MINUS SIGN}")


def fit_of(hole: str, shaft: str, size: Decimal | None = None) -> Result:
    """The fit of a shaft in a hole: tightest and loosest in µm, + is clearance.

    tightest = least hole − largest shaft; loosest = largest hole − least shaft.

    Args:
        hole: A class (`P7`), a measured size (`61.967`) or a range (`61.961..61.991`), in mm.
        shaft: The same for the shaft or ring.
        size: Nominal size in mm; needed where a class is given.

    Raises:
        BenchrunError: A class without a size, a hole's letter for the shaft, or outside ISO 286.
    """
    hole_low, hole_high = _sizes("hole", hole, size)
    shaft_low, shaft_high = _sizes("shaft", shaft, size)
    tightest, loosest = (hole_low - shaft_high) * 1000, (hole_high - shaft_low) * 1000
    if abs(tightest) > 50 * max(hole_high, shaft_high) or abs(loosest) > 50 * hole_high:
        raise BenchrunError(
            f"hole {said(hole_low, 'mm')} and shaft {said(shaft_high, 'mm')} are not one fit; "
            "look at the sizes"
        )
    kind = "clearance" if tightest >= 0 else "interference" if loosest <= 0 else "transition"
    notes = [] if kind != "transition" else ["it may come out loose or tight: measure both parts"]
    return Result(
        {
            "tightest": Amount(tightest, "µm"),
            "loosest": Amount(loosest, "µm"),
            "kind": Amount(kind),
        },
        workings=(
            _difference(hole_low, shaft_high, tightest),
            *([] if tightest == loosest else [_difference(hole_high, shaft_low, loosest)]),
        ),
        notes=tuple(notes),
    )


def _difference(hole: Decimal, shaft: Decimal, microns: Decimal) -> str:
    what = "tight" if microns < 0 else "loose"
    return (
        f"hole {said(hole, 'mm')} − shaft {said(shaft, 'mm')} = {said(abs(microns), 'µm')} {what}"
    )


def _sizes(name: str, text: str, size: Decimal | None) -> tuple[Decimal, Decimal]:
    if _CLASS.fullmatch(text.strip()) is None:
        if text[:1].isalpha():
            raise BenchrunError(f"{name} {text[:20]!r} is no class such as P7 or k6 and no size")
        low, high = measured_range(text, "mm")
        if low <= 0:
            raise BenchrunError(f"{name} is {said(low, 'mm')}: it must be more than nothing")
        return low, high
    if text.strip()[0].isupper() != (name == "hole"):
        raise BenchrunError(f"{name} {text.strip()}: holes have capital letters, shafts small ones")
    if size is None:
        raise BenchrunError(f"{name} {text.strip()} is a class; give size too")
    lower, upper = limit_deviations(size, text)
    return size + lower * _MICRONS, size + upper * _MICRONS


LIMITS: Final = Calc(
    "limits",
    "deviations and limits of size of a tolerance class",
    (
        Input("size", "nominal size", "mm", needed=True),
        Input("class", "tolerance class: P7 for a hole, k6 for a shaft", kind="text", needed=True),
    ),
    (
        Output("lower", "µm", "lower deviation"),
        Output("upper", "µm", "upper deviation"),
        Output("size_min", "mm", "least size"),
        Output("size_max", "mm", "largest size"),
    ),
    fit_limits,
    {"size": "62", "class": "P7"},
    sources=(_ISO,),
)
FIT: Final = Calc(
    "fit",
    "how tight or loose a shaft sits in a hole, by classes or by measured sizes",
    (
        Input("size", "nominal size, where a class is given", "mm"),
        Input(
            "hole", "class P7, measured 61.967, or range 61.961..61.991", kind="text", needed=True
        ),
        Input("shaft", "class k6, measured 62.000, or range", kind="text", needed=True),
    ),
    (
        Output("tightest", "µm", "least clearance; minus is interference"),
        Output("loosest", "µm", "most clearance; minus is interference"),
        Output("kind", "", "clearance, transition or interference"),
    ),
    fit_of,
    {"size": "62", "hole": "P7", "shaft": "61.987..62.000"},
    cautions=("A fit is chosen by the maker's data for the bearing and the load, not by a sum.",),
    sources=(_ISO,),
)
