"""What reading a long log again spends least on: its values, and the search for cycles.

For what is made many times for every line of a log. Nowhere else: `dataclass` itself keeps more.
"""

import dataclasses
import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

__all__ = ["lean_dataclass", "no_collecting"]

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
    """Hold Python's search for cycles back: all that is read stays, and looking costs time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
