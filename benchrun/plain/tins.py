"""Which tin a step takes its supplies from, line by line."""

from dataclasses import dataclass

from benchrun.plain.talk import Talk
from benchrun.procedure.route import Step
from benchrun.run.state import Use
from benchrun.run.supply_use import using_words
from benchrun.session import Session
from benchrun.shop.amounts import day_of
from benchrun.shop.supplies import Supply, read_supplies, serving, spoiled
from benchrun.shop_use.supplies import would_use


@dataclass
class Tins:
    """Tells and asks of tins.

    Args:
        talk: Speaks and listens.
        session: The run.
    """

    talk: Talk
    session: Session

    def tell(self, step: Step, parts: tuple[str, ...]) -> None:
        """Say what a step would use, from which tin, and what is wrong with it."""
        for use in self._uses(step, parts):
            self.talk.say(f"Uses {_words(use)}")

    def ask(self, step: Step, parts: tuple[str, ...]) -> None:
        """Ask which tin each supply is taken from, where the shop keeps several in use.

        The one on offer is taken by Enter alone; another is told with what is wrong with it, and
        asked once more.
        """
        for supply in dict.fromkeys(one.supply for one in self._uses(step, parts)):
            while (tins := self._tins(supply)) and len(tins) > 1:
                use = next(one for one in self._uses(step, parts) if one.supply == supply)
                if not self._other(use, tins):
                    break

    def _other(self, use: Use, tins: tuple[Supply, ...]) -> bool:
        """Ask once; whether another tin, or none that there is, was named."""
        today = day_of(self.session.now())
        for number, one in enumerate(tins, 1):
            state = "; it ".join(spoiled(one, today)) or one.about()
            self.talk.say(f"  {number} {one.id}, {one.left.words} left: {state}")
        typed = self.talk.ask(f"{_words(use)}. Enter takes it, a number another:")
        if not typed:
            return False
        if typed.isascii() and typed.isdigit() and 1 <= int(typed[:4]) <= len(tins):
            chosen = tins[int(typed) - 1].id
            self.session.books.taken[use.supply] = chosen
            return chosen != use.name
        self.talk.say(f"Type a number from 1 to {len(tins)}, or only Enter.")
        return True

    def _tins(self, supply: str) -> tuple[Supply, ...]:
        rows = read_supplies(self.session.shop).rows
        return tuple(one for one in serving(rows, supply) if not one.out_of_use)

    def _uses(self, step: Step, parts: tuple[str, ...]) -> tuple[Use, ...]:
        session = self.session
        today = day_of(session.now())
        return would_use(session.shop, session.run, step, parts, today, session.books.taken)


def _words(use: Use) -> str:
    """The use in words, from which tin: `30 ml of primer from tin-2; it was good until ...`."""
    tin = f" from {use.name}" if use.name else ""
    return f"{using_words((use,))[0]}{tin}" + "".join(f"; it {one}" for one in use.misgivings)
