"""A calculation of the shop: its inputs, its outputs, its function and its result."""

from collections.abc import Callable, Mapping
from dataclasses import field, replace
from typing import Final, Protocol

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount
from benchrun.shopmath.answer_units import answers_as_typed, answers_in
from benchrun.shopmath.inputs import Given, Input, arguments

# What every sum takes besides its own inputs.
ANSWER_UNITS: Final = Input("in", "units of the answer, if others: ft lb, thou", kind="text")


@lean_dataclass(frozen=True, slots=True)
class Output:
    """One thing that a calculation answers.

    Attributes:
        name: Its name.
        unit: Its unit, empty for a word.
        meaning: What it is, in a few words.
        fixed: Whether it is there for its unit and stays in it, whatever was typed or asked for.
    """

    name: str
    unit: str
    meaning: str
    fixed: bool = False


@lean_dataclass(frozen=True, slots=True)
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


class Sum(Protocol):
    """A sum of many inputs: a dataclass of them that works itself out."""

    def result(self) -> Result:
        """Work it out.

        Raises:
            BenchrunError: The inputs make no sense together.
        """


@lean_dataclass(frozen=True, slots=True)
class Calc:
    """One calculation, the same for a formula, a calculator, the command line and Python.

    Attributes:
        name: As called: `press_fit`.
        purpose: One line for a list.
        inputs: What it is given.
        outputs: What it may answer.
        function: The pure function behind it, or the class of a `Sum`; takes Decimals in the
            inputs' units, by name.
        example: Inputs that work, for help and trials.
        cautions: What can hurt, whatever the numbers.
        sources: Where formula and figures come from.
        convention: In one line how its values are counted: diameter or radius, one side or both.
    """

    name: str
    purpose: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    function: Callable[..., Result | Sum]
    example: Mapping[str, str]
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    convention: str = ""
    _by_name: Mapping[str, Input] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_name", {entry.name: entry for entry in self.entries})

    @property
    def entries(self) -> tuple[Input, ...]:
        """All that may be typed: its inputs, and the units of the answer."""
        return (*self.inputs, ANSWER_UNITS)

    def __call__(self, **values: Given) -> Result:
        """Work it out from keyword arguments: `press_fit(diameter="50 mm", hub_od="80 mm", …)`."""
        return self.work(values)

    def work(self, values: Mapping[str, Given]) -> Result:
        """Work it out.

        Args:
            values: Input name (a trailing `_` is ignored) to a text as typed at the bench, a
                Measure or Amount, a Decimal in the input's own unit, or lists of these. `in` is
                the unit or units wanted for the answer.

        Raises:
            BenchrunError: A name is unknown, something is missing or is no quantity, or the sum
                makes no sense; the message says what and why.
        """
        known = {self._named(name): value for name, value in values.items()}
        units = known.pop(ANSWER_UNITS.name, "")
        taken, remarks = arguments(self.name, self.inputs, known)
        answer = self.function(**taken)
        result = answer if isinstance(answer, Result) else answer.result()
        return Result(
            answers_in(result.outputs, str(units), self._fixed),
            result.workings,
            (*filter(None, (self.convention,)), *remarks, *result.notes),
            (*self.cautions, *result.cautions),
            (*self.sources, *result.sources),
        )

    @property
    def _fixed(self) -> frozenset[str]:
        """The answers that stay in their unit."""
        return frozenset(output.name for output in self.outputs if output.fixed)

    def read_out(self, values: Mapping[str, Given]) -> Result:
        """Work it out for people: the answers in the units in which they typed.

        Raises:
            BenchrunError: As `work`.
        """
        result = self.work(values)
        known = {self._named(name): value for name, value in values.items()}
        if known.get(ANSWER_UNITS.name):
            return result
        return replace(
            result, outputs=answers_as_typed(result.outputs, self.inputs, known, self._fixed)
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
