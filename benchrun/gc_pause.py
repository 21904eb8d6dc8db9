"""Python's search for cycles: seldom, and held back while a long log is read."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

_MUCH = 50_000  # objects made meanwhile that hold others
_AT_ONCE = 10_000


def search_seldom() -> None:
    """Let Python search for cycles once in so many new objects, not in seven hundred.

    Nearly all that is made at a start stays; the usual searches took a tenth of it.
    """
    gc.set_threshold(_AT_ONCE)


@contextmanager
def no_collecting() -> Iterator[None]:
    """Hold Python's search for cycles back: all that is read stays, and looking costs time.

    Where much was read it goes to the oldest generation unlooked at, or the search would go through
    all of it as soon as it may again. Where something is frozen, as by the screen, that stays so.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if gc.get_count()[0] > _MUCH and not gc.get_freeze_count():
                gc.freeze()
                gc.unfreeze()
            gc.enable()
