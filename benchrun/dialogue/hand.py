"""The offer in hand of a run, among everything on offer: which, and for which parts.

Everything here is worked out from the run and the moment alone.
"""

from collections.abc import Hashable, Sequence

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Dwell, Head, Kind, Reading
from benchrun.run.act_clocks import ActClock, Band, ClockKind
from benchrun.run.clocks import LoadClock, loads
from benchrun.run.offers import Deed, Offer
from benchrun.run.offers import offers as offers_of_run
from benchrun.run.state import Run, Status
from benchrun.run.urgency import Rank, clock_rank, helps, ranked_clocks
from benchrun.run.vessels import over_capacity
from benchrun.wording import grouped


def offered(run: Run, at: Moment) -> tuple[Offer, ...]:
    """Everything on offer, the most urgent first: the one order that every face shows."""
    return offers_of_run(run, at)


@lean_dataclass(frozen=True, slots=True)
class Pin:
    """The offer that a hand has taken up, whatever becomes more urgent.

    Attributes:
        key: The offer's key.
        parts: The offer's parts; they tell offers of one key apart, such as the load that fits a
            vessel and those that wait for room in it.
    """

    key: Hashable
    parts: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class View:
    """A run at a moment, as the screen shows it.

    Attributes:
        run: The run.
        at: The moment.
        offers: Everything on offer, the most urgent first.
        index: Which of them is in hand.
        clocks: Every running clock, the one nearest its upper limit first.
    """

    run: Run
    at: Moment
    offers: tuple[Offer, ...]
    index: int
    clocks: tuple[LoadClock, ...]

    @property
    def offer(self) -> Offer | None:
        """The offer in hand."""
        return self.offers[self.index] if self.offers else None

    @property
    def others(self) -> tuple[Offer, ...]:
        """The offers beside the one in hand."""
        return self.offers[: self.index] + self.offers[self.index + 1 :]


def view(run: Run, at: Moment, pinned: Pin | None) -> View:
    """Look at a run.

    Args:
        run: The run.
        at: Now.
        pinned: The offer that a hand has chosen, or None for the first.
    """
    on = offered(run, at)
    return View(run, at, on, _pinned(on, pinned), loads(run, at))


class Eye:
    """Looks at a run with one offer in hand.

    The last view is kept, as one key asks for the same one several times.

    Attributes:
        pinned: The offer that a hand has chosen, or None for the first.
    """

    def __init__(self) -> None:
        self.pinned: Pin | None = None
        self._last: tuple[tuple[Run, Moment, Pin | None], View] | None = None

    def view(self, run: Run, at: Moment) -> View:
        """The run at a moment."""
        asked = (run, at, self.pinned)
        if self._last is None or self._last[0] != asked:
            self._last = (asked, view(*asked))
        return self._last[1]


def _pinned(found: Sequence[Offer], pinned: Pin | None) -> int:
    """Where the pinned offer stands now; the first where it is no longer on."""
    if pinned is None:
        return 0
    wanted = set(pinned.parts)
    same = [at for at, offer in enumerate(found) if offer_key(offer) == pinned.key]
    return max(same, key=lambda at: (len(wanted & set(found[at].parts)), -at), default=0)


def pin_of(offer: Offer) -> Pin:
    """The pin that keeps an offer in hand."""
    return Pin(offer_key(offer), offer.parts)


def offer_key(offer: Offer) -> Hashable:
    """The key that makes an offer the same one while clocks go on and parts come and go."""
    load = offer.clock.load if offer.clock else None
    step = offer.step.id if offer.step else ""
    says = offer.question.says if offer.question else ""
    return (offer.deed, step, offer.place, load, says)


def inspects(offer: Offer) -> bool:
    """Whether an offer is a judgement by number."""
    return _is_of(offer, Kind.INSPECT)


def critical_words(offer: Offer) -> str:
    """Why the start of the step on offer is entered first, or what follows it; empty for others."""
    if offer.step is None or not offer.step.critical:
        return ""
    if offer.deed is Deed.BEGIN:
        return "It cannot be undone. Read the cautions, then begin."
    enters = offer.deed in (Deed.DO, Deed.PUT_IN, Deed.TELL)
    return "Begun. Do it now, then enter it." if enters else ""


def is_hold(offer: Offer) -> bool:
    """Whether an offer is a stop for a signature."""
    return _is_of(offer, Kind.HOLD)


def _is_of(offer: Offer, kind: Kind) -> bool:
    """Whether an offer is a step of a kind, with no figure to be typed before it."""
    step = offer.step if offer.deed is Deed.DO and not offer.figures else None
    return step is not None and step.kind is kind


def act_of(offer: Offer | None, parts: Sequence[str]) -> Hashable:
    """The act that Enter would do for these parts; equal only if it is the same act."""
    if offer is None:
        return None
    return (offer_key(offer), offer.ready, tuple(parts), offer.figures)


def parts_of(run: Run, offer: Offer, chosen: Sequence[str]) -> tuple[str, ...]:
    """For which parts the offer is taken up: those chosen, else all, else as many as fit.

    A reading belongs to one part, so it is taken part by part.
    """
    picked = tuple(part for part in offer.parts if part in chosen) or offer.parts
    step = offer.step
    if step is None or chosen:
        return _one_by_one(offer, picked)
    if offer.deed is Deed.PUT_IN and isinstance(step.detail, Dwell):
        return _that_fit(run, step.detail.vessel, picked)
    return _one_by_one(offer, picked)


