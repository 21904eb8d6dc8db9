"""Estimates of how long a step and a run take; by the index as it stands, if there is one.

Nothing here waits for logs: an index that is missing, damaged or in use says nothing. What makes
the index is imported by what brings it up to date.
"""

import sqlite3
import statistics
from collections.abc import Mapping, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.history import selections as select
from benchrun.history.store import NAME, VERSION
from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import count, span

SHORT_WORK: Final = 100
"""How many unread runs are read in passing; more are left to the first question."""

_WAIT_S: Final = 0.2


@lean_dataclass(frozen=True, slots=True)
class Estimate:
    """How long something took in past runs, in milliseconds.

    Attributes:
        per: What that is the time of, such as `a part`; empty for the whole.
        runs: In how many runs.
        rehearsed: Whether these were rehearsals.
    """

    median: int
    least: int
    most: int
    per: str
    runs: int
    rehearsed: bool = False

    @property
    def words(self) -> str:
        """In words: `about 25 min a part (12 min to 40 min in 6 past runs)`."""
        per = f" {self.per}" if self.per else ""
        return f"about {about(self.median)}{per} ({self._range()}in {self._where()})"

    def _range(self) -> str:
        least, most = about(self.least), about(self.most)
        return f"{least} to {most} " if least != most else ""

    def _where(self) -> str:
        return count(self.runs, "rehearsal" if self.rehearsed else "past run")


def about(ms: int) -> str:
    """A length of time as one says it who has not measured: `45 s`, `12 min`, `1 h 25 min`."""
    for below, step in ((90_000, 5_000), (3_600_000, 60_000), (172_800_000, 300_000)):
        if ms < below:
            return span(max(step, (ms + step // 2) // step * step))
    return span((ms + 1_800_000) // 3_600_000 * 3_600_000)


def estimates_for(shop: Path, procedure: str, but: str = "") -> Mapping[str, Estimate]:
    """Estimates for each step of a procedure; see `questions.step_times` for what counts.

    Args:
        shop: The shop's folder.
        procedure: The procedure's id.
        but: A run that does not count: the one that is going on.

    Returns:
        An estimate for each step id that was timed; nothing where there is no index to be used.
    """
    with suppress(sqlite3.Error), closing(look_in(shop)) as store:
        from benchrun.history.questions import times_in

        return {
            times.step.step: Estimate(
                times.median, times.least, times.most, times.per, times.runs, times.rehearsed
            )
            for times in times_in(store, procedure, but=but)
        }
    return {}


def run_words(shop: Path, procedure: str) -> str:
    """The estimate by past runs of a whole run, in one sentence; empty where they say nothing."""
    with suppress(sqlite3.Error), closing(look_in(shop)) as store:
        rows = store.execute(select.WORKED, (procedure, select.LATEST)).fetchall()
        worked = [row for row in rows if not row[3]]
        if rows:
            return _run_words(worked or rows, rehearsed=not worked)
    return ""


def _run_words(rows: Sequence[tuple[int, int, int, int]], *, rehearsed: bool) -> str:
    work, whole, parts = (sorted(row[at] for row in rows) for at in range(3))
    estimate = Estimate(
        int(statistics.median(work)), work[0], work[-1], "", len(rows), rehearsed
    ).words
    batch = str(parts[0]) if parts[0] == parts[-1] else f"{parts[0]} to {parts[-1]}"
    what = f"of {batch} {'part' if batch == '1' else 'parts'}"
    begun_to_closed = about(int(statistics.median(whole)))
    return f"at work {estimate[:-1]} {what}), from beginning to close {begun_to_closed}"


def look_in(shop: Path) -> sqlite3.Connection:
    """Open the index to be read only.

    Raises:
        sqlite3.Error: There is none, it is damaged, or of another version.
    """
    uri = f"{(shop / NAME).resolve().as_uri()}?mode=ro"
    store = sqlite3.connect(uri, uri=True, timeout=_WAIT_S)
    try:
        if store.execute("PRAGMA user_version").fetchone()[0] != VERSION:
            raise sqlite3.DatabaseError
    except BaseException:
        store.close()
        raise
    return store


def keep_up(shop: Path) -> None:
    """Read on what is new in the logs, where that is short work; otherwise leave it be.

    Meant to be called in passing: whatever stands in the way is told by the first question.
    """
    from benchrun.history.index import History

    with suppress(BenchrunError), History(shop) as history:
        if history.unread() <= SHORT_WORK:
            history.refresh()
