"""Putting right and doing otherwise, line by line: corrections, mis-taps, all that has a reason."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from benchrun.account.entry_words import EntryWords
from benchrun.plain.talk import Talk
from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Inspect
from benchrun.run import commands as c
from benchrun.run.amendable import last_acts, uses_of, value_words, values_of
from benchrun.run.commands import Command
from benchrun.run.entries import PartSpec
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Value
from benchrun.session import Session

OTHERWISE: Final = (
    "leave a step out",
    "set parts aside",
    "scrap parts",
    "bring parts back into play",
    "parts back to a step",
    "something must be settled first",
    "started or ended a while ago",
    "stop the run",
    "another part joins",
)


@dataclass
class Amend:
    """Deeds beside the procedure.

    Args:
        talk: Speaks and listens.
        session: The run.
        send: Gives a command; a reason that it lacks is asked for.
    """

    talk: Talk
    session: Session
    send: Callable[[Command], bool]

    @property
    def seen(self) -> int:
        """The last line that was told."""
        return self.session.run.n - 1

    def correct(self) -> None:
        """Put a value right that was entered wrong; both are kept."""
        run = self.session.run
        values, uses = values_of(run), uses_of(run)
        if not values and not uses:
            self.talk.say("No reading, finding or amount was entered yet.")
            return
        told = [*(_named(one) for one in values), *(f"used: {words}" for _, _, words in uses)]
        at = self.talk.choose("Which is wrong:", told)
        if at is None:
            return
        if at >= len(values):
            n, supply, _ = uses[at - len(values)]
            typed = self.talk.ask("How much it really was:")
            if typed:
                self.send(c.Correct(n, run.parts[0], "", typed, place=supply))
            return
        value = values[at]
        detail = run.route.steps[value.step].detail
        if not isinstance(detail, Inspect):
            typed = self.talk.ask("The right value:")
            if typed:
                self.send(c.Correct(value.n, value.part, "", typed, place=value.place))
            return
        found = [one.name for one in detail.findings]
        right = self.talk.choose("What was found:", found)
        if right is not None:
            self.send(c.Correct(value.n, value.part, "", finding=found[right], place=value.place))

    def mis_tap(self) -> None:
        """Take back an act that is still the last of all its parts."""
        entries = {one.n: one for one in self.session.entries}
        lines = [n for n in last_acts(self.session.run) if n in entries]
        telling = EntryWords(self.session.procedure, self.session.entries)
        told = ["; ".join(telling.words(entries[n])) for n in lines]
        if not told:
            self.talk.say("Nothing can be taken back. Correct a value instead.")
            return
        at = self.talk.choose("Take back:", told)
        if at is not None:
            self.send(c.Retract(lines[at], self.seen))

    def otherwise(self, found: tuple[Offer, ...]) -> None:
        """Do otherwise than the procedure says; each asks for a reason."""
        at = self.talk.choose("Done otherwise:", OTHERWISE)
        if at == 0:
            self._skip(found)
        elif at in (1, 2, 3):
            parts = self.parts(self.session.run.parts)
            if parts:
                self.send(c.Put(parts, self.seen, ("aside", "scrap", "play")[at - 1]))
        elif at == 4:
            self._back()
        elif at == 5:
            self._raise()
        elif at == 6:
            self._while_ago(found)
        elif at == 7:
            self.send(c.Stop(""))
        elif at == 8:
            self._join()

    def parts(self, among: tuple[str, ...]) -> tuple[str, ...]:
        """Ask for parts by their numbers; none where nothing is chosen."""
        if len(among) == 1:
            return among
        for number, part in enumerate(among, 1):
            self.talk.say(f"  {number} {part}")
        words = self.talk.ask("Which, by number:").replace(",", " ").split()
        picked = {int(word) for word in words if word.isascii() and word.isdigit()}
        return tuple(part for number, part in enumerate(among, 1) if number in picked)

    def _raise(self) -> None:
        parts = self.parts(self.session.run.parts)
        says = self.talk.ask("What must be settled:") if parts else ""
        if says:
            self.send(c.Raise(parts, self.seen, says))

    def _join(self) -> None:
        tag = self.talk.ask("The tag of the part; it starts at the first step:")
        if tag:
            self.send(c.Add(PartSpec(tag)))

    def _skip(self, found: tuple[Offer, ...]) -> None:
        steps = {one.step.id: one for one in found if one.step and one.deed is not Deed.ANSWER}
        names = [f"{one.step.number}. {one.step.text}" for one in steps.values() if one.step]
        at = self.talk.choose("Which step:", names)
        if at is None:
            return
        step, offer = list(steps.items())[at]
        parts = self.parts(offer.parts)
        if parts:
            self.send(c.Skip(step, parts, self.seen))

    def _back(self) -> None:
        run = self.session.run
        parts = self.parts(run.parts)
        if not parts:
            return
        here = min(run.markers[part].index for part in parts)
        steps = [one for one in run.route.steps.values() if run.route.index[one.id] < here]
        if not steps:
            self.talk.say("There is no step behind.")
            return
        names = [f"step {one.number}: {one.text}" for one in reversed(steps)]
        at = self.talk.choose("Back to which step:", names)
        if at is not None:
            self.send(c.Put(parts, self.seen, steps[-1 - at].id))

    def _while_ago(self, found: tuple[Offer, ...]) -> None:
        dwells = [one for one in found if one.deed in (Deed.LIFT, Deed.PUT_IN) and one.step]
        names = [f"{one.deed.value}: {one.step.text}" for one in dwells if one.step]
        if not names:
            self.talk.say("No dwell can be started or ended now.")
            return
        at = self.talk.choose("Which:", names)
        if at is None:
            return
        try:
            ago = time_span(self.talk.ask("How long ago, such as 4 min:"))
        except ValueError as error:
            self.talk.say(str(error))
            return
        offer = dwells[at]
        if offer.deed is Deed.LIFT:
            self.send(c.Lift(offer.parts, self.seen, ago=ago))
        elif offer.step is not None:
            self.send(c.PutIn(offer.step.id, offer.parts, self.seen, ago=ago))


def _named(value: Value) -> str:
    place = f" {value.place}" if value.place else ""
    return f"{value.part}{place}: {value_words(value)}, entry {value.n}"
