"""The lines on offer in a run: which were said, what their numbers mean, which are news."""

import re
from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import Final

from benchrun.dialogue import lookups
from benchrun.dialogue.hand import offer_key
from benchrun.dialogue.prompts import Choose
from benchrun.dialogue.work import Work
from benchrun.plain.hearing import WAITS, Hearing
from benchrun.plain.run_speech import RunSpeech
from benchrun.text import count

_TIMES: Final = re.compile(
    r" \((too early, |the notice runs )[^)]*\)|, due (in .*|now|since .*)|\(wait\) "
)


class OfferLines:
    """The offers of a run in lines, the most urgent first.

    Args:
        work: The run.
        hearing: What was heard.
        speech: The sentences of its clocks.

    Attributes:
        told: The lines that were taken up last; a number means one of these.
    """

    def __init__(self, work: Work, hearing: Hearing, speech: RunSpeech) -> None:
        self._work = work
        self._hearing = hearing
        self._speech = speech
        self._shown = Choose("Other work", ())
        self._keys: tuple[Hashable, ...] = ()
        self._said: set[str] = set()
        self._unsaid = 0
        self.told: tuple[str, ...] = ()

    def forget(self) -> None:
        """Say every line once more."""
        self.told = ()
        self._said.clear()

    @property
    def same(self) -> bool:
        """Whether the lines are those that were told, and wait for the same."""
        return self.lines() == self.told

    @property
    def same_but_for_times(self) -> bool:
        """Whether the lines are those that were told, but for times that go on by themselves."""
        lines = self.lines()
        waits = [WAITS in line for line in lines] == [WAITS in line for line in self.told]
        return waits and [*map(timeless, lines)] == [*map(timeless, self.told)]

    def lines(self) -> tuple[str, ...]:
        """The lines on offer."""
        shown = self._now_shown()
        lines = [
            f"{number} {f'{WAITS} ' if option.beside else ''}{option.words}"
            for number, option in shown.shown
        ]
        return (*lines, *([f"9 {shown.more}"] if shown.more else []))

    def take(self) -> tuple[str, ...]:
        """The lines on offer; their numbers mean these from now on."""
        self.told, self._shown = self.lines(), self._now_shown()
        self._keys = tuple(map(offer_key, self._work.now.offers))
        return self.told

    def fresh(self) -> list[str]:
        """The lines on offer that are worth hearing; their numbers mean these from now on.

        The first is what Enter does. Of the others only what is new is worth hearing again, and of
        what waits the clock's own sentence tells when; its number is said once it can be done.
        """
        first, *rest = self.take() or ("",)
        can_be = [line for line in rest if WAITS not in line]
        self._said &= {timeless(line) for line in (first, *can_be)}
        new = [line for line in can_be if timeless(line) not in self._said]
        lines = [self._speech.brief(line) for line in (first, *new)]
        if new and not self._hearing.has_room(lines):
            more = f"And {count(len(new), 'more line')}: / 7."
            lines = lines[:1]
            if len(new) != self._unsaid and self._hearing.has_room([*lines, more]):
                lines, self._unsaid = [*lines, more], len(new)
            new = []
        else:
            self._unsaid = 0
        self._said |= {timeless(line) for line in (first, *new) if WAITS not in line}
        self._hearing.hear(lines, self._work.now.at.up_ms)
        return lines

    def after_clocks(self, lines: Sequence[str]) -> list[str]:
        """Sentences of clocks that were not asked for, with the lines that are news beside them.

        Args:
            lines: The sentences.
        """
        said = list(map(self._speech.brief, lines))
        if not lines or not self.told or self.same:
            return said
        first = self._speech.of_first()
        at = next((place for place, line in enumerate(lines) if first and first in line), None)
        before = self.told
        fresh = self.fresh()
        if WAITS in self.told[0] and timeless(self.told[0]) == timeless(before[0]):
            fresh = fresh[1:]  # it waits as before, and its clock tells until when
        elif at is not None:
            # The clock's own sentence says what the first line is: it takes the line's place.
            said[at] = f"1 {said[at]}"
            fresh = fresh[1:]
        return [*said, *fresh]

    def words(self, place: int) -> str:
        """The words of an offer."""
        return self._speech.brief(lookups.work_prompt(self._work).options[place].words)

    def still(self, place: int) -> bool:
        """Whether a line is still the one that was said."""
        now = self._work.now.offers
        known = place < min(len(now), len(self._keys))
        return known and offer_key(now[place]) == self._keys[place]

    def turn(self) -> bool:
        """Turn to the next lines, where there are more than have a number."""
        if not self._shown.more:
            return False
        self._shown = self._shown.turned()
        self.told = ()
        return True

    def place(self, number: str) -> int | None:
        """The place of a line by its number."""
        return self._shown.place(number)

    @property
    def highest(self) -> int:
        """The highest number of a line."""
        return len(self._shown.shown)

    def _now_shown(self) -> Choose:
        """The offers from the line that they were turned to."""
        offers = lookups.work_prompt(self._work)
        first = self._shown.first if self._shown.first < len(offers.options) else 0
        return replace(offers, first=first)


def timeless(line: str) -> str:
    """A line on offer without the times that go on by themselves."""
    return _TIMES.sub("", line).lstrip("0123456789 ")
