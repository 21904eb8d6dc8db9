"""How values, times and lists of parts are worded in every form of a report."""

from collections.abc import Iterable, Sequence
from typing import Final

from benchrun.account.facts import RunFacts
from benchrun.part_names import part_names

_LARGE: Final = 12
_FEW_LEFT: Final = 3
MANY: Final = 24
"""More parts than these are named in few words, by the common word of their tags."""


def clock(utc: str) -> str:
    """Time of day to the second."""
    return utc[11:19]


def parts_words(parts: Iterable[str], all_parts: Iterable[str]) -> str:
    """Name parts; the whole of a batch is said as such, and nearly the whole of a large one."""
    named, batch = tuple(parts), tuple(all_parts)
    if len(named) > 1 and set(named) == set(batch):
        return "both parts" if len(named) == 2 else f"all {len(named)} parts"
    left = [part for part in batch if part not in set(named)]
    if len(batch) > _LARGE and len(left) <= _FEW_LEFT and set(named) < set(batch):
        return f"all but {part_names(left)}"
    return part_names(named)


def job_parts_words(parts: Iterable[str], run: RunFacts, runs: Sequence[RunFacts]) -> str:
    """Name parts of a run; of a job only all parts of the whole job are said as such."""
    everything = dict.fromkeys(part.part for one in runs for part in one.parts)
    return parts_words(parts, (part.part for part in run.parts) if len(runs) == 1 else everything)
