"""Choosing parts at a run: the page of the batch, and what is then taken in hand."""

from collections.abc import Callable
from dataclasses import dataclass

from benchrun.part_names import part_names
from benchrun.procedure.route import Kind
from benchrun.run.offers import Deed, Offer
from benchrun.screen.parts.pane import PartsPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.view import View, offer_for


@dataclass(frozen=True, slots=True)
class Choice:
    """What a choice of parts comes to.

    Attributes:
        offer: What is taken in hand for them; None: nothing can be done for any of them.
        parts: Those it is taken up for.
        said: What is to be said, or empty.
    """

    offer: Offer | None
    parts: tuple[str, ...] = ()
    said: str = ""


def batch_pane(
    host: RunHost,
    now: View,
    parts: tuple[str, ...],
    chosen: tuple[str, ...],
    done: Callable[[tuple[str, ...]], None],
) -> PartsPane:
    """The page of the batch, on which parts are chosen.

    Args:
        host: The run screen.
        now: The run as it is shown.
        parts: For whom the offer in hand would be taken up.
        chosen: Those that a hand has chosen before.
        done: What to do with the choice.
    """
    offer, session = now.offer, host.session
    among = offer.parts if offer else ()
    begun = chosen if len(parts) == len(among) or _one_by_one(offer) else parts
    step = offer.step if offer else None
    title = f"Parts for {step.number}  {step.text}" if step and len(among) > 1 else "Parts"
    return PartsPane(
        host, lambda: session.run, lambda: session.entries, among, begun, done, title=title
    )


def choice_of(now: View, parts: tuple[str, ...]) -> Choice:
    """What to go on with for chosen parts."""
    offer = offer_for(now, parts)
    if offer is None:
        return Choice(None, said=f"Nothing can be done now for {part_names(parts)}.")
    left = [part for part in parts if part not in offer.parts]
    said = f"Not among them, because they stand elsewhere: {part_names(left)}." if left else ""
    return Choice(offer, tuple(part for part in parts if part in offer.parts), said)


def _one_by_one(offer: Offer | None) -> bool:
    """Whether only one part is in hand because each is measured by itself."""
    step = offer.step if offer and offer.deed is Deed.DO else None
    return step is not None and step.kind is Kind.READING and not step.shared
