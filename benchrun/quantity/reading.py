"""Reading a quantity as people type it: one anchored pattern, one table of spellings."""

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity.unit_table import TABLE, UNITS, Unit
from benchrun.quantity.units import convert, decimal_of, in_words, spelled, spelling_key, unit_named

_LONGEST: Final = 32
_LARGEST: Final = Decimal(10) ** 15
_LARGEST_POWER: Final = 15
# Names that are two sizes, one imperial and one of the United States: asked about, never guessed.
_TWO_SIZES: Final = {
    word: f"type US {name} or imp {name}"
    for name, words in {
        "gal": "gal|gallon|gallons",
        "qt": "qt|quart|quarts",
        "pt": "pt|pint|pints",
        "gill": "gill|gills",
        "fl oz": "floz|fluidounce|fluidounces",
        "cwt": "cwt|hundredweight",
        "ton": "ton|tons",
    }.items()
    for word in words.split("|")
}
_SOME: Final = 6
"""So many units are named where a typed one does not fit; the first are the usual ones."""
_WITH_TWO_SIZES: Final = {"volume", "mass", "force"}
_DEGREES: Final = re.compile(
    r"(?P<sign>[+\-\u2212]?) ?(?P<degrees>[0-9]{1,3}) ?(?:°|deg) ?"
    r"(?P<minutes>[0-9]{1,2}(?:[.,][0-9]+)?) ?(?:'|′|min)"
    r"(?: ?(?P<seconds>[0-9]{1,2}(?:[.,][0-9]+)?) ?(?:\"|″|s|sec))?",
    re.ASCII | re.IGNORECASE,
)
_HOURS: Final = re.compile(
    r"(?P<first>[0-9]{1,4}) ?(?P<unit>d|h|min|days?|hours?|minutes?) ?"
    r"(?P<rest>[0-9]{1,2}(?:[.,][0-9]+)?) ?(?P<smaller>h|min|s|sec|hours?|minutes?|seconds?)?",
    re.ASCII | re.IGNORECASE,
)
_SMALLER: Final = {"d": ("h", 24), "h": ("min", 60), "m": ("s", 60)}
_NUMBER: Final = re.compile(
    r"(?P<sign>[+\-\u2212]?) ?"
    r"(?:(?:(?P<whole>[0-9]+)(?: +|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    r"|(?P<decimal>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE](?P<power>[+\-\u2212]?[0-9]{1,2}))?)"
    r" *(?P<unit>1/[A-Za-z].*|[^0-9\s.,+\-].*)?",
    re.ASCII,
)
_GROUPED: Final = re.compile(r"(?!0+,)[0-9]{1,3},[0-9]{3}", re.ASCII)


@lean_dataclass(frozen=True, slots=True)
class Measure:
    """A reading as typed and what it means.

    Attributes:
        text: What was typed, without blanks at its ends.
        value: The number, exact.
        unit: The canonical name of the unit it was typed in; empty for a pure number.
    """

    text: str
    value: Decimal
    unit: str

    def to(self, unit: str) -> Decimal:
        """The value in another unit of the same dimension, see `convert`."""
        return convert(self.value, self.unit, unit)

    @property
    def words(self) -> str:
        """The value with its unit for display, see `in_words`."""
        return in_words(self.value, self.unit)


def read(text: str, unit: str) -> Measure:
    """Read a quantity as people type it; the prompt's unit gives the context.

    Args:
        text: `25.43`, `25,43`, `1.0012in`, `2 thou`, `1 3/8 in`, `½ in`, `1°30'`, `45 ft lb`,
            `20 C`, `+0.02`. Without a unit the prompt's is meant. A comma is a decimal comma.
        unit: The canonical unit of the prompt; what is typed must be of the same dimension.

    Raises:
        BenchrunError: It is not a number with a fitting unit, or could mean two things.
    """
    typed = text.strip()
    prompt = unit_named(unit)
    if len(typed) > _LONGEST:
        raise BenchrunError(f"{len(typed)} characters are too long for a reading; {_say(prompt)}")
    if prompt.dimension == "angle" and (parts := _DEGREES.fullmatch(typed)):
        return Measure(typed, _degrees(parts, typed), "deg")
    if prompt.dimension == "time" and (times := _HOURS.fullmatch(typed)):
        return _time(times, typed)
    match = _NUMBER.fullmatch(plain_fractions(typed))
    if match is None:
        raise BenchrunError(
            f"{typed!r} is not a reading; {_say(prompt)}" if typed else _say(prompt)
        )
    name = spelled((match["unit"] or "").strip(), unit)
    if name is None:
        raise BenchrunError(_not_fitting(match["unit"].strip(), prompt))
    value = _number(match, typed)
    if abs(value) > _LARGEST:
        raise BenchrunError(f"{typed!r} is beyond anything measured here; look at the digits")
    return Measure(typed, value, name)


