"""From what was typed to what a sum takes: each input read in its unit, lists and grids split."""

import builtins
import keyword
import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Context, Decimal
from typing import Any, Final, Literal, TypeAlias

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import Measure, canonical, convert, dimension, in_words, read, spelled
from benchrun.shopmath.amount import Amount

_MOST_VALUES: Final = 5000
_MOST_TEXT: Final = 200_000
_LARGEST: Final = Decimal(10) ** 30
_REASONABLE: Final = Context(prec=15)
_UNIT_AFTER: Final = re.compile(r"[0-9.,½¼¾⅛⅜⅝⅞]\s*([^\s0-9.,;+\-][^0-9;]*(?:[23])?)\s*$")
_BARE: Final = re.compile(r"[+\-\u2212]?[0-9.,/ ½¼¾⅛⅜⅝⅞]+(?:[eE][+\-\u2212]?[0-9]+)?")
_BEGINS_NUMBER: Final = re.compile(r"[+\-\u2212]?[0-9.,]")
# What stands for a temperature where a difference is wanted, and how values of each are typed.
_DIFFERENCE: Final = {"degC": "delta degC", "degF": "delta degF"}

Kind = Literal[
    "number", "numbers", "grid", "points grid", "share", "text", "same", "same numbers", "same grid"
]
Given: TypeAlias = "str | Decimal | int | Measure | Amount | Sequence[Given]"


@lean_dataclass(frozen=True, slots=True)
class Input:
    """One thing that a calculation is given.

    Attributes:
        name: As typed: `hub_od`.
        meaning: What it is, in a few words.
        unit: The unit it is taken in when typed without one, and the unit the function gets.
        kind: `number`, `numbers` (a list), `grid` (rows of them), `points grid`, `share` (0.75 or
            75 %), `text`, or `same…`: in whatever one unit this calculation's values are typed.
        needed: Whether the calculation cannot go without it.
        default: What it is when not given, as a person would type it.
        choices: The words that are possible, for a text.
        bare: For a number typed without a unit: the unit that it can only be in.
    """

    name: str
    meaning: str
    unit: str = ""
    kind: Kind = "number"
    needed: bool = False
    default: str | None = None
    choices: tuple[str, ...] = ()
    bare: Callable[[Decimal], str] | None = None

    @property
    def prompt_words(self) -> str:
        """The meaning, with the words that are possible where it is one of a few."""
        return f"{self.meaning}: {', '.join(self.choices)}" if self.choices else self.meaning

    @property
    def parameter(self) -> str:
        """The function's parameter: lower case, with `_` after a word that Python keeps."""
        kept = keyword.iskeyword(self.name) or hasattr(builtins, self.name)
        return f"{self.name.lower()}_" if kept else self.name.lower()


def arguments(
    calc_name: str, inputs: Sequence[Input], values: Mapping[str, Given]
) -> tuple[dict[str, Any], list[str]]:
    """The keyword arguments for a calculation's function, and remarks on how texts were taken.

    Args:
        calc_name: The calculation's name, for messages.
        inputs: What it takes.
        values: What was typed, by input.

    Raises:
        BenchrunError: An input is missing or is not what it should be.
    """
    missing = [entry for entry in inputs if entry.needed and entry.name not in values]
    if missing:
        wanted = "; ".join(f"{entry.name} ({entry.meaning})" for entry in missing)
        raise BenchrunError(f"{calc_name} also needs {wanted}")
    remarks: list[str] = []
    unit = _common_unit(inputs, values)
    taken: dict[str, Any] = {}
    for entry in inputs:
        value = values.get(entry.name, entry.default)
        if value is None:
            continue
        try:
            taken[entry.parameter] = _taken(entry, value, unit, remarks)
        except BenchrunError as refused:
            raise BenchrunError(f"{entry.name}: {refused.message}") from None
    if any(entry.kind.startswith("same") for entry in inputs):
        taken["unit"] = unit
    return taken, remarks


def _taken(entry: Input, value: Given, same: str, remarks: list[str]) -> object:
    if entry.kind == "text":
        return _word(entry, value)
    unit = same if entry.kind.startswith("same") else entry.unit
    if entry.kind.startswith("same") and entry.unit == "difference":
        unit = _DIFFERENCE.get(same, same)
    if entry.kind == "points grid" and isinstance(value, str):
        value = _points(value)
    if entry.kind.endswith("grid"):
        return _grid(value, unit)
    if entry.kind.endswith("numbers"):
        return _row(value, unit)
    if entry.kind == "share" and isinstance(value, str):
        return _share(entry, value, remarks)
    return _number(entry, value, unit, remarks)


