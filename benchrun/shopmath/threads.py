"""Threads: their forms and series, and reading one as it is written on a drawing or a box."""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import plain
from benchrun.quantity.reading import plain_fractions
from benchrun.quantity.units import decimal_of
from benchrun.shopmath.tables import table_rows
from benchrun.shopmath.trig import PI_DECIMAL, tangent

INCH: Final = Decimal("25.4")
_ROOT3: Final = Decimal(3).sqrt()


@lean_dataclass(frozen=True, slots=True)
class Profile:
    """The profile of a thread; diameters are the major diameter less so many pitches.

    Attributes:
        angle: Between the flanks, degrees.
        effective: Major less pitch (effective) diameter.
        root: Major less minor diameter of the screw.
        bore: Major less minor diameter of the nut: the basic size of the tapped hole.
        stress: Major less the diameter of the stress area.
        source: Where these come from.
    """

    angle: Decimal
    effective: Decimal
    root: Decimal
    bore: Decimal
    stress: Decimal
    source: str


def _whitworth() -> Profile:
    height = 1 / (2 * tangent(Decimal("27.5")))  # of the sharp triangle, in pitches
    depth = height * 2 / 3
    return Profile(
        Decimal(55), depth, 2 * depth, 2 * depth, depth * 3 / 2,
        "Whitworth form, BS 84: 55°, depth two thirds of the triangle; stress area on the mean of "
        "effective and core diameter: from memory",
    )  # fmt: skip


_ISO_60: Final = (Decimal(60), _ROOT3 * 3 / 8, _ROOT3 * 17 / 24, _ROOT3 * 5 / 8)
METRIC: Final = Profile(
    *_ISO_60, Decimal("0.9382"), "ISO 724 basic profile; stress area by ISO 898-1"
)
UNIFIED: Final = Profile(
    *_ISO_60, Decimal("0.9743"), "ASME B1.1 basic profile and stress area; the same as ISO 724"
)
WHITWORTH: Final = _whitworth()
CYCLE: Final = Profile(
    Decimal(60), Decimal("0.5327"), Decimal("1.0654"), Decimal("1.0654"), Decimal("0.79905"),
    "BS 811, from memory: 60°, depth 0.5327 P; stress area on the mean of effective and core",
)  # fmt: skip
BRITISH_ASSOCIATION: Final = Profile(
    Decimal("47.5"), Decimal("0.6"), Decimal("1.2"), Decimal("1.2"), Decimal("0.9"),
    "BS 93, from memory: 47½°, depth 0.6 P; stress area on the mean of effective and core",
)  # fmt: skip
_PROFILES: Final[Mapping[str, Profile]] = MappingProxyType(
    {
        "M": METRIC, "UNC": UNIFIED, "UNF": UNIFIED, "UN": UNIFIED, "BSW": WHITWORTH,
        "BSF": WHITWORTH, "Whit": WHITWORTH, "BSC": CYCLE, "BA": BRITISH_ASSOCIATION,
    }
)  # fmt: skip


@lean_dataclass(frozen=True, slots=True)
class Thread:
    """A thread of a series: nominal diameter and pitch in mm.

    Attributes:
        name: As it is written in full: `M10x1.5`, `1/2-13 UNC`, `3/8-20 BSF`, `2 BA`.
        series: M, UNC, UNF, UN (60° inch special), BSW, BSF, Whit (55° special), BSC or BA.
        diameter: Nominal major diameter, mm.
        pitch: Pitch, mm.
    """

    name: str
    series: str
    diameter: Decimal
    pitch: Decimal

    @property
    def form(self) -> Profile:
        """The profile of its series."""
        return _PROFILES[self.series]

    @property
    def inch(self) -> bool:
        """Whether it is counted in threads an inch."""
        return self.series not in {"M", "BA"}

    @property
    def unified(self) -> bool:
        """Whether it is an inch thread of 60° to which SAE grades belong."""
        return self.form is UNIFIED

    @property
    def stress_area(self) -> Decimal:
        """Tensile stress area in mm²: π/4 (d − 0.9382 P)² metric, 0.9743 P unified, and so on."""
        return PI_DECIMAL / 4 * (self.diameter - self.form.stress * self.pitch) ** 2

    @property
    def pitch_diameter(self) -> Decimal:
        """Basic pitch (effective) diameter in mm."""
        return self.diameter - self.form.effective * self.pitch

    @property
    def root_diameter(self) -> Decimal:
        """Minor (core) diameter of the screw in mm."""
        return self.diameter - self.form.root * self.pitch

    @property
    def bore_diameter(self) -> Decimal:
        """Basic minor diameter of the nut in mm."""
        return self.diameter - self.form.bore * self.pitch


