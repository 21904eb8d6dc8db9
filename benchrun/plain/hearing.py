"""Memory of what a person has heard, so that nothing is said twice in a row."""

from collections.abc import Iterable, Sequence
from typing import Final

from benchrun.procedure.route import Hazard, Step, worst_first
from benchrun.text import heard_s

AGAIN_MS: Final = 120_000
"""A caution that was said less than this ago is not named again."""
LISTENS_S: Final = 11.0
"""For how many seconds one listens at once; as they are estimated, 12 are not gone over."""
FULL_MS: Final = 12_000
"""How long after so much a clock that calls for nothing waits with its first sentence."""
WAITS: Final = "(wait)"
"""The word in front of a line that cannot be done yet."""


class Hearing:
    """Memory of the cautions, lessons and tending that were said, and of the last lines."""

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Say everything once more."""
        self._just: list[str] = []
        self._heard_s, self._until = 0.0, 0
        self._cautions: dict[Hazard, int] = {}
        self._lessons: set[str] = set()
        self._tends: set[str] = set()

    def hear(self, lines: Sequence[str], up_ms: int, *, long: bool = False) -> None:
        """Lines were said; while they are as much as one listens to, the rest waits.

        Args:
            lines: What was said of the run.
            up_ms: When.
            long: Whether they are so much however few they are.
        """
        self._just += lines
        self._heard_s = (LISTENS_S if long else 0.0) + heard_s(self._just)
        self._until = up_ms + FULL_MS

    def has_room(self, lines: Sequence[str]) -> bool:
        """Whether lines can be listened to after what was just said."""
        return heard_s([*self._just, *lines]) <= LISTENS_S

    def just_said(self) -> str:
        """The lines said since this was asked last."""
        said, self._just = "\n".join(self._just), []
        return said

    def room(self, up_ms: int) -> float:
        """For how many seconds more one listens now."""
        return LISTENS_S if up_ms >= self._until else LISTENS_S - self._heard_s

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

    def new_lessons(self, lessons: Iterable[str], room: float) -> Sequence[str]:
        """Lessons that were not said yet; they are from now on.

        Args:
            lessons: All that there are.
            room: For how many seconds one listens to them; one is said however long it is.
        """
        new: list[str] = []
        for one in lessons:
            fits = not new or heard_s([*new, one]) <= room
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


def _named(caution: Hazard) -> str:
    return f"{caution.signal.value.upper()}. {caution.hazard}"
