"""Values that a procedure's header names: those that differ by the kind of a part."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from benchrun.quantity import Measure

KIND: Final = "kind"
"""The name under which formulas and tables ask for the kind of a part."""


@dataclass(frozen=True, slots=True)
class PartKind:
    """A kind of part.

    Attributes:
        id: Its short name, which formulas compare `kind` with.
        title: What a part of this kind is called.
        values: What is of its own: quantities, and words.
    """

    id: str
    title: str
    values: Mapping[str, Measure | str] = field(default_factory=dict)
