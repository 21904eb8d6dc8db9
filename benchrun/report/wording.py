"""How values, times and lists of parts are worded in every form of a report."""

from collections.abc import Iterable
from typing import Final

from benchrun.text import listed

_LARGE: Final = 12
_FEW_LEFT: Final = 3


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
        return f"all but {listed(left)}"
    return listed(named, most=60)
