"""The pace of each step: what each part takes and what each go takes, with its spread.

From the past runs of a procedure, by the index as it stands; rehearsals do not count.
"""

import sqlite3
import statistics
from collections.abc import Mapping, Sequence
from contextlib import closing, suppress
from itertools import combinations
from pathlib import Path
from typing import Final

from benchrun.history import selections as select
from benchrun.history.estimates import look_in
from benchrun.lean_dataclass import lean_dataclass

ENOUGH_RUNS: Final = 5
"""From so many past runs on their own spread counts; below that it is a guess."""
GUESSED_LOW: Final = 0.7
"""The time that 10 of 100 stay under against the median, where it is a guess; from memory."""
GUESSED_HIGH: Final = 1.6
"""The same for 90 of 100."""
_LATEST: Final = 60


@lean_dataclass(frozen=True, slots=True)
class StepPace:
    """How long a step took in past runs; times are milliseconds.

    Attributes:
        each: The median for each part, or for each place of a reading.
        once: The median for each go, beside that.
        low: The time that 10 of 100 goes stay under, against the median.
        high: The same for 90 of 100.
        runs: How many past runs it rests on; rehearsals are none.
        stood: Whether it is the time that a load stood, not that of hands.
    """

    each: float
    once: float
    low: float
    high: float
    runs: int
    stood: bool = False

    @property
    def guessed(self) -> bool:
        """Whether its spread is a guess, for want of runs."""
        return self.runs < ENOUGH_RUNS


def paces_for(shop: Path, procedure: str, but: str = "") -> Mapping[str, StepPace]:
    """The pace of each step of a procedure that was timed; see `questions.step_times`.

    Args:
        shop: The shop's folder.
        procedure: The procedure's id.
        but: A run that does not count: the one that is going on.

    Returns:
        A pace for each step id; nothing where there is no index to be used.
    """
    with suppress(sqlite3.Error), closing(look_in(shop)) as store:
        found = {}
        for step in store.execute(select.TIMED, (procedure,)).fetchall():
            rows = store.execute(select.SPANS, (step[0], but, _LATEST)).fetchall()
            worked = [(ms, acts, run) for ms, acts, run, rehearsal in rows if not rehearsal]
            if worked:
                goes = [(ms, acts if step[7] else 1) for ms, acts, _ in worked]
                runs = len({run for _, _, run in worked})
                found[step[2]] = _pace(goes, runs, each=bool(step[7]), stood=step[4] == "dwell")
        return found
    return {}


def _pace(goes: Sequence[tuple[int, int]], runs: int, *, each: bool, stood: bool) -> StepPace:
    part, once = parted_times(goes) if each else (0.0, statistics.median(ms for ms, _ in goes))
    if runs < ENOUGH_RUNS:
        return StepPace(part, once, GUESSED_LOW, GUESSED_HIGH, runs, stood)
    ratios = sorted(ms / max(1.0, part * many + once) for ms, many in goes)
    low, high = (quantile(ratios, at) for at in (0.1, 0.9))
    return StepPace(part, once, min(low, 1.0), max(high, 1.0), runs, stood)


def parted_times(goes: Sequence[tuple[int, int]]) -> tuple[float, float]:
    """The time for each part and for each go, out of goes with differing numbers of parts.

    The slope is the median of those between any two goes, after Theil and Sen (P. K. Sen, J. Am.
    Stat. Assoc. 63, 1968); neither time is less than nothing. Goes that all have one number of
    parts cannot be parted: all of their time counts for each part.

    Args:
        goes: For each go its time and how many parts it had.
    """
    slopes = [
        (ms - other) / (many - fewer)
        for (ms, many), (other, fewer) in combinations(goes, 2)
        if many != fewer
    ]
    if not slopes:
        return statistics.median(ms / many for ms, many in goes), 0.0
    most = statistics.median(ms / many for ms, many in goes)
    each = min(max(0.0, statistics.median(slopes)), most)
    return each, max(0.0, statistics.median(ms - each * many for ms, many in goes))


def quantile(ordered: Sequence[float], share: float) -> float:
    """The value that a share of an ordered row stays under, between two by their distance."""
    place = (len(ordered) - 1) * share
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
