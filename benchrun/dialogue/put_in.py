"""The notes before parts go in, alike on every face: where to, for how long, with what room."""

from collections.abc import Iterator, Sequence

from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Attended, Dwell, Witness
from benchrun.run.course import constant_ms
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.run.verdict import draw, milliseconds, reads_of
from benchrun.shop.folder import Shop
from benchrun.shop_use.vessels import room_in_hand
from benchrun.wording import time_limits

_STAYS = {Attended.YES: "somebody stays with it", Attended.TO_END: "somebody ends it"}


def put_in_notes(shop: Shop, run: Run, offer: Offer) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The notes to a dwell on offer: what each is about, in a word, and what it says, in pieces.

    Args:
        shop: The shop, whose vessels book may say that a vessel holds less.
        run: The run.
        offer: What is in hand.
    """
    detail = offer.step.detail if offer.step is not None else None
    if not isinstance(detail, Dwell) or offer.deed not in (Deed.PUT_IN, Deed.TELL, Deed.BEGIN):
        return
    if isinstance(detail, Witness):
        notice = detail.least.words if detail.least is not None else ""
        yield "notice", (f"{notice} from now: who came, or that nobody did, is entered after",)
        return
    aim = f"aim for {detail.aim.words}" if detail.aim else ""
    told = (_where(shop, run, offer, detail), _limits(run, offer.parts, detail), aim)
    said = tuple(filter(None, (*told, _STAYS.get(detail.attended, ""))))
    if said:
        yield "load", said
    if detail.tend_every:
        yield "tend", (f"{detail.tend} Every {detail.tend_every.words}.",)


def _where(shop: Shop, run: Run, offer: Offer, detail: Dwell) -> str:
    vessel = run.route.vessels.get(offer.vessel or detail.vessel)
    if vessel is None:
        return f"away to {detail.place}" if detail.place else ""
    room = room_in_hand(shop, run, vessel) if not offer.has_vessel else None
    return f"{vessel.title}, room for {room[0]} of {room[1]}" if room else vessel.title


def _limits(run: Run, parts: Sequence[str], detail: Dwell) -> str:
    """How long the parts stay; what it depends on, where that is not known or is not one time."""
    reads = reads_of(detail.least, detail.most)
    if not reads:
        return time_limits(constant_ms(detail.least), constant_ms(detail.most))
    found: set[tuple[int | None, int | None]] = set()
    try:
        for part in parts:
            values = draw(run.markers[part], reads)
            found.add((milliseconds(detail.least, values), milliseconds(detail.most, values)))
    except Undetermined:
        found.clear()
    if len(found) == 1:
        return time_limits(*found.pop())
    return next(f"time {one.words}" for one in (detail.least, detail.most) if one and one.reads)