_METRIC: Final = re.compile(
    r"MF? ?([0-9]{1,3}(?:[.,][0-9]{1,2})?)(?: ?[x×*-] ?([0-9][.,]?[0-9]{0,2}))?",
    re.ASCII | re.IGNORECASE,
)
_BA: Final = re.compile(
    r"(?:no\.? ?)?([0-9]{1,2}) ?B\.?A\.?|B\.?A\.? ?(?:no\.? ?)?([0-9]{1,2})",
    re.ASCII | re.IGNORECASE,
)
_SERIES_TYPED: Final = (
    r"UNC|UNF|UNEF|UN[RSJ]?|NC|NF|B\.?S\.?W\.?|B\.?S\.?F\.?|B\.?S\.?C\.?|C\.?E\.?I\.?|cycle"
    r"|whit(?:worth)?\.?|W"
)
_INCH: Final = re.compile(
    rf"(?:(?P<before>{_SERIES_TYPED}) ?)?"
    r"(?P<size>(?:#|no\.? ?)[0-9]{1,2}|(?:[0-9] ?[ -])?[0-9]{1,2}/[0-9]{1,2}"
    r"|[0-9]?\.[0-9]{1,4}|[0-9])"
    r" ?(?:\"|″|''|in(?:ch)?)?"
    r"(?: ?[-x×] ?(?P<tpi>[0-9]{1,2}(?:\.5| 1/2)?)(?: ?tpi)?"
    r"|(?: |, ?)(?P<counted>[0-9]{1,2}) ?tpi)?"
    rf"(?:[ -]*(?P<after>{_SERIES_TYPED}))?",
    re.ASCII | re.IGNORECASE,
)
_SERIES_MEANT: Final = {
    "NC": "UNC", "NF": "UNF", "UNEF": "UN", "UNR": "UN", "UNS": "UN", "UNJ": "UN",
    "CEI": "BSC", "CYCLE": "BSC", "WHIT": "Whit", "WHITWORTH": "Whit", "W": "Whit",
}  # fmt: skip
_SUCH_AS: Final = "a thread such as M10x1.5, 1/2-13 UNC, 3/8 BSF or 2 BA"


def thread_of(text: str, *, unified: bool = False) -> Thread:
    """Read a thread: `M10x1.5`, `M10` (coarse), `1/2 UNF`, `1/2-13 UNC`, `3/8 BSF`, `2 BA`.

    An inch size with its threads an inch and no series is taken where only UNC or UNF has it;
    where a British series has it too, or alone, or none has it, the series is asked for.

    Args:
        text: As it is written.
        unified: Something else, such as an SAE grade, says that it is a 60° inch thread.

    Raises:
        BenchrunError: It is none of these, it fits two series, or no such thread can be cut.
    """
    typed = " ".join(plain_fractions(text.strip()).split())
    metric, british, inch = (pattern.fullmatch(typed) for pattern in (_METRIC, _BA, _INCH))
    if metric:
        thread = _metric_thread(metric)
    elif british:
        thread = _association_thread(int(british[1] or british[2]))
    elif inch:
        thread = _inch_thread(inch, typed, unified=unified)
    else:
        raise BenchrunError(f"{typed[:30]!r} is not {_SUCH_AS}")
    if not thread.diameter / 60 < thread.pitch < thread.diameter * 3 / 10:
        raise BenchrunError(f"{typed[:30]!r}: no thread of that diameter has that pitch")
    return thread


def _metric_thread(match: re.Match[str]) -> Thread:
    size = Decimal(match[1].replace(",", "."))
    pitch = Decimal(match[2].replace(",", ".")) if match[2] else _coarse_pitch(size)
    return Thread(f"M{plain(size)}x{plain(pitch)}", "M", size, pitch)


def _coarse_pitch(size: Decimal) -> Decimal:
    for row in table_rows("coarse_pitches"):
        if Decimal(row["size_mm"]) == size:
            return Decimal(row["pitch_mm"])
    raise BenchrunError(f"the coarse pitch of M{plain(size)} is not in the table; give the pitch")


def _association_thread(number: int) -> Thread:
    for row in table_rows("thread_series"):
        if row["series"] == "BA" and row["size"] == str(number):
            return Thread(f"{number} BA", "BA", Decimal(row["major"]), Decimal(row["pitch_mm"]))
    raise BenchrunError(f"{number} BA is not in the table: 0 BA to 16 BA")


