"""A line as it is said: signs that a speech synthesiser leaves out or garbles, put into words.

A dash between two figures, a lone key such as `-` or `?`, and many signs of units are silent or
spelled in a way that nobody understands; as words they are heard. What is said well stays: mm, ml,
kg, °C and %, and a letter alone, which may be the end of a tag.
"""

import re
from typing import Final

from benchrun.text import span

_TIMES: Final = {"s": "second", "min": "minute", "h": "hour", "d": "day"}
_BASES: Final = {
    "µm": "micrometres",
    "μm": "micrometres",
    "Pa": "pascal",
    "kPa": "kilopascal",
    "mbar": "millibar",
    "psi": "pounds per square inch",
    "N m": "newton metres",
    "kN m": "kilonewton metres",
    "N cm": "newton centimetres",
    "ft lb": "foot pounds",
    "in lb": "inch pounds",
    "lbf": "pounds force",
    "lb": "pounds",
    "Hz": "hertz",
    "degC": "degrees C",
    "degF": "degrees F",
}
_LENGTHS: Final = {
    "m": ("metre", "metres"),
    "mm": ("millimetre", "millimetres"),
    "cm": ("centimetre", "centimetres"),
    "dm": ("decimetre", "decimetres"),
    "in": ("inch", "inches"),
    "ft": ("foot", "feet"),
}
_POWERS: Final = {"2": "square", "²": "square", "3": "cubic", "³": "cubic"}
_PLAIN: Final = ("mm", "cm", "dm", "km", "m", "ft", "ml", "mg", "kg", "g", "l", "bar", "rad",
                 "deg", "K", "J", "kJ", "W", "A", "mA", "V", "MPa", "GPa")  # fmt: skip
"""Said well alone; a part of others. An inch is none of them: `1 in the tub` is no length."""
_POWER: Final = rf"(?:{'|'.join(_LENGTHS)})[23²³]"
_BASE: Final = "|".join(
    (_POWER, *sorted((*_BASES, *_TIMES, *_PLAIN), key=len, reverse=True)),
)
_UNIT: Final = rf"(?:{_BASE})(?:/(?:{_BASE}))*"
_MEASURED: Final = re.compile(rf"(?<![\w.])(\d[\d.,]*) ({_UNIT})(?![\w/²³–])")
_ASKED_IN: Final = re.compile(rf"\bin ({_UNIT})(?=:$)")
_RANGE: Final = re.compile(r"(?<=\d)–(?=\d)")
_SIGNAL: Final = re.compile(
    r"^(\d )?(EARLIEST|AIM|DUE|LATE|NEAR|CLOCK|\d+ MIN LEFT|\d+ H LEFT|\d+:\d\d LEFT)\b"
)
"""Capitals behind a number are spelled."""
_NUMBER: Final = re.compile(r"^(\s*\d{1,2}) (?=\d)")
"""The number of a line before a figure: `1 6 parts` would be heard as 16."""
_DIAL: Final = re.compile(r"(?<=\bin )(\d+):(\d\d)\b|\b(\d+):(\d\d)(?= left\b)")
_KEYS: Final = {"*": "star", "+": "plus", "=": "equals", "/": "slash", ".": "dot",
                "?": "question mark", "!": "exclamation mark"}  # fmt: skip
_HOURS: Final = re.compile(r"\b(\d+) h (\d\d)\b(?! ?(?:min|s)\b)")
"""Hours and minutes as tables write them: `12 h 05`."""
_DEGREES: Final = re.compile(r" ?°(?=(\w?))")
_KEY: Final = re.compile(r"(?<![^\s(])([*+=/.?!])(?=[\s:]|$)")
_MINUS: Final = re.compile(r"(?<![^\s(])-(?= (?:goes|to go|leaves|leads|is enough)\b)")


def spoken(line: str) -> str:
    """A line with signs in words: `14:15 to 14:24`, `20 minutes`, `minus goes back`."""
    line = _SIGNAL.sub(lambda match: f"{match[1] or ''}{match[2].capitalize()}", line)
    line = _NUMBER.sub(r"\1: ", line)
    line = _DIAL.sub(_dialled, line)
    line = _HOURS.sub(_hours, line)
    line = _DEGREES.sub(lambda match: " degrees " if match[1] else " degrees", line)
    line = _RANGE.sub(" to ", line)
    line = line.replace("±", "plus or minus ")
    line = _MEASURED.sub(_measured, line)
    line = _ASKED_IN.sub(lambda match: f"in {_unit(match[1])}", line)
    line = _MINUS.sub("minus", line)
    return _KEY.sub(lambda match: _KEYS[match[1]], line)


def _dialled(match: re.Match[str]) -> str:
    """The figures of a clock as a length of time, still to be measured: `1 min 30 s`."""
    minutes, seconds = (int(one) for one in match.groups() if one is not None)
    return span((minutes * 60 + seconds) * 1000)


def _hours(match: re.Match[str]) -> str:
    """Hours and minutes, still to be measured; of nothing is nothing said: `12 h`, `34 min`."""
    hours, minutes = (int(one) for one in match.groups())
    said = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(minutes)
    return " ".join(said) or "0 min"


def _measured(match: re.Match[str]) -> str:
    number, unit = match[1], match[2]
    if unit in _TIMES:
        number = number.lstrip("0") or "0"
        return f"{number} {_TIMES[unit]}{'' if number == '1' else 's'}"
    return f"{number} {_unit(unit)}"


def _unit(unit: str) -> str:
    """A unit in words: `g per l`, `square millimetres`, `mg per cubic metre`."""
    first, *rest = unit.split("/")
    return " per ".join((_base(first, many=True), *(_base(one) for one in rest)))


def _base(sign: str, *, many: bool = False) -> str:
    if sign in _TIMES:
        return _TIMES[sign] + "s" * many
    if sign[-1] in _POWERS:
        return f"{_POWERS[sign[-1]]} {_LENGTHS[sign[:-1]][many]}"
    return _BASES.get(sign, sign)
