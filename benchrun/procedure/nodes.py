"""The parts that a formula is read as, each with the offset of its first character."""

from decimal import Decimal

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass


class FormulaError(BenchrunError):
    """A formula that cannot be read or worked out.

    Args:
        message: What is wrong, what was found, what would do.
        at: The offset in the formula's text where it shows, from 0.
    """

    def __init__(self, message: str, at: int = 0) -> None:
        super().__init__(message)
        self.at = at


@lean_dataclass(frozen=True, slots=True)
class Number:
    """A number with its unit (empty for a plain number)."""

    at: int
    value: Decimal
    unit: str


@lean_dataclass(frozen=True, slots=True)
class Words:
    """A text in quotation marks: a finding, or a class such as "P7"."""

    at: int
    text: str


@lean_dataclass(frozen=True, slots=True)
class Name:
    """The name of a reading, a finding or a worked-out value."""

    at: int
    name: str


@lean_dataclass(frozen=True, slots=True)
class Call:
    """An aggregate, or one of the shop's sums with the output that is meant."""

    at: int
    name: str
    args: "tuple[Node, ...]"
    named: "tuple[tuple[str, Node], ...]" = ()
    output: str = ""


@lean_dataclass(frozen=True, slots=True)
class Negate:
    """The value with its sign turned."""

    at: int
    operand: "Node"


@lean_dataclass(frozen=True, slots=True)
class Addition:
    """Two values joined by `+ - * /`."""

    at: int
    sign: str
    left: "Node"
    right: "Node"


@lean_dataclass(frozen=True, slots=True)
class Power:
    """A value multiplied with itself a small intact number of times."""

    at: int
    base: "Node"
    exponent: int


@lean_dataclass(frozen=True, slots=True)
class Compare:
    """A chain of comparisons, such as `61.9 mm <= bore < 62 mm`."""

    at: int
    first: "Node"
    rest: "tuple[tuple[str, Node], ...]"


@lean_dataclass(frozen=True, slots=True)
class Join:
    """Conditions joined by `and`, or by `or`."""

    at: int
    word: str
    parts: "tuple[Node, ...]"


@lean_dataclass(frozen=True, slots=True)
class Not:
    """A condition turned round."""

    at: int
    operand: "Node"


Node = Number | Words | Name | Call | Negate | Addition | Power | Compare | Join | Not
