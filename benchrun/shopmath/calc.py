"""A calculation: its inputs, its outputs, its function and its result."""

import builtins
import keyword
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Context, Decimal
from typing import Final, Literal, TypeAlias

from benchrun.errors import BenchrunError
from benchrun.quantity import Measure, convert, in_words, plain
from benchrun.shopmath import inputs

# 15 digits are more than any gauge gives and fewer than the noise of a division that does not end.
_KEPT: Final = Context(prec=15)
_WIDE: Final = Context(prec=120)
_DECIMALS: Final = {
    "mm": 4, "µm": 1, "in": 5, "thou": 2, "m": 3, "MPa": 2, "kN": 2, "N m": 2, "ft lb": 2,
    "degC": 1, "delta degC": 1, "K": 1, "%": 1, "g": 1, "ml": 1, "m²": 4, "l": 3, "min": 1,
    "m²/l": 2, "mm²": 2, "kg": 3, "µm/mm": 3, "g/ml": 3, "h": 2,
}  # fmt: skip

Kind = Literal[
    "number", "numbers", "grid", "points grid", "share", "text", "same", "same numbers", "same grid"
]
Given: TypeAlias = "str | Decimal | int | Measure | Amount | Sequence[Given]"


@dataclass(frozen=True, slots=True)
class Amount:
    """A value with its unit: a number, or a word such as a verdict (then without unit)."""

    value: Decimal | str
    unit: str = ""

    @property
    def number(self) -> Decimal:
        """The value as a number.

        Raises:
            BenchrunError: It is a word.
        """
        if isinstance(self.value, str):
            raise BenchrunError(f"{self.value!r} is a word; a number is wanted here")
        return self.value

    def to(self, unit: str) -> Decimal:
        """The number in another unit of the same dimension."""
        return convert(self.number, self.unit, unit)

    @property
    def exact(self) -> str:
        """The value as text for records: up to 15 significant digits, no exponent, no noise."""
        return self.value if isinstance(self.value, str) else tidy(self.value)

    @property
    def words(self) -> str:
        """The value as people read it, rounded to what the unit bears: `48.75 MPa`."""
        return self.value if isinstance(self.value, str) else said(self.value, self.unit)


def tidy(value: Decimal) -> str:
    """A number with up to 15 significant digits, without exponent and trailing zeros."""
    return plain(_KEPT.plus(value).normalize())


def rounded_to(value: Decimal, decimals: int) -> Decimal:
    """Round half even to a number of decimals, however long the number is."""
    return value.quantize(Decimal(1).scaleb(-decimals), context=_WIDE)


def said(value: Decimal, unit: str) -> str:
    """A number with its unit, rounded for display but never to fewer than 3 significant digits."""
    decimals = _DECIMALS.get(unit)
    rounded = Context(prec=5).plus(value)
    if decimals is not None:
        by_unit = rounded_to(value, decimals)
        if len(by_unit.as_tuple().digits) >= 3 or by_unit == value:
            rounded = by_unit
        else:
            rounded = Context(prec=3).plus(value)
    return in_words(Decimal(plain(rounded.normalize())), unit)


@dataclass(frozen=True, slots=True)
class Input:
    """One thing that a calculation is given.

    Attributes:
        name: As typed: `hub_od`.
        meaning: What it is, in a few words.
        unit: The unit it is taken in when typed without one, and the unit the function gets.
        kind: `number`, `numbers` (a list), `grid` (rows of them), `points grid`, `share` (0.75 or
            75 %), `text`, or `same…`: in whatever one unit this calculation's values are typed.
        needed: Whether the calculation cannot go without it.
        default: What it is when left out, as a person would type it.
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
    def parameter(self) -> str:
        """The function's parameter: lower case, with `_` after a word that Python keeps."""
        kept = keyword.iskeyword(self.name) or hasattr(builtins, self.name)
        return f"{self.name.lower()}_" if kept else self.name.lower()


