"""Things to ask about: procedures, values, parts and instruments that the index knows."""

from typing import Final

from benchrun.history import selections as select
from benchrun.history.answers import StepWords
from benchrun.history.index import History
from benchrun.lean_dataclass import lean_dataclass

MOST: Final = 400
"""How many parts are offered, those worked last first."""


@lean_dataclass(frozen=True, slots=True)
class KnownProcedure:
    """A procedure that was worked, under the title of its latest run."""

    id: str
    title: str
    runs: int


@lean_dataclass(frozen=True, slots=True)
class KnownPart:
    """A part by its tag, with the numbers on it in its latest run."""

    part: str
    identity: str
    runs: int


def known_procedures(history: History) -> tuple[KnownProcedure, ...]:
    """The procedures that were worked, the latest first."""
    rows = history.store.execute(select.KNOWN_PROCEDURES)
    return tuple(KnownProcedure(*row[:3]) for row in rows)


def known_values(history: History, procedure: str) -> tuple[StepWords, ...]:
    """The steps of a procedure that left values, in its order."""
    rows = history.store.execute(select.KNOWN_VALUES, (procedure,))
    return tuple(StepWords(*row) for row in rows)


def indexed_parts(history: History) -> tuple[KnownPart, ...]:
    """The parts that were worked, the latest first, `MOST` of them."""
    rows = history.store.execute(select.KNOWN_PARTS, (MOST,))
    return tuple(KnownPart(*row[:3]) for row in rows)


def known_tools(history: History) -> tuple[str, ...]:
    """The instruments that measured something, by name."""
    return tuple(name for (name,) in history.store.execute(select.KNOWN_TOOLS))


def count_values(history: History) -> int:
    """How many values the index holds."""
    return int(history.store.execute("SELECT count(*) FROM readings").fetchone()[0])
