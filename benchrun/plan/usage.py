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
        spare = self.holds - room
        if spare < 0:
            return EVER
        # Most of what the placing of trains takes is spent here: so it looks at each once.
        taken, over, amount = self._taken, list[Interval](), 0
        for at in range(bisect_left(taken, (since - self._longest,)), len(taken)):
            one = taken[at]
            if one[0] >= until:
                break
            if since < one[1]:
                over.append(one)
                amount += one[2]
        for one in self._endless:
            if one[0] < until:
                over.append(one)
                amount += one[2]
        return None if amount <= spare else _first_end(over, since, spare)


def _first_end(over: list[Interval], since: int, spare: int) -> int | None:
    """The first end among those that take more than there is to spare at some minute."""
    for point in sorted({since, *(one[0] for one in over if one[0] > since)}):
        end, amount = EVER, 0
        for begins, ends, much in over:
            if begins <= point < ends:
                amount += much
                end = min(end, ends)
        if amount > spare:
            return end
    return None
