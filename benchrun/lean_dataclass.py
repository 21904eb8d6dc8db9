"""Dataclasses that nobody changes: the type checker sees to it, and so they are quick to make.

Python's own frozen dataclass sets every field by a guarded call, so that a thing of twenty fields
takes eight times as long to make; a line of a log is read, decided and folded through a dozen.
"""

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

__all__ = ["lean_dataclass"]

T = TypeVar("T")

if TYPE_CHECKING:
    from dataclasses import dataclass as lean_dataclass
else:

    def lean_dataclass(*, frozen: bool, **options: bool) -> Callable[[type[T]], type[T]]:
        """A dataclass that compares and hashes as a frozen one, and is frozen for mypy alone."""
        return dataclasses.dataclass(unsafe_hash=frozen, **options)
