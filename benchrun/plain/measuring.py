"""A reading line by line: where, within what limits, with which instrument of the shop."""

from dataclasses import dataclass, replace
from decimal import Decimal

from benchrun import quantity
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Reading, Step
from benchrun.run import commands as c
from benchrun.run.offers import Offer
from benchrun.session import Session
from benchrun.shop_use.instruments import Instruments, Kit, limits_for, tool_of
from benchrun.text import listed

ANOTHER = "*"


@dataclass
class Measuring:
    """Asks for readings.

    Args:
        talk: Speaks and listens.
        session: The run.
    """

    talk: Talk
    session: Session

    def __post_init__(self) -> None:
        session = self.session
        kit = Kit(session.shop)
        self._instruments = Instruments(session.procedure, lambda: session.entries, kit)

    def take(self, offer: Offer, step: Step, detail: Reading) -> c.Do | None:
        """Ask for one reading.

        Returns:
            The command that enters it, or None when nothing was typed.
        """
        run = self.session.run
        parts = offer.parts if step.shared else offer.parts[:1]
        low, high = limits_for(run, parts[0], detail)
        within = _within(low, high, detail.unit)
        if within:
            self.talk.say(f"Limits: {within}.")
        unit = quantity.unit_named(detail.unit).shown or "a number"
        where = f"{listed(parts)} {offer.place}".rstrip()
        typed = self._typed(step, f"{where}, in {unit}:")
        if not typed:
            return None
        command = c.Do(
            step.id, parts, run.n - 1, typed, tool=tool_of(self.session.procedure, detail)
        )
        now = self.session.now()
        fitted = self._instruments.fitted(run, step, parts[0], now, typed)
        return command if fitted is None else replace(command, tool=fitted.tool)

    def _typed(self, step: Step, prompt: str) -> str:
        """Read the figure; with an asterisk another instrument is taken in hand first."""
        offered = self._instruments.offered(step)
        while True:
            in_hand = self._in_hand(step)
            if in_hand:
                more = f"; {ANOTHER} takes another" if len(offered) > 1 else ""
                self.talk.say(f"With {in_hand}{more}.")
            elif offered:
                self.talk.say(f"{ANOTHER} takes an instrument of the shop in hand.")
            typed = self.talk.ask(prompt)
            if typed != ANOTHER or not offered:
                return typed
            at = self.talk.choose("The instrument:", [f"{one.id}, {one.name}" for one in offered])
            if at is not None:
                self._instruments.take(step, offered[at].id)

    def _in_hand(self, step: Step) -> str:
        run = self.session.run
        fitted = self._instruments.fitted(run, step, run.parts[0], self.session.now(), "")
        if fitted is None:
            return ""
        return "; it ".join((fitted.tool.name, *fitted.misgivings))


def _within(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    if low is not None and high is not None:
        return f"{quantity.plain(low)} to {quantity.in_words(high, unit)}"
    if low is not None:
        return f"{quantity.in_words(low, unit)} at least"
    return "" if high is None else f"{quantity.in_words(high, unit)} at most"
