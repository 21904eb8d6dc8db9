"""Frozen dataclasses that are made as fast as plain ones.

For what is made many times for every line of a log. Nowhere else: `dataclass` itself keeps more.
"""

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Literal

__all__ = ["lean_dataclass"]

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
