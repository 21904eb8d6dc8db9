"""The time at work in runs, entry by entry, by the index as it stands."""

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing, suppress
from pathlib import Path
from typing import Final

from benchrun.history.estimates import look_in

_SPANS_OF_RUN: Final = """
SELECT s.n, s.ms FROM spans s JOIN runs r ON r.id = s.run JOIN steps t ON t.id = s.step
WHERE r.name = ? AND t.kind <> 'dwell' AND t.waits = 0
"""


def worked_in(shop: Path, runs: Iterable[str]) -> Mapping[str, Mapping[int, int]]:
    """For each run the milliseconds at work by entry; nothing where there is no index.

    What counts as work is said at `questions.step_times`: no dwell, no break, no waiting for a
    window to open.

    Args:
        shop: The shop's folder.
        runs: The ids of the runs.
    """
    with suppress(sqlite3.Error), closing(look_in(shop)) as store:
        return {run: dict(store.execute(_SPANS_OF_RUN, (run,)).fetchall()) for run in runs}
    return {}