def offer_for(now: View, parts: Sequence[str]) -> Offer | None:
    """The offer for chosen parts: the one most of them wait for, if equal what is in hand.

    Returns:
        None when nothing is on offer for any of them.
    """
    wanted = set(parts)

    def worth(offer: Offer) -> tuple[int, bool, bool]:
        return (len(wanted & set(offer.parts)), offer is now.offer, offer.ready)

    open_to = [one for one in now.offers if one.deed is not Deed.CLOSE and wanted & set(one.parts)]
    return max(open_to, key=worth, default=None)


def _one_by_one(offer: Offer, parts: tuple[str, ...]) -> tuple[str, ...]:
    step = offer.step
    if step is None or offer.deed is not Deed.DO:
        return parts
    if step.kind is Kind.READING and not step.shared:
        return parts[:1]
    return parts


def _that_fit(run: Run, vessel: str, parts: tuple[str, ...]) -> tuple[str, ...]:
    for size in range(len(parts), 0, -1):
        if over_capacity(run, vessel, parts[:size]) == 0:
            return parts[:size]
    return parts


def main_clock(now: View) -> ActClock | None:
    """The clock to show large: that of the act in hand, or the most urgent while nothing is ready.

    A window is large once it presses, a tending once it is late.
    """
    offer, every = now.offer, ranked_clocks(now.run, now.at)
    clocks = _large(every)
    first = clocks[0] if clocks else None
    if offer is None:
        return first
    own = next((one for one in clocks if helps(offer, one)), None)
    if own is None and offer.clock is not None:  # a tending: the load that it belongs to
        load = offer.clock.load
        own = next((one for one in clocks if one.load and one.load.load == load), None)
    if own is None and not offer.ready:  # a window that is still to open
        windows = (one for one in every if one.kind is ClockKind.WINDOW and not one.accepted)
        its = (one for one in windows if one.step is offer.step and helps(offer, one))
        own = next(its, None)
    if offer.ready or first is None:
        return own
    return own if own is not None and clock_rank(first)[0] >= Rank.USUAL else first


def _large(clocks: Sequence[ActClock]) -> list[ActClock]:
    """The clocks that may be shown large."""
    return [
        one
        for one in clocks
        if not (one.kind is ClockKind.TEND and one.band is not Band.LATE)
        and not (one.kind is ClockKind.WINDOW and not _presses(one))
    ]


def _presses(clock: ActClock) -> bool:
    return not clock.accepted and clock_rank(clock)[0] < Rank.USUAL


def beside_clocks(now: View) -> tuple[ActClock, ...]:
    """The clocks to show beside the large one: loads and windows that press, most urgent first."""
    large = main_clock(now)
    return tuple(
        one
        for one in ranked_clocks(now.run, now.at)
        if one.kind is not ClockKind.TEND
        and (one.kind is not ClockKind.WINDOW or _presses(one))
        and (large is None or one.key != large.key)
    )


def called_offer(now: View, clock: ActClock) -> Offer | None:
    """The first offer that ends a clock or leads to the act that does; None where none is on."""
    return next((one for one in now.offers if helps(one, clock)), None)


def stands_at(run: Run, part: str) -> int:
    """The place in reading order of the step at which a part stands."""
    marker = run.markers[part]
    order = {step: place for place, step in enumerate(run.route.steps)}
    for index in range(marker.index, len(run.route.ops)):
        op = run.route.step_at(index)
        if op is not None:
            return order[op.step.id]
    return len(order)


def furthest_behind(run: Run) -> int:
    """The place in reading order at which the part stands that is furthest behind.

    Where nobody is at work, what is set aside says how far the batch has come.
    """
    among = [marker for marker in run.each() if marker.here] or [
        marker for marker in run.each() if marker.status is Status.ASIDE
    ]
    return min((stands_at(run, one.part) for one in among), default=len(run.route.steps))


def pass_words(run: Run, offer: Offer) -> str:
    """Which pass of which repeat the offer's parts are at; empty outside repeats.

    `coats 2`; where parts are at different passes, each with its own: `a, b: coats 2; c: coats 1`.
    """
    if offer.step is None or not offer.parts:
        return ""
    index = run.route.index[offer.step.id]
    titles = [
        op.title
        for op in map(run.route.ops.__getitem__, run.route.within[index])
        if isinstance(op, Head)
    ]
    passes = {
        part: ", ".join(
            f"{title} {made}" for title, made in zip(titles, run.markers[part].passes, strict=False)
        )
        for part in offer.parts
    }
    if len(set(passes.values())) == 1:
        return passes[offer.parts[0]]
    return "; ".join(f"{part_names(parts)}: {said}" for said, parts in grouped(passes))


def place_words(offer: Offer) -> str:
    """Which of how many places of a reading: `reading 2 of 12`; empty for one alone."""
    step = offer.step
    if step is None or not isinstance(step.detail, Reading) or len(step.detail.places) < 2:
        return ""
    places = step.detail.places
    if offer.place not in places:
        return ""  # a query of the part, or a figure that is wanted first, is of no place
    return f"reading {places.index(offer.place) + 1} of {len(places)}"
