"""The names that the steps of a procedure may refer to, gathered while they are laid."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import field
from decimal import Decimal

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.marked import Path
from benchrun.procedure.problems import Problems
from benchrun.text import meant


@lean_dataclass(frozen=True, slots=True)
class Named:
    """The meaning of a name of the procedure.

    Attributes:
        step: The id of the step that writes it; empty where it is known from the begin.
        unit: The unit of a quantity; empty for a finding.
        dimension: What the unit measures, or `finding`.
        many: Whether it holds several values (a grid, or repeated measurements).
        findings: The findings it can be.
        passing: Those of them with which a part may go on.
        path: Where it is written, in the file.
        branches: The ways of the forks that its step stands in, so that another way may write the
            name too.
        low, high: Between which limits a quantity lies, in its unit, where that is known at once.
        either: Whether steps of several ways write it.
        whole: Whether it has one value for the whole run, not one a part.
    """

    step: str
    unit: str
    dimension: str
    many: bool
    findings: tuple[str, ...]
    path: Path
    passing: tuple[str, ...] = ()
    whole: bool = False
    branches: tuple[tuple[str, str], ...] = ()
    either: bool = False
    low: Decimal | None = None
    high: Decimal | None = None


@lean_dataclass(slots=True)
class Surroundings:
    """The things that the steps of a procedure refer to."""

    problems: Problems
    vessels: Mapping[str, object]
    instruments: Sequence[str]
    supplies: Sequence[str] = ()
    names: dict[str, Named] = field(default_factory=dict)
    lost: Set[str] = frozenset()
    pair: Sequence[str] = ()
    calibrated: Set[str] = frozenset()


def needed(name: str, known: Sequence[str], key: str) -> str:
    """Say what would do where a name is not among what is needed."""
    return meant(name, known) if known else f"write it under `{key}` of the needs"
