"""The lines that are said of a step before it is done, none of them twice while it is in hand."""

from collections.abc import Iterator, Sequence

from benchrun.alarms.dark import dark_ahead
from benchrun.dialogue.hand import critical_words
from benchrun.dialogue.step_notes import step_notes, turn_words
from benchrun.dialogue.supplies import use_words, uses_in_hand
from benchrun.dialogue.work import Work
from benchrun.plain.hearing import Hearing
from benchrun.plain.lookups import PlainLookups
from benchrun.procedure.route import Step
from benchrun.run import entries as e
from benchrun.run.offers import Deed
from benchrun.shop.settings import hours_of


class StepLines:
    """The lines of the step in hand.

    Args:
        work: The run.
        hearing: What was heard.
        lookups: Says what past runs say.
    """

    def __init__(self, work: Work, hearing: Hearing, lookups: PlainLookups) -> None:
        self._work = work
        self._hearing = hearing
        self._lookups = lookups
        self._noted: tuple[str, ...] = ("",)
        self._beside: tuple[tuple[str, ...], str] = ((), "")

    @property
    def ahead(self) -> Step | None:
        """The step in hand, where it is to be done now."""
        offer = self._work.now.offer
        ready = offer is not None and offer.ready and offer.deed is not Deed.ANSWER
        return self._work.step if ready else None

    def changed(self) -> bool:
        """Whether what it uses, or which pass it is at, is other than when this was asked last.

        A pass that is made leaves the same lines on offer, and is another piece of work.
        """
        before, self._beside = self._beside, (self._uses(), self._turn())
        return before != self._beside

    def before(self, step: Step, *, told: bool) -> Iterator[str]:
        """The things to know before a step is done; its cautions were said in full.

        Args:
            step: The step in hand.
            told: Whether any line on offer was told before.
        """
        work, offer, up_ms = self._work, self._work.now.offer, self._work.now.at.up_ms
        yield from self._hearing.named(step, up_ms)
        yield from self._notes(step)
        critical = critical_words(offer) if offer else ""
        begun = isinstance(work.session.entries[-1].data, e.Begun)
        if critical and not (begun and told):  # that it is begun was said with its entry
            yield f"CRITICAL. {critical}"
        if step.drawing:
            yield f"DRAWING. {step.drawing}: 0 leads to it."
        yield from self._lookups.took(step)
        if work.session.books.trouble:
            yield work.session.books.trouble
        if offer is None:
            return
        if offer.deed is not Deed.LIFT:
            uses = self._beside[0]
            yield from uses
            self._hearing.hear(uses, up_ms)
        hours = hours_of(work.session.shop)
        for words in dark_ahead(work.now.run, offer, work.parts, hours, work.now.at):
            yield f"DARK. {words}"

    def _turn(self) -> str:
        """Which pass the step in hand is at, and which place; empty where there is but one."""
        offer = self._work.now.offer
        return turn_words(self._work.session.run, offer) if offer is not None else ""

    def _uses(self) -> tuple[str, ...]:
        """The supplies that the step in hand uses, a line each."""
        work = self._work
        uses = uses_in_hand(work.session, work.step, work.parts) if work.step is not None else ()
        return tuple(f"Uses {use_words(use)}" for use in uses)

    def _notes(self, step: Step) -> Sequence[str]:
        """The notes beside a step and which pass it is, once for as long as it is in hand."""
        offer = self._work.now.offer
        if offer is None:
            return ()
        found = step_notes(self._work.session.run, offer)
        notes = [f"{label.capitalize()}: {words}" for label, words in found]
        turn = self._turn()
        before, self._noted = self._noted, (step.id, *notes, turn)
        if before == self._noted:
            return ()
        fresh = [note for note in notes if step.id != before[0] or note not in before]
        return [*fresh, *([f"Pass: {turn}"] if turn else [])]