def _inch_thread(match: re.Match[str], typed: str, *, unified: bool) -> Thread:
    if match["before"] and match["after"]:
        raise BenchrunError(f"{typed[:30]!r} names two series; write one")
    inches, per_inch = _inches(match["size"], typed), _per_inch(match, typed)
    size = _size_words(match["size"])
    series = _series_meant(match["before"] or match["after"])
    rows = [
        row
        for row in table_rows("thread_series")
        if row["unit"] == "in" and Decimal(row["major"]) == inches
    ]
    if series is None:
        series = _series_alone(size, per_inch, rows, typed, unified=unified)
    if series == "Whit":
        per_inch, series = _whitworth_series(per_inch, rows)
    if series == "UN":
        series = _unified_series(per_inch, rows)
    if series not in {"UN", "Whit"}:
        per_inch = _of_series(series, size, per_inch, rows)
    if per_inch is None:
        raise BenchrunError(f"{typed[:30]!r}: how many threads an inch? Type it like {size}-12 UN")
    return Thread(f"{size}-{plain(per_inch)} {series}", series, inches * INCH, INCH / per_inch)


def _inches(size: str, typed: str) -> Decimal:
    number = re.fullmatch(r"(?:#|no\.? ?)([0-9]{1,2})", size, re.IGNORECASE)
    if number:
        return Decimal("0.060") + Decimal("0.013") * int(number[1])
    if "/" not in size:
        return Decimal(size)
    *whole, fraction = re.split(r"[ -]+", size)
    top, bottom = map(int, fraction.split("/"))
    if bottom == 0:
        raise BenchrunError(f"{typed[:30]!r} has a zero where none can be")
    return decimal_of(sum(map(int, whole)) + Fraction(top, bottom))


def _size_words(size: str) -> str:
    number = re.fullmatch(r"(?:#|no\.? ?)([0-9]{1,2})", size, re.IGNORECASE)
    return f"#{number[1]}" if number else " ".join(re.split(r"[ -]+", size))


def _per_inch(match: re.Match[str], typed: str) -> Decimal | None:
    counted = match["tpi"] or match["counted"]
    if counted is None:
        return None
    per_inch = Decimal(counted.replace(" 1/2", ".5"))
    if per_inch == 0:
        raise BenchrunError(f"{typed[:30]!r} has a zero where none can be")
    return per_inch


def _series_meant(typed: str | None) -> str | None:
    if typed is None:
        return None
    key = typed.replace(".", "").upper()
    return _SERIES_MEANT.get(key, key)


def _series_alone(
    size: str,
    per_inch: Decimal | None,
    rows: list[Mapping[str, str]],
    typed: str,
    *,
    unified: bool,
) -> str:
    """The series of a bare inch size, where only one can be meant."""
    fitting = [row for row in rows if per_inch is None or Decimal(row["per_inch"]) == per_inch]
    names = [row["series"] for row in fitting]
    american = [name for name in names if name in {"UNC", "UNF"}]
    if per_inch is not None and (unified or names == american) and american:
        return american[0]
    if per_inch is not None and unified:
        return "UN"
    ways = [f"{size} {name} ({_PROFILES[name].angle}°)" for name in names]
    if per_inch is not None and not american:
        ways.append(f"{size}-{plain(per_inch)} UN (60°)")
    if per_inch is not None and not names:
        ways.append(f"{size}-{plain(per_inch)} Whit (55°)")
    if not ways:
        raise BenchrunError(f"{typed[:30]!r} is not {_SUCH_AS}")
    raise BenchrunError(f"{typed[:30]!r} could be more than one thread: write {' or '.join(ways)}")


def _unified_series(per_inch: Decimal | None, rows: list[Mapping[str, str]]) -> str:
    """UNC or UNF where the table has that pitch, else a special."""
    for row in rows:
        if row["series"] in {"UNC", "UNF"} and per_inch == Decimal(row["per_inch"]):
            return row["series"]
    return "UN"


def _whitworth_series(
    per_inch: Decimal | None, rows: list[Mapping[str, str]]
) -> tuple[Decimal | None, str]:
    """The Whitworth series of that pitch, BSW where none is told, else a special."""
    for row in rows:
        if row["series"] in {"BSW", "BSF"} and per_inch in {None, Decimal(row["per_inch"])}:
            return Decimal(row["per_inch"]), row["series"]
    return per_inch, "Whit"


def _of_series(
    series: str, size: str, per_inch: Decimal | None, rows: list[Mapping[str, str]]
) -> Decimal:
    row = next((row for row in rows if row["series"] == series), None)
    special = "UN" if _PROFILES[series] is UNIFIED else "Whit" if series in {"BSW", "BSF"} else ""
    if row is None:
        raise BenchrunError(f"{size} is not a size of {series} in the table")
    listed = Decimal(row["per_inch"])
    if per_inch is None or per_inch == listed:
        return listed
    would = f"; a special is written {size}-{plain(per_inch)} {special}" if special else ""
    raise BenchrunError(
        f"{size} {series} has {plain(listed)} threads an inch, not {plain(per_inch)}{would}"
    )
