"""Where a run stands, by its first offer, in words."""

from typing import TYPE_CHECKING

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.run.offers import Offer
    from benchrun.run.state import Run


def stands(run: "Run", now: Moment) -> str:
    """Say where a run stands, by its first offer."""
    return stands_in_both(run, now)[0]


def stands_in_both(run: "Run", now: Moment) -> tuple[str, str]:
    """Where a run stands, by its first offer: in full, and with more than two parts counted."""
    from benchrun.run.offers import offers

    if run.stopped:
        return (f"stopped: {run.stopped}",) * 2
    first = next(iter(offers(run, now)), None)
    if first is None:
        return ("nothing to do",) * 2
    return offer_words(run, first), offer_words(run, first, few=True)


def offer_words(run: "Run", offer: "Offer", *, few: bool = False) -> str:
    """Say an offer in one line, such as `arm L, R: step 14, Rinse in running water.`.

    Args:
        run: The run.
        offer: What is on offer.
        few: Whether more than two parts are counted, for want of room.
    """
    from benchrun.run.clocks import window_words
    from benchrun.run.offers import Deed

    most = 2 if few else 3 if len(offer.parts) == len(run.parts) else len(offer.parts)
    parts = len(offer.parts)
    who = count(parts, "part") if parts > most else part_names(offer.parts)
    step = f"step {offer.step.number}" if offer.step else ""
    match offer.deed:
        case Deed.CLOSE:
            return "all done: close the run" if offer.ready else f"close: {offer.why}"
        case Deed.RESUME:
            return f"stopped: {offer.why}"
        case Deed.ANSWER:
            says = offer.question.says if offer.question else ""
            return f"{who}: {says}"
        case Deed.LATE:
            state = offer.window
            late = window_words(state) if state else "late"
            return f"{who}: {step} is {late}"
        case Deed.LIFT:
            return f"{who}: {step}, take out" + ("" if offer.ready else f" ({offer.why})")
        case Deed.WITNESS:
            waits = f" ({offer.why})" if offer.why else ""
            return f"{who}: {step}, a witness is waited for{waits}"
        case Deed.TEND:
            tend = offer.clock.tend if offer.clock else "tend"
            return f"{who}: " + (f"{tend.removesuffix('.')}, {offer.why}" if offer.why else tend)
        case Deed.GET_BACK:
            return f"{who}: {offer.why}"
    text = offer.step.text if offer.step else ""
    text = f"begin: {text}" if offer.deed is Deed.BEGIN else text
    load = run.route.vessels[offer.vessel].title if offer.takes_vessel else ""
    done = f"done already in this sitting, entry {offer.set_up}: still so" if offer.set_up else ""
    words = [offer.why, f"a load for the {load}" if load else "", done]
    beside = "; ".join(word for word in words if word)
    return f"{who}: {step}, {text}" + (f" ({beside})" if beside else "")
