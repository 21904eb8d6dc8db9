"""The parts of a batch chosen out of those that are ready: by numbers, ranges and tags."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import Final

from benchrun.dialogue.prompts import BACK, NOTHING, Meaning, Option, Stays, Taken
from benchrun.dialogue.run_prompts import ALL
from benchrun.lean_dataclass import lean_dataclass
from benchrun.text import slug

OTHERS: Final = "0"
"""At a batch: other parts, by their number or their tags."""
NOT_IN_BOOK: Final = "not in the parts book"
_RANGE: Final = re.compile(r"([0-9]{1,3})(?:[-–]([0-9]{1,3}))?")


@lean_dataclass(frozen=True, slots=True)
class BatchChoice:
    """The parts of a batch, out of those that are ready for it; others by their tags.

    Attributes:
        title: What they are chosen for.
        said: What is said above them.
        offered: The parts at hand, each its tag and what it is; the first has number 1.
        chosen: The tags that are chosen.
        most: How many a batch takes at most.
        known: The parts of the shop's book by their ids, each with what it is.
        at: The place of the one that was touched last.
    """

    title: str
    said: str
    offered: tuple[Option, ...]
    chosen: tuple[str, ...]
    most: int
    known: Mapping[str, str] = field(default_factory=dict)
    at: int = 0

    @property
    def tags(self) -> tuple[str, ...]:
        """The tags at hand, in order."""
        return tuple(option.words for option in self.offered)

    @property
    def digits_pick(self) -> bool:
        """Whether a digit alone picks: no tag begins with one, so that no scanner types it."""
        tags = {*self.tags, *self.known}
        return len(self.offered) < 10 and not any(tag[:1].isdigit() for tag in tags)

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: numbers and tags pick, Enter takes what is chosen."""
        typed = typed.strip()
        if typed == BACK:
            return NOTHING
        if typed == OTHERS:
            return Taken(OTHERS)
        if typed == ALL:
            whole = self.tags[: self.most]
            return Stays(replace(self, chosen=() if set(whole) <= set(self.chosen) else whole))
        if not typed:
            return self._taken()
        places = _places(typed, len(self.offered))
        if places is None:
            return self._tagged([tag.strip() for tag in typed.split(",") if tag.strip()])
        if not places:
            return Stays(self, f"There is no {typed} here.")
        return self._picked([self.tags[place] for place in places], toggles=True)

    def _taken(self) -> Meaning:
        if not self.chosen:
            return Stays(self, f"Choose at least one, {OTHERS} for others, or - to go back.")
        if len(self.chosen) > self.most:
            return Stays(self, f"{len(self.chosen)} are chosen: at most {self.most} at a time.")
        return Taken(self.chosen)

    def _tagged(self, tags: Sequence[str]) -> Meaning:
        """Tags as typed or scanned; one that the book knows goes by its id there."""
        plain = [slug(tag, "") for tag in tags]
        found = [one if one in self.known else tag for one, tag in zip(plain, tags, strict=True)]
        return self._picked(found, toggles=False)

    def _picked(self, tags: Sequence[str], *, toggles: bool) -> Meaning:
        chosen, offered = list(self.chosen), list(self.offered)
        for tag in tags:
            if tag not in self.tags and all(option.words != tag for option in offered):
                offered.append(Option(tag, self.known.get(slug(tag), NOT_IN_BOOK)))
            if tag not in chosen:
                chosen.append(tag)
            elif toggles:
                chosen.remove(tag)
        at = [option.words for option in offered].index(tags[-1])
        ordered = tuple(option.words for option in offered if option.words in chosen)
        return Stays(replace(self, offered=tuple(offered), chosen=ordered, at=at))


def _places(typed: str, whole: int) -> list[int] | None:
    """The places that numbers and ranges name; empty where one is not there, None for tags."""
    places: list[int] = []
    for word in typed.replace(",", " ").split():
        match = _RANGE.fullmatch(word)
        if match is None:
            return None
        low, high = int(match[1]), int(match[2] or match[1])
        if not 1 <= low <= high <= whole:
            return []
        places += range(low - 1, high)
    return places
