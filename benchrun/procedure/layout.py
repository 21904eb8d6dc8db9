"""A route while it is being laid out, with what the checks need to point into the file."""

from collections.abc import Mapping
from dataclasses import field

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula
from benchrun.procedure.marked import Path
from benchrun.procedure.route import Load, Op, Route, Step, Vessel


@lean_dataclass(slots=True)
class Layout:
    """The finds of laying out, for the checks that look at the whole.

    Attributes:
        paths: Where each step stands in the file.
        conditions: The conditions of guards and repeats: the op's index, the formula, its path.
        generated: The ids of steps that no line of the file stands for.
        unnamed: The ids that were made of a step's words.
    """

    ops: list[Op] = field(default_factory=list)
    within: list[tuple[int, ...]] = field(default_factory=list)
    steps: dict[str, Step] = field(default_factory=dict)
    index: dict[str, int] = field(default_factory=dict)
    paths: dict[str, Path] = field(default_factory=dict)
    conditions: list[tuple[int, Formula, Path]] = field(default_factory=list)
    generated: set[str] = field(default_factory=set)
    unnamed: set[str] = field(default_factory=set)
    keys: dict[str, Path] = field(default_factory=dict)
    loads: dict[str, Load] = field(default_factory=dict)

    def route(self, vessels: Mapping[str, Vessel]) -> Route:
        """The route as it stands."""
        ops, within = tuple(self.ops), tuple(self.within)
        return Route(ops, within, self.steps, self.index, vessels, loads=self.loads)
