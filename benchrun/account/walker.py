"""A walker: one that takes the entries of the kinds which it tells of, out of the one walk."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.run import entries as e
from benchrun.run.state import Run

Taker = Callable[[e.Entry, Any], None]
"""Takes an entry, given with its data."""

Takers = Mapping[type, Taker]
"""The ways of a walker with entries, by the class of their data; others do not come to it.

A walker makes them when it is asked: if it held on to them, they and it would hold each other, and
a log that was told would stay in memory until Python searches for such circles.
"""

EVERY_KIND: Final = tuple(e.KINDS.values())


@lean_dataclass(slots=True)
class Around:
    """The surroundings of the entry in hand, for walkers that need more than that entry.

    Attributes:
        before, after: The run before that entry and after it.
        last: The entry before that one; None at the first.
    """

    before: Run
    after: Run
    last: e.Entry | None = None
