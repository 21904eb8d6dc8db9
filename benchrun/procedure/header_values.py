"""Values that a procedure's header names: those of the kinds of part, and figures."""

from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import Measure

KIND: Final = "kind"
"""The name under which formulas and tables ask for the kind of a part."""
JOB: Final = "job"
SUPPLY: Final = "supply"
INSTRUMENT: Final = "instrument"


@lean_dataclass(frozen=True, slots=True)
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


@lean_dataclass(frozen=True, slots=True)
class Figure:
    """A quantity that the procedure does not know: a manual, a data sheet or a paper says it.

    Attributes:
        name: What formulas call it.
        ask: What is asked for.
        unit: The unit it is asked for in.
        low, high: The band it plausibly lies in; outside it is warned of and never refused.
        belongs: Whose book keeps it: `job`, `supply` or `instrument`.
        of: Which supply or instrument of the needs.
        optional: Whether the run may go on without it; limits that rest on it then fall away.
        source: Where the procedure says that the band is known from.
    """

    name: str
    ask: str
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None
    belongs: str = JOB
    of: str = ""
    optional: bool = False
    source: str = ""

    def plausible(self, number: Decimal) -> bool:
        """Whether a number in its unit lies in the band."""
        under = self.low is not None and number < self.low
        return not under and not (self.high is not None and number > self.high)
