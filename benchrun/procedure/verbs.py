"""The verbs that a step may begin with, one meaning each; a shop may have more of its own."""

import csv
from collections.abc import Collection, Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Final

from benchrun.lean_dataclass import lean_dataclass

_MARKED: Final = "yes"


@lean_dataclass(frozen=True, slots=True)
class Verb:
    """A verb of the list.

    Attributes:
        thing: Whether the same word also names a thing or a state, as `seal` and `dry` do.
        meaning: The one thing that it tells somebody to do; empty for a verb of the shop.
    """

    word: str
    thing: bool = False
    meaning: str = ""


class VerbList:
    """The verbs known: those that come along, and those of the shop.

    Args:
        more: The verbs that the shop has beside.
    """

    def __init__(self, more: Collection[str] = ()) -> None:
        self._own = frozenset(word.lower() for word in more)

    def has(self, word: str) -> bool:
        """Whether a step may begin with a word."""
        return word.lower() in shipped_verbs() or word.lower() in self._own

    def acts(self, word: str) -> bool:
        """Whether a word can only tell somebody to do something, listed or not."""
        verb = shipped_verbs().get(word.lower())
        if verb is not None:
            return not verb.thing
        return word.lower() in self._own or word.lower() in not_listed()

    def may_act(self, word: str) -> bool:
        """Whether a word may tell somebody to do something, listed or not."""
        return self.has(word) or word.lower() in not_listed()


@cache
def shipped_verbs() -> Mapping[str, Verb]:
    """The verbs that come along, by their words."""
    return {
        row["verb"]: Verb(row["verb"], row["thing"] == _MARKED, row["meaning"])
        for row in _rows("verbs.csv")
    }


@cache
def not_listed() -> Mapping[str, str]:
    """The verbs that another one stands for: which, or empty where the act is to be named."""
    return {row["verb"]: row["say"] for row in _rows("verbs_not_listed.csv")}


def _rows(name: str) -> Iterator[dict[str, str]]:
    table = files("benchrun.procedure") / "tables" / name
    lines = table.read_text(encoding="utf-8").splitlines()
    yield from csv.DictReader(line for line in lines if not line.startswith("#"))
