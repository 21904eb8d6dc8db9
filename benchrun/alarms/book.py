"""The book of what calls: which calls are silenced and until when, and when to ring.

A call stands until somebody acts. Silence is for that call, for its own short time and until it
grows louder; then it calls again. It needs no rules of a run: a board with nothing open
comes up without them.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm

PACE_MS: Final = (0, 60_000, 30_000, 10_000)
"""How often the bell is repeated, by the band of the loudest call; common practice, no source."""


@lean_dataclass(frozen=True, slots=True)
class _Silence:
    band: int
    until_ms: int
    most_ms: int


class AlarmBook:
    """Which calls stand, which are silenced and until when, and when to ring."""

    def __init__(self) -> None:
        self._silenced: dict[tuple[str, ...], _Silence] = {}
        self._standing: tuple[Alarm, ...] = ()
        self._rung: dict[tuple[str, ...], int] = {}
        self._last_ms = 0

    @property
    def first(self) -> "Alarm | None":
        """The most urgent call that is not silenced."""
        return self._standing[0] if self._standing else None

    @property
    def standing(self) -> "Sequence[Alarm]":
        """The calls that are not silenced, the most urgent first."""
        return self._standing

    def hear(self, alarms: "Sequence[Alarm]", at: Moment) -> "tuple[Alarm, ...]":
        """Take what the clocks call for at a moment.

        Args:
            alarms: All calls, the most urgent first.
            at: The moment, of one boot as long as the book lives.

        Returns:
            What to ring for: calls that are new, louder or back from silence; else the first one,
            when the pace of the loudest has passed; else nothing.
        """
        now = at.up_ms
        keyed = [(one.key, one) for one in alarms]
        called = dict(keyed)
        self._silenced = {
            key: silence
            for key, silence in self._silenced.items()
            if key in called and _holds(silence, called[key], now)
        }
        standing = [(key, one) for key, one in keyed if key not in self._silenced]
        self._standing = tuple(one for _, one in standing)
        fresh = tuple(one for key, one in standing if one.band > self._rung.get(key, 0))
        self._rung = {key: one.band for key, one in standing}
        if not fresh and self._standing:
            pace = PACE_MS[max(one.band for one in self._standing)]
            if not 0 <= now - self._last_ms < pace:
                fresh = self._standing[:1]
        if fresh:
            self._last_ms = now
        return fresh

    def silence(self, alarm: "Alarm", at: Moment) -> None:
        """Silence one call for its own time, unless it grows louder before."""
        quiet = alarm.clock.quiet_ms
        self._silenced[alarm.key] = _Silence(alarm.silenced_to, at.up_ms + quiet, quiet)
        self._standing = tuple(one for one in self._standing if one.key != alarm.key)
        self._rung.pop(alarm.key, None)


def _holds(silence: _Silence, alarm: "Alarm", now: int) -> bool:
    """Whether a silence goes on; one that would last longer than was asked for is none."""
    return alarm.band <= silence.band and 0 < silence.until_ms - now <= silence.most_ms