def _share(entry: Input, text: str, remarks: list[str]) -> Decimal:
    if text.rstrip().endswith("%"):
        return read(text, "%").value / 100
    value = read(text, "").value
    if entry.bare and entry.bare(value) == "%":
        remarks.append(f"{entry.name} {text.strip()} was taken as {text.strip()} %")
        return value / 100
    return value


def _word(entry: Input, value: Given) -> str:
    text = " ".join(_as_text(value).split())
    if not entry.choices:
        return text
    matches = [choice for choice in entry.choices if choice.casefold() == text.casefold()]
    if not matches:
        raise BenchrunError(f"{text[:40]!r} is none of {', '.join(entry.choices)}")
    return matches[0]


def _as_text(value: Given) -> str:
    """A value that was not typed, written as a person would; rows apart by semicolons."""
    if isinstance(value, str):
        return value
    if isinstance(value, Sequence):
        nested = any(isinstance(item, Sequence) and not isinstance(item, str) for item in value)
        return ("; " if nested else " ").join(_as_text(item) for item in value)
    if isinstance(value, (Decimal, int)):
        return f"{_REASONABLE.plus(Decimal(value)):f}"
    return f"{_as_text(value.value)} {value.unit}".strip()


def _number(entry: Input, value: Given, unit: str, remarks: list[str]) -> Decimal:
    if isinstance(value, str) and entry.bare and is_bare(value):
        bare = entry.bare(read(value, unit).value)
        if bare != unit:
            measure = Measure(value, read(value, unit).value, bare)
            remarks.append(f"{entry.name} {value.strip()} was taken as {measure.words}")
            return measure.to(unit)
    return _one(value, unit)


def is_bare(text: str) -> bool:
    """Whether a typed number has no unit."""
    return (
        re.fullmatch(r"[+\-\u2212]?[0-9.,/ ½¼¾⅛⅜⅝⅞]+(?:[eE][+\-\u2212]?[0-9]+)?", text.strip())
        is not None
    )


def _one(value: Given, unit: str) -> Decimal:
    if isinstance(value, str):
        return read(value, unit).to(unit)
    if isinstance(value, (bool, Sequence)):
        raise BenchrunError("one number is wanted")
    if isinstance(value, (Decimal, int)):
        number = Decimal(value)
        if not number.is_finite() or abs(number) > _LARGEST:
            raise BenchrunError(f"{number:.3} is not a number that can be reckoned with")
        return number
    return _amount(value, unit)


def _amount(value: Measure | Amount, unit: str) -> Decimal:
    if isinstance(value.value, str):
        raise BenchrunError(f"{value.value[:40]!r} is a word; a number is wanted")
    source = value.unit
    if dimension(unit) == "temperature difference":
        source = _DIFFERENCE.get(source, source)
    if source == "" and unit != "":
        return value.value
    return convert(value.value, source, unit)


def _rows(value: Given) -> Sequence[Given]:
    if isinstance(value, str):
        rows = [row for row in re.split(r"[;\n]", value[:_MOST_TEXT]) if row.strip()]
        if not rows:
            raise BenchrunError("type rows of numbers, a semicolon between rows")
        return rows
    if isinstance(value, Sequence):
        return value
    raise BenchrunError("rows of numbers are wanted")


def _points(text: str) -> str:
    """Points as rows of two numbers: `(9,34) (35,10)` and `9,34; 35,10` are pairs as well."""
    rows = _rows(re.sub(r"\)\s*[,;]?", ";", text.replace("(", "")))
    return "; ".join(
        str(row).replace(",", " ") if str(row).count(",") == 1 else str(row) for row in rows
    )


def _grid(value: Given, unit: str) -> tuple[tuple[Decimal, ...], ...]:
    rows = _rows(value)
    if not all(isinstance(row, str) for row in rows):
        return tuple(_row(row, unit) for row in rows)
    typed = [split(str(row)) for row in rows]
    suffix = shared_unit([item for items in typed for item in items])
    return tuple(_row(_with_unit(items, suffix), unit) for items in typed)


