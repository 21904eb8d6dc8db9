"""What reading a long log again spends least on: its values, and the search for cycles.

For what is made many times for every line of a log. Nowhere else: `dataclass` itself keeps more.
"""

import dataclasses
import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

__all__ = ["lean_dataclass", "no_collecting"]

_MUCH = 50_000  # objects made meanwhile that hold others

if TYPE_CHECKING:
    from dataclasses import dataclass as lean_dataclass
else:

    def lean_dataclass(*, frozen: Literal[True], slots: Literal[True]) -> Callable[[type], Any]:
        """A frozen dataclass to the type checker, one that anybody could set at run time.

        A frozen one sets each field through `object.__setattr__`, which takes five times as long;
        of reading a long log again, that was the third part. What nobody sets by the type checker
        nobody sets at run time.
        """
        del frozen, slots
        return dataclasses.dataclass(slots=True, unsafe_hash=True)


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
