"""A point in time as the log keeps it, and how long it was between two of them.

A moment holds wall time, the boot clock (which counts sleep), the boot's id and whether the wall
clock was known to be in step. Elapsed time is an interval: what is proven by boot clocks alone,
and what is possible by wall clocks that were in step.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import field
from functools import lru_cache
from typing import Final

from benchrun.lean_dataclass import lean_dataclass

PROCESS: Final = "process-"
"""Begins what stands for the boot's id where a system has none: each process counts as a boot."""


@lean_dataclass(frozen=True, slots=True)
class Moment:
    """A point in time.

    Attributes:
        utc_ms: Wall time, milliseconds since 1970-01-01T00:00:00Z.
        up_ms: Milliseconds on the boot clock, sleep included.
        boot: The id of this boot of this machine; two boots never share one.
        sync: Whether the wall clock was known to be in step with a time source.
    """

    utc_ms: int
    up_ms: int
    boot: str
    sync: bool

    @property
    def knows_boot(self) -> bool:
        """Whether it was told by a clock that counts sleep, in a boot with an id."""
        return not self.boot.startswith(PROCESS)

    @property
    def utc(self) -> str:
        """Wall time as RFC 3339 text with milliseconds, `2026-11-25T14:02:18.041Z`."""
        minute, ms = divmod(self.utc_ms, 60_000)
        return f"{_minute_text(minute)}{ms // 1000:02d}.{ms % 1000:03d}Z"

    def as_data(self) -> dict[str, str | int | bool]:
        """The form that a line of the log holds."""
        return {"utc": self.utc, "up_ms": self.up_ms, "boot": self.boot, "sync": self.sync}


@lru_cache(maxsize=256)
def _minute_text(minute: int) -> str:
    """A minute since 1970 as text, up to its seconds; one moment is told several times over."""
    return dt.datetime.fromtimestamp(minute * 60, dt.UTC).isoformat()[:17]


def utc_ms(text: str) -> int:
    """Milliseconds since 1970 of a time written as `Moment.utc` writes it.

    Raises:
        ValueError: The text is not in that form.
    """
    if len(text) != 24 or text[19] != "." or text[23] != "Z":
        raise ValueError(f"{text[:40]!r} is not a time like 2026-11-25T14:02:18.041Z")
    when = dt.datetime.fromisoformat(text[:-1]).replace(tzinfo=dt.UTC)
    return int(when.timestamp()) * 1000 + int(text[20:23])


@lean_dataclass(frozen=True, slots=True)
class Elapsed:
    """How long it was: at least `proven_ms`, at most `possible_ms` (None: nobody can say).

    Attributes:
        told_late: Whether the two differ for a late entry alone, and for no restart.
    """

    proven_ms: int
    possible_ms: int | None
    told_late: bool = field(default=False, compare=False)

    @property
    def exact(self) -> bool:
        """Whether the two bounds agree, so that there is no doubt."""
        return self.proven_ms == self.possible_ms


@lean_dataclass(frozen=True, slots=True)
class Mark:
    """A point on a timeline that can be measured from later.

    Attributes:
        utc_ms: What the clock on the wall said then, in step or not.
    """

    proven_ms: int
    boot: str
    up_ms: int
    utc_ms: int = 0


@lean_dataclass(frozen=True, slots=True)
class _Boot:
    """The facts of one boot: its last uptime seen, and wall minus uptime if ever in step."""

    up_ms: int
    offset_ms: int | None


_UNSEEN: Final = _Boot(0, None)


@lean_dataclass(frozen=True, slots=True)
class Timeline:
    """All moments of one log so far, folded to what measuring between them needs.

    `proven_ms` is the running sum of same-boot differences and of the uptime of each boot not seen
    before; a boot's wall offset is known only if its clock was ever in step. Where two clocks in
    step show that less time lies between, as when a log goes on at another machine that was up
    already, the uptime counts only as far as they show; coming back to an older boot adds nothing.

    Attributes:
        boot: The boot of the last moment, empty before the first; its facts are `now`.
        others: The facts of the boots before it.
        here: The moment that was taken in last with its mark, for which most entries ask.
    """

    proven_ms: int = 0
    boot: str = ""
    now: _Boot = _UNSEEN
    others: Mapping[str, _Boot] = field(default_factory=dict)
    here: tuple[Moment, Mark] | None = field(default=None, compare=False)

    def then(self, at: Moment) -> "Timeline":
        """The timeline one moment later."""
        boot, up_ms = at.boot, at.up_ms
        seen, others = self.now, self.others
        if boot == self.boot:
            proven_ms = self.proven_ms + max(0, up_ms - seen.up_ms)
        else:
            proven_ms = self._proven_at(at)
            if self.boot:
                others = {**others, self.boot: seen}
            seen = others.get(boot, _UNSEEN)
        offset_ms = at.utc_ms - up_ms if at.sync else seen.offset_ms
        mark = Mark(proven_ms, boot, up_ms, at.utc_ms)
        now = _Boot(max(up_ms, seen.up_ms), offset_ms)
        return Timeline(proven_ms, boot, now, others, (at, mark))

    def _proven_at(self, at: Moment) -> int:
        if at.boot == self.boot:
            return self.proven_ms + max(0, at.up_ms - self.now.up_ms)
        # The time since an older boot may be counted already, by the boot that came between.
        seen_first = self.boot != "" and at.boot not in self.others
        return self.proven_ms + (min(at.up_ms, self._gap(at)) if seen_first else 0)

    def _gap(self, at: Moment) -> int:
        """The wall time between the last moment and this one; all of it if unknown."""
        before = self._wall(self.boot, self.now.up_ms)
        return at.up_ms if before is None or not at.sync else max(0, at.utc_ms - before)

    def mark(self, at: Moment) -> Mark:
        """Mark a moment that has been, or is about to be, taken into this timeline."""
        here = self.here
        if here is not None and here[0] is at:
            return here[1]
        return Mark(self._proven_at(at), at.boot, at.up_ms, at.utc_ms)

    def elapsed(self, since: Mark, at: Moment) -> Elapsed:
        """How long it is from a mark to a moment."""
        if since.boot == at.boot:
            exact = max(0, at.up_ms - since.up_ms)
            return Elapsed(exact, exact)
        proven = max(0, self._proven_at(at) - since.proven_ms)
        begin, end = self._wall(since.boot, since.up_ms), self._wall_now(at)
        if begin is None or end is None:
            return Elapsed(proven, None)
        return Elapsed(proven, max(proven, end - begin))

    def between(self, since: Mark, until: Mark) -> Elapsed:
        """How long it is from one mark to a later one."""
        if since.boot == until.boot:
            exact = max(0, until.up_ms - since.up_ms)
            return Elapsed(exact, exact)
        proven = max(0, until.proven_ms - since.proven_ms)
        begin, end = self._wall(since.boot, since.up_ms), self._wall(until.boot, until.up_ms)
        if begin is None or end is None:
            return Elapsed(proven, None)
        return Elapsed(proven, max(proven, end - begin))

    def _wall(self, boot: str, up_ms: int) -> int | None:
        seen = self.now if boot == self.boot else self.others.get(boot)
        return None if seen is None or seen.offset_ms is None else up_ms + seen.offset_ms

    def _wall_now(self, at: Moment) -> int | None:
        return at.utc_ms if at.sync else self._wall(at.boot, at.up_ms)