def _with_unit(items: Sequence[str], suffix: str) -> list[str]:
    return [f"{item}{suffix}" if suffix and is_bare(item) else item for item in items]


def _row(value: Given, unit: str) -> tuple[Decimal, ...]:
    if isinstance(value, str):
        typed = split(value)
        items: Sequence[Given] = _with_unit(typed, shared_unit(typed))
    elif isinstance(value, Sequence):
        items = value
    else:
        items = (value,)
    if not items:
        raise BenchrunError("type at least one number")
    if len(items) > _MOST_VALUES:
        raise BenchrunError(f"{len(items)} values are too many; {_MOST_VALUES} are the most")
    return tuple(_one(item, unit) for item in items)


def split(text: str) -> list[str]:
    """Split a typed list: at semicolons, at a comma with a blank, else at blanks.

    A comma without a blank is a decimal comma, unless the item has a point or another comma too.
    """
    if len(text) > _MOST_TEXT:
        raise BenchrunError(f"{len(text)} characters are too long for a list")
    if re.search(r";|,\s", text):
        parts = re.split(r"\s*(?:;|,\s)\s*", text.strip())
        parts = [part for part in parts if part]
        if any(len(_by_blanks(part)) > 1 for part in parts) and not _has_fractions(parts):
            parts = [item for part in parts for item in _by_blanks(part)]
    else:
        parts = _by_blanks(text)
    apart = [part.split(",") if _commas_separate(part) else [part] for part in parts]
    return [item.strip() for items in apart for item in items if item.strip()]


def _has_fractions(parts: list[str]) -> bool:
    return any("/" in part for part in parts)


def _commas_separate(part: str) -> bool:
    return part.count(",") > 1 or ("," in part and "." in part)


def _by_blanks(text: str) -> list[str]:
    items: list[str] = []
    for token in text.split():
        if items and not _BEGINS_NUMBER.match(token):
            items[-1] += f" {token}"
        else:
            items.append(token)
    return items


def shared_unit(items: Sequence[Given]) -> str:
    """A unit that stands after the last value alone and is meant for all; else nothing."""
    texts = [item for item in items if isinstance(item, str)]
    if len(texts) < 2 or not all(is_bare(text) for text in texts[:-1]):
        return ""
    match = _UNIT_AFTER.search(texts[-1])
    return f" {match[1]}" if match else ""


def _common_unit(inputs: Sequence[Input], values: Mapping[str, Given]) -> str:
    """The one unit in which the values of a sum that takes any dimension are reckoned."""
    for entry in inputs:
        if entry.kind.startswith("same") and entry.unit != "difference" and entry.name in values:
            unit = _unit_of(values[entry.name])
            if unit:
                return unit
    return ""


def _unit_of(value: Given) -> str:
    if isinstance(value, str):
        match = _UNIT_AFTER.search(value)
        return (canonical(match[1].strip()) or "") if match else ""
    if isinstance(value, Sequence):
        return next((unit for unit in map(_unit_of, value) if unit), "")
    return "" if isinstance(value, (Decimal, int)) else value.unit


def unit_typed(entry: Input, values: Mapping[str, Given]) -> str | None:
    """The unit that was typed with an input, by its canonical name; None where none was."""
    value = values.get(entry.name)
    if not isinstance(value, str) or entry.kind == "text" or entry.kind.startswith("same"):
        return None
    match = _UNIT_AFTER.search(value)
    return spelled(match[1].strip(), entry.unit) if match else None


def measured_range(text: str, unit: str) -> tuple[Decimal, Decimal]:
    """Read one size, or two with `..` or `to` between them, as least and most.

    Raises:
        BenchrunError: A part is no quantity, or the first is the larger.
    """
    parts = re.split(r"\s*(?:\.\.+|…|\bto\b)\s*", text)
    if len(parts) > 2:
        raise BenchrunError(f"{text[:40]!r} is not a size or a range such as 61.961..61.991")
    values = [read(part, unit) for part in parts]
    if len(values) == 2 and is_bare(parts[0]) and not is_bare(parts[1]):
        values[0] = Measure(parts[0], values[0].value, values[1].unit)
    low, high = values[0].to(unit), values[-1].to(unit)
    if low > high:
        raise BenchrunError(f"{in_words(low, unit)} to {in_words(high, unit)} runs backwards")
    return low, high
