"""Things worked out of a run at a moment, kept for as long as that moment is asked about.

One page asks for the same offers and clocks of the same run at the same moment several times over.
"""

import weakref
from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from benchrun.moment import Moment
from benchrun.run.state import Run

T = TypeVar("T")


def remembered(worked_out: Callable[[Run, Moment], T]) -> Callable[[Run, Moment], T]:
    """The same function, which works nothing out again for the same run at the same moment.

    A run is kept alive by nothing here; it never changes, so that its identity stands for it. What
    was worked out of it goes with it: an hour with fifty clocks would leave ten megabytes behind.
    """
    known: dict[int, tuple[weakref.ref[Run], Moment, T]] = {}

    @wraps(worked_out)
    def asked(run: Run, at: Moment) -> T:
        last = known.get(id(run))
        if last is not None and last[0]() is run and last[1] == at:
            return last[2]
        result = worked_out(run, at)
        known[id(run)] = (weakref.ref(run, gone_from(id(run))), at, result)
        return result

    def gone_from(key: int) -> Callable[[weakref.ref[Run]], None]:
        def gone(dead: weakref.ref[Run]) -> None:
            held = known.get(key)
            if held is not None and held[0] is dead:
                del known[key]

        return gone

    return asked
