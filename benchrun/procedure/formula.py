"""Formulas of procedures: arithmetic with units over readings, and conditions on them.

bore_mean - ring <= 0.03 mm and cracks is "none seen"
spread(bore)                        mean, least, most, spread and count draw readings together
limits(size=62 mm, class="P7").size_max      one of the shop's sums, and which output is meant
"""

from collections.abc import Iterator, Mapping, Set
from dataclasses import field, fields
from functools import cached_property
from itertools import pairwise

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.evaluate import Known, Missing, work_out
from benchrun.procedure.grammar import CHOICE, parse, pass_name
from benchrun.procedure.kinds import Names, kind_of
from benchrun.procedure.nodes import Call, Compare, FormulaError, Name, Node, Number, Words
from benchrun.procedure.units import UnitKind, UnitValue, measure
from benchrun.quantity import Measure

__all__ = ["Formula", "FormulaError", "Known", "Missing", "parse_formula"]


@lean_dataclass(frozen=True)
class Formula:
    """A formula that was read; two are equal when their texts are.

    Attributes:
        text: The formula as written.
        tree: What it was read as.
    """

    text: str
    tree: Node = field(compare=False, repr=False)

    @cached_property
    def reads(self) -> frozenset[str]:
        """The names that it reads."""
        return frozenset(node.name for node in _nodes(self.tree) if isinstance(node, Name))

    @cached_property
    def names(self) -> frozenset[str]:
        """The names that it reads, whichever passes of a repeat it means."""
        return frozenset(pass_name(name)[1] for name in self.reads)

    @cached_property
    def bare(self) -> frozenset[str]:
        """The names that it reads one value of: those outside mean, least, sums and the like."""
        return frozenset(
            node.name for node in _nodes(self.tree, drawn=False) if isinstance(node, Name)
        )

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        """Every part of its tree, itself first."""
        return tuple(_nodes(self.tree))

    @cached_property
    def has_figures(self) -> bool:
        """Whether a number stands in it."""
        return any(isinstance(node, Number) for node in _nodes(self.tree))

    @cached_property
    def compared(self) -> tuple[tuple[str, str, int], ...]:
        """Each name that is compared with a text: the name, the text, the offset of the text."""
        pairs: list[tuple[str, str, int]] = []
        for node in _nodes(self.tree):
            if isinstance(node, Compare):
                sides = [node.first, *(part for _, part in node.rest)]
                for left, other in pairwise(sides):
                    for name, text in ((left, other), (other, left)):
                        if isinstance(name, Name) and isinstance(text, Words):
                            pairs.append((name.name, text.text, text.at))
        return tuple(pairs)

    def value(self, known: Mapping[str, Known], unit: str | None = None) -> Measure | bool | str:
        """Work it out.

        Args:
            known: What is known of the part: a reading, the readings at several places (a tuple),
                or the text of a finding.
            unit: The unit that a quantity is wanted in; None leaves its own.

        Returns:
            A measure, or True or False for a condition, or a text.

        Raises:
            Missing: The result depends on a name that is not known. `and` and `or` are decided by
                their known side where it settles them.
            FormulaError: The sum cannot be done.
        """
        result = work_out(self.tree, known)
        if isinstance(result, tuple):
            raise FormulaError(
                f"{self.text!r} is several values: draw them together with mean or most"
            )
        if isinstance(result, UnitValue):
            return measure(result, unit)
        return result

    def kind(self, dims: Mapping[str, str], many: Set[str] = frozenset()) -> UnitKind:
        """The kind it comes to, see `dimension`; `many` are the names that hold several values.

        Raises:
            FormulaError: Its parts do not go together; the error knows where.
        """
        return kind_of(self.tree, Names(dims, many))

    def dimension(self, dims: Mapping[str, str], many: Set[str] = frozenset()) -> str:
        """The kind of its value.

        Args:
            dims: For each name the dimension of its unit, or `finding`.
            many: The names that hold several values (a grid; all parts of a batch).

        Returns:
            A dimension such as `length`, or `condition`, `finding`, or empty for a product that
            no unit of the table measures.

        Raises:
            FormulaError: Its parts do not go together; the error knows where.
        """
        return self.kind(dims, many).dimension


def parse_formula(text: str) -> Formula:
    """Read a formula.

    Args:
        text: The formula, at most 400 characters.

    Raises:
        FormulaError: It cannot be read; the error knows the offset.
    """
    return Formula(text, parse(text))


def _nodes(node: Node, *, drawn: bool = True) -> Iterator[Node]:
    """The node and all below it; without those that are drawn together where `drawn` is False."""
    yield node
    if not drawn and isinstance(node, Call) and node.name != CHOICE:
        return
    for part_field in fields(node):
        yield from _below(getattr(node, part_field.name), drawn)


def _below(part: object, drawn: bool) -> Iterator[Node]:
    if isinstance(part, tuple):
        for child in part:
            yield from _below(child, drawn)
    elif isinstance(part, Node):
        yield from _nodes(part, drawn=drawn)
