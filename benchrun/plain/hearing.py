"""Memory of what a person has heard, so that nothing is said twice in a row."""

import re
from collections.abc import Iterable, Sequence
from typing import Final

from benchrun.procedure.route import Hazard, Step, worst_first

AGAIN_MS: Final = 120_000
"""A caution that was said less than this ago is not named again."""
MOST_WORDS: Final = 27
"""So many words, each figure group one of them, take about 12 s to hear."""
FULL_MS: Final = 12_000
"""How long after so many words a clock that calls for nothing waits with its first sentence."""
WAITS: Final = "(wait)"
"""The word in front of a line that cannot be done yet."""


class Hearing:
    """Memory of the cautions, lessons and tending that were said, and of the last lines."""

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Say everything once more."""
        self._just: list[str] = []
        self._words = self._until = 0
        self._cautions: dict[Hazard, int] = {}
        self._lessons: set[str] = set()
        self._tends: set[str] = set()

    def hear(self, lines: Sequence[str], up_ms: int, *, long: bool = False) -> None:
        """Lines were said; while they are as much as one listens to, the rest waits.

        Args:
            lines: What was said of the run.
            up_ms: When.
            long: Whether they are so much however few words they are.
        """
        self._just += lines
        self._words = (MOST_WORDS if long else 0) + words_in(self._just)
        self._until = up_ms + FULL_MS

    def has_room(self, lines: Sequence[str]) -> bool:
        """Whether lines can be listened to after what was just said."""
        return words_in([*self._just, *lines]) <= MOST_WORDS

    def just_said(self) -> str:
        """The lines said since this was asked last."""
        said, self._just = "\n".join(self._just), []
        return said

    def room(self, up_ms: int) -> int:
        """How many words more one listens to now."""
        return MOST_WORDS if up_ms >= self._until else MOST_WORDS - self._words

    def new_caution(self, step: Step) -> Hazard | None:
        """The worst caution of a step that was not said in full yet."""
        new = [one for one in step.cautions if one not in self._cautions]
        return next(iter(worst_first(new)), None)

    def in_full(self, caution: Hazard, up_ms: int) -> str:
        """A caution in full; from now on it is said by name."""
        self._cautions[caution] = up_ms
        return f"{_named(caution)} {caution.consequence} {caution.avoidance}"

    def named(self, step: Step, up_ms: int) -> Sequence[str]:
        """The cautions of a step by name, but for those said a moment ago."""
        old = [one for one in step.cautions if not 0 <= up_ms - self._cautions[one] < AGAIN_MS]
        self._cautions |= dict.fromkeys(step.cautions, up_ms)
        return [_named(one) for one in old]

    def new_lessons(self, lessons: Iterable[str]) -> Sequence[str]:
        """Lessons that were not said yet, as many as one listens to; they are from now on."""
        new: list[str] = []
        for one in lessons:
            fits = not new or words_in([*new, one]) <= MOST_WORDS
            if one not in self._lessons and fits:
                new.append(one)
        self._lessons |= set(new)
        return new

    def brief(self, line: str, tends: Iterable[str]) -> str:
        """A line; what is done while parts are in is said in full once, when it is due.

        Args:
            line: The line.
            tends: What is done in the loads of the run meanwhile, in words.
        """
        for words in filter(None, (one.removesuffix(".") for one in tends)):
            if words not in line:
                continue
            if WAITS in line or words in self._tends:
                line = line.replace(f"tend: {words}", "tend").replace(words, "tend")
            else:
                self._tends.add(words)
        return line


def words_in(lines: Iterable[str]) -> int:
    """How many words lines are, each group of figures one of them."""
    return sum(len(re.findall(r"\w+", line)) for line in lines)


def _named(caution: Hazard) -> str:
    return f"{caution.signal.value.upper()}. {caution.hazard}"
