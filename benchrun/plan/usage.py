"""The usage of hands and vessels over time, for plans that place one train after the other."""

from bisect import bisect_left, insort
from typing import Final

EVER: Final = 1 << 40
"""Stands for the end of what has none."""

Interval = tuple[int, int, int]
"""From and to in minutes, and how much is taken."""


class Usage:
    """The times at which hands or a vessel are taken, each with how much of them.

    Args:
        holds: How much there is.
    """

    def __init__(self, holds: int) -> None:
        self.holds = holds
        self._taken: list[Interval] = []
        self._endless: list[Interval] = []
        self._longest = 0

    def add(self, interval: Interval) -> None:
        """Take it."""
        if interval[1] == EVER:
            self._endless.append(interval)
            return
        insort(self._taken, interval)
        self._longest = max(self._longest, interval[1] - interval[0])

    def drop(self, interval: Interval) -> None:
        """Take it no longer."""
        (self._endless if interval[1] == EVER else self._taken).remove(interval)

    def free_at(self, since: int, until: int, room: int) -> int | None:
        """None where there is room all the time; else the end of what is in the way."""
        if room > self.holds:
            return EVER
        first = bisect_left(self._taken, (since - self._longest,))
        last = bisect_left(self._taken, (until,))
        over = [one for one in self._taken[first:last] if since < one[1]]
        over += [one for one in self._endless if one[0] < until]
        if self.holds - room - sum(one[2] for one in over) >= 0:
            return None
        points = sorted({since, *(one[0] for one in over if one[0] > since)})
        for point in points:
            inside = [one for one in over if one[0] <= point < one[1]]
            if sum(one[2] for one in inside) + room > self.holds:
                return min(one[1] for one in inside)
        return None
