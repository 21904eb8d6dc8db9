"""Reading this machine's clocks, and a clock for rehearsals that is moved by hand.

Linux gives a boot clock that counts sleep, an id for each boot, and the kernel's own word on
whether the wall clock is in step. Elsewhere less is known: `SystemClock.lacking` says so when the
program starts, and so do the checks of a log that was kept there.
"""

import sys
import time
import uuid
from pathlib import Path
from typing import Final, Protocol

from benchrun.moment import PROCESS, Moment, utc_ms
from benchrun.record.sync import clock_in_step, macos_boot_id

NO_STEP_MS: Final = 2000
"""So far may two clocks of one boot part at once; nothing was set by that."""
_BOOT_ID: Final = Path("/proc/sys/kernel/random/boot_id")


class Clock(Protocol):
    """Anything that tells the moment."""

    def now(self) -> Moment:
        """The moment now."""
        ...

    def slept_ms(self) -> int:
        """How long this machine has slept since it started, in milliseconds."""
        ...


class SystemClock:
    """This machine's clocks."""

    def __init__(self) -> None:
        self._up_clock, self._awake_clock = _clocks()
        known = _boot_id() if self._up_clock is not None else None
        self._knows_boot = known is not None
        # Without an id of the boot no two processes may claim to share one.
        self._boot = known or f"{PROCESS}{uuid.uuid4()}"

    def now(self) -> Moment:
        """The moment now."""
        up_ns = (
            time.monotonic_ns() if self._up_clock is None else time.clock_gettime_ns(self._up_clock)
        )
        return Moment(time.time_ns() // 1_000_000, up_ns // 1_000_000, self._boot, clock_in_step())

    def slept_ms(self) -> int:
        """How long this machine has slept since it started, in milliseconds; 0 where unknown."""
        if self._up_clock is None or self._awake_clock is None:
            return 0
        awake = time.clock_gettime_ns(self._awake_clock)
        asleep = time.clock_gettime_ns(self._up_clock) - awake
        return max(0, asleep // 1_000_000)

    def lacking(self) -> str:
        """The limits of this machine's clocks, in a sentence; empty where they do all."""
        if self._knows_boot:
            return ""
        return (
            "This system has no clock that counts sleep, or no id of its boots: across a sleep or "
            "a restart, times rest on the wall clock alone."
        )


def _clocks() -> tuple[int | None, int | None]:
    """The clock that counts sleep and the one that stands while asleep."""
    if sys.platform == "darwin":
        # Apple's clock_gettime(3): MONOTONIC_RAW goes on in sleep and is not stepped with the
        # wall clock, UPTIME_RAW stands in sleep.
        return time.CLOCK_MONOTONIC_RAW, time.CLOCK_UPTIME_RAW
    boottime: int | None = getattr(time, "CLOCK_BOOTTIME", None)
    return boottime, getattr(time, "CLOCK_MONOTONIC", None)


def _boot_id() -> str | None:
    if sys.platform == "darwin":
        return macos_boot_id()
    try:
        return _BOOT_ID.read_text("ascii").strip() or None
    except (OSError, UnicodeDecodeError):
        return None


def wall_step_ms(earlier: Moment, later: Moment) -> int:
    """How far the wall clock was set between two moments of one boot, in milliseconds.

    A clock that is disciplined drifts by at most 500 parts in a million (the kernel's limit for
    frequency correction, adjtimex(2)); `NO_STEP_MS` is allowed on top. Both figures: common
    practice, no source.

    Returns:
        Positive when it was set forward, negative when back, 0 when it ran true or the moments
        are of different boots.
    """
    if earlier.boot != later.boot:
        return 0
    by_boot = later.up_ms - earlier.up_ms
    step = later.utc_ms - earlier.utc_ms - by_boot
    return step if abs(step) > NO_STEP_MS + abs(by_boot) * 500 // 1_000_000 else 0


class VirtualClock:
    """A clock that moves only when told: for rehearsals and tests.

    Args:
        start: Wall time at the start, as `Moment.utc` writes it.
        up_ms: How long the machine has been up at the start.
        sync: Whether the wall clock is in step.
        name: What its boots are called; a number is added to it.
    """

    def __init__(
        self,
        start: str = "2026-01-05T08:00:00.000Z",
        *,
        up_ms: int = 60_000,
        sync: bool = True,
        name: str = "virtual",
    ) -> None:
        self._utc_ms = utc_ms(start)
        self._up_ms = up_ms
        self._slept_ms = 0
        self._sync = sync
        self._name = name
        self._boots = 1
        self._boot = f"{name}-1"

    def now(self) -> Moment:
        """The moment now; asking does not move it."""
        return Moment(self._utc_ms, self._up_ms, self._boot, self._sync)

    def slept_ms(self) -> int:
        """How long it has been told to sleep since its last reboot."""
        return self._slept_ms

    def wait(self, ms: int) -> None:
        """Let time pass while the machine is awake."""
        if ms < 0:
            raise ValueError("time does not run backwards; use step() to set the wall clock back")
        self._utc_ms += ms
        self._up_ms += ms

    def sleep(self, ms: int) -> None:
        """Let time pass while the machine sleeps: the boot clock goes on."""
        self.wait(ms)
        self._slept_ms += ms

    def reboot(self, off_ms: int, sync: bool = True) -> None:
        """Switch off for a time and start anew: another boot, uptime from 0."""
        self.wait(off_ms)
        self._boots += 1
        self._boot = f"{self._name}-{self._boots}"
        self._up_ms = 0
        self._slept_ms = 0
        self._sync = sync

    def step(self, ms: int) -> None:
        """Set the wall clock forward, or back when negative; the boot clock does not notice.

        It is set by hand, so it is out of step from then on, as Linux has it (settimeofday(2) sets
        STA_UNSYNC of adjtimex(2); from memory), until `set_sync` says that it was put right.
        """
        self._utc_ms += ms
        self._sync = False

    def set_sync(self, sync: bool) -> None:
        """Say whether the wall clock is in step from now on."""
        self._sync = sync
