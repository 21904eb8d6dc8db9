"""Asking the operating system whether its wall clock is in step, and which boot this is.

ctypes is imported when first needed: it costs as much start-up time as all of this folder.
"""

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final

_TIMESYNC_MARK: Final = Path("/run/systemd/timesync/synchronized")
_STA_UNSYNC: Final = 0x0040  # adjtimex(2), linux/timex.h
_TIME_ERROR: Final = 5


def clock_in_step() -> bool:
    """Whether the wall clock is known to be in step with a time source.

    The kernel is asked where it can be (Linux: `adjtimex`, which turns to unsynchronised by itself
    when the estimated error has grown to 16 s). Where nobody can tell, the answer is no.
    """
    ask = _kernel()
    if ask is None:
        return False
    return ask()


@cache
def _kernel() -> Callable[[], bool] | None:
    if not sys.platform.startswith("linux"):
        return None
    import ctypes

    class Timex(ctypes.Structure):
        # Only the part up to `status` is read; the rest is room for what the kernel writes.
        _fields_ = [
            ("modes", ctypes.c_uint),
            ("offset", ctypes.c_long),
            ("freq", ctypes.c_long),
            ("maxerror", ctypes.c_long),
            ("esterror", ctypes.c_long),
            ("status", ctypes.c_int),
            ("room", ctypes.c_byte * 512),
        ]

    try:
        adjtimex = ctypes.CDLL(None).adjtimex
    except (OSError, AttributeError):
        return _TIMESYNC_MARK.exists

    def ask() -> bool:
        timex = Timex()
        state = adjtimex(ctypes.byref(timex))
        if state < 0:  # refused, as in some containers
            return _TIMESYNC_MARK.exists()
        return state != _TIME_ERROR and not timex.status & _STA_UNSYNC

    return ask


def macos_boot_id() -> str | None:
    """The id of this boot on macOS (`sysctl kern.bootsessionuuid`), None where it is not told."""
    import ctypes

    try:
        sysctlbyname = ctypes.CDLL(None).sysctlbyname
    except (OSError, AttributeError):
        return None
    buffer = ctypes.create_string_buffer(64)
    size = ctypes.c_size_t(len(buffer))
    failed = sysctlbyname(b"kern.bootsessionuuid", buffer, ctypes.byref(size), None, 0)
    return None if failed else buffer.value.decode("ascii", "replace") or None