@dataclass(frozen=True, slots=True)
class Output:
    """One thing that a calculation answers: its name, its unit (empty for a word) and meaning."""

    name: str
    unit: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Result:
    """The answer of a calculation.

    Attributes:
        outputs: Name to value and unit, in the order of the calculation's outputs.
        workings: The sums with their numbers put in, one line each.
        notes: What to know about this answer.
        cautions: What can hurt; to be shown before the answer is used.
        sources: Where the formula and the figures come from.
    """

    outputs: Mapping[str, Amount]
    workings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> Amount:
        return self.outputs[name]

    def as_data(self) -> dict[str, object]:
        """The form for JSON: outputs as decimal strings, cautions at the head of the notes."""
        return {
            "outputs": {
                name: {"value": amount.exact, "unit": amount.unit}
                for name, amount in self.outputs.items()
            },
            "notes": [f"Caution: {line}" for line in self.cautions] + list(self.notes),
            "sources": list(self.sources),
        }


@dataclass(frozen=True, slots=True)
class Calc:
    """One calculation, the same for a formula, a calculator, the command line and Python.

    Attributes:
        name: As called: `press_fit`.
        purpose: One line for a list.
        inputs: What it is given.
        outputs: What it may answer.
        function: The pure function behind it; takes Decimals in the inputs' units.
        example: Inputs that work, for help and trials.
        cautions: What can hurt, whatever the numbers.
        sources: Where formula and figures come from.
    """

    name: str
    purpose: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    function: Callable[..., Result]
    example: Mapping[str, str]
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    _by_name: Mapping[str, Input] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_name", {entry.name: entry for entry in self.inputs})

    def __call__(self, **values: Given) -> Result:
        """Work it out from keyword arguments: `press_fit(diameter="50 mm", hub_od="80 mm", …)`."""
        return self.work(values)

    def work(self, values: Mapping[str, Given]) -> Result:
        """Work it out.

        Args:
            values: Input name (a trailing `_` is ignored) to a text as typed at the bench, a
                Measure or Amount, a Decimal in the input's own unit, or lists of these.

        Raises:
            BenchrunError: A name is unknown, something is missing or is no quantity, or the sum
                makes no sense; the message says what and why.
        """
        known = {self._named(name): value for name, value in values.items()}
        arguments, remarks = inputs.arguments(self, known)
        result = self.function(**arguments)
        return Result(
            result.outputs,
            result.workings,
            (*remarks, *result.notes),
            (*self.cautions, *result.cautions),
            (*self.sources, *result.sources),
        )

    def _named(self, name: str) -> str:
        for candidate in (name, name.rstrip("_"), name.replace("-", "_")):
            if candidate in self._by_name:
                return candidate
        folded = [known for known in self._by_name if known.casefold() == name.casefold()]
        if len(folded) == 1:
            return folded[0]
        raise BenchrunError(
            f"{self.name} has no input {name[:40]!r}; it takes {', '.join(self._by_name)}"
        )


def refuse_unless(good: bool, name: str, value: Decimal, unit: str, because: str) -> None:
    """Refuse an input in one line that says what was found and why it cannot be."""
    if not good:
        raise BenchrunError(f"{name} is {said(value, unit)}: {because}")


def between(
    name: str,
    value: Decimal,
    unit: str,
    least: Decimal | int | str,
    most: Decimal | int | str,
    because: str,
) -> None:
    """Refuse a value below `least` or above `most`, both in the value's unit."""
    low, high = Decimal(least), Decimal(most)
    refuse_unless(
        low <= value <= high,
        name,
        value,
        unit,
        f"{because} ({said(low, unit)} to {said(high, unit)})",
    )


def positive(name: str, value: Decimal, unit: str) -> None:
    """Refuse zero and less."""
    refuse_unless(value > 0, name, value, unit, "it must be more than nothing")