def _say(prompt: Unit) -> str:
    where = f"a {prompt.dimension}" + (f" in {prompt.shown}" if prompt.name else "")
    return f"type {where.replace('a a', 'an a')}, such as {TABLE[prompt.dimension][0]}"


def _not_fitting(found: str, prompt: Unit) -> str:
    hint = _TWO_SIZES.get(spelling_key(found))
    if prompt.dimension in _WITH_TWO_SIZES and hint:
        return f"{found!r} has two sizes; {hint}"
    fitting = [unit.name for unit in UNITS if unit.dimension == prompt.dimension and unit.name]
    named = ", ".join(fitting[:_SOME])
    would = f"type {'one of' if len(fitting) <= _SOME else 'for example'} {named}"
    would = would if fitting else "type the number alone"
    return f"{found!r} is not a unit of {prompt.dimension}; {would}"


def plain_fractions(typed: str) -> str:
    """The text with `½` and its like as `1/2`, apart from a whole number before it."""
    for place, sign in enumerate(typed):
        if unicodedata.category(sign) == "No" and "\N{FRACTION SLASH}" in (
            fraction := unicodedata.normalize("NFKC", sign)
        ):
            whole, rest = typed[:place].rstrip(), typed[place + 1 :]
            gap = " " if whole[-1:].isdigit() else ""
            return f"{whole}{gap}{fraction.replace(chr(0x2044), '/')}{rest}"
    return typed


def _time(parts: re.Match[str], typed: str) -> Measure:
    """Hours and minutes in one: `1 h 30`, `1 h 30 min`, `2 d 4 h`, `5 min 30 s`."""
    unit, many = _SMALLER[parts["unit"][0].lower()]
    rest = Decimal(parts["rest"].replace(",", "."))
    if (parts["smaller"] or unit)[0].lower() != unit[0] or rest >= many:
        raise BenchrunError(f"{typed!r} is no length of time; type it like 1 h 30 min or 90 min")
    return Measure(typed, int(parts["first"]) * many + rest, unit)


def _degrees(parts: re.Match[str], typed: str) -> Decimal:
    """Degrees, minutes and seconds as degrees."""
    minutes, seconds = (
        Fraction((parts[name] or "0").replace(",", ".")) for name in ("minutes", "seconds")
    )
    if minutes >= 60 or seconds >= 60:
        raise BenchrunError(f"{typed!r}: sixty minutes are a degree; type it like 1°30'")
    value = decimal_of(int(parts["degrees"]) + minutes / 60 + seconds / 3600)
    return -value if parts["sign"] in {"-", "\u2212"} and value else value


def _number(match: re.Match[str], typed: str) -> Decimal:
    minus = match["sign"] in {"-", "\u2212"}
    if match["top"] is not None:
        whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
        if bottom == 0 or (match["whole"] is not None and top >= bottom):
            raise BenchrunError(f"{typed!r} is not a fraction; type it like 1 3/8 or 1.375")
        value = decimal_of(whole + Fraction(top, bottom))
    else:
        digits = match["decimal"]
        if _GROUPED.fullmatch(digits):
            joined, dotted = digits.replace(",", ""), digits.replace(",", ".")
            raise BenchrunError(f"{digits} could be {joined} or {dotted}; type the one you mean")
        power = (match["power"] or "0").replace("\u2212", "-")
        if abs(int(power)) > _LARGEST_POWER:
            raise BenchrunError(f"{typed!r} is beyond anything measured here; look at the power")
        value = Decimal(digits.replace(",", ".")).scaleb(int(power))
    return -value if minus and value else value
