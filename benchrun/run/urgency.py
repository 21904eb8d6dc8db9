"""The one order of urgency: over the clocks of all open runs, and over what a run offers.

1. Harm now: past a limit by any clock, the longest past it first.
2. Harm soon: the least time to spare first, with the work before the act taken off.
3. Harm done: a window that closed more than an hour ago, one of many hours of which nobody knows
   whether it has closed, and parts that are due back. What a hand does about them now or in some
   minutes comes to the same, so they wait for what is soon.
4. What frees something that others wait for: room in a vessel, parts that a step together waits
   for, a load at its aim.
5. The usual order of the work; among clocks, the nearest harm first.

Putting parts in never stands before an act whose harm comes before they may come out again.
"""

from collections.abc import Iterable, Mapping, Sequence
from enum import IntEnum
from operator import itemgetter
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Dwell
from benchrun.run.act_clocks import ActClock, ClockKind, act_clocks
from benchrun.run.course import ACT_MS
from benchrun.run.memory import remembered
from benchrun.run.offer import Deed, Offer
from benchrun.run.state import Run, altered

_Key = tuple[str, ...]
DONE_MS: Final = 3_600_000
"""A window closed for longer than this harms no more by the minute; common practice, no source."""

_FAR: Final = 1 << 60


class Rank(IntEnum):
    """The classes of urgency, the most urgent first."""

    HARM_NOW = 0
    HARM_SOON = 1
    HARM_DONE = 2
    FREES = 3
    USUAL = 4
    WAITING = 5


_LAST: Final = (Rank.WAITING, 0)


@lean_dataclass(frozen=True, slots=True)
class RunClock:
    """A clock and the run that it belongs to, by the run's id."""

    run_id: str
    clock: ActClock

    @property
    def key(self) -> tuple[str, ...]:
        """The key that makes it the same clock in the whole shop."""
        return (self.run_id, *self.clock.key)


def clock_rank(clock: ActClock) -> tuple[int, int]:
    """The class of a clock and its place in it: the less, the more urgent."""
    if clock.harm_in is None:
        return (Rank.USUAL, _FAR)
    if clock.harm_in < 0:
        over = clock.over_ms
        doubt = over == 0 and (clock.most or 0) > DONE_MS
        waits = clock.kind is ClockKind.WINDOW and (doubt or over > DONE_MS)
        if waits or clock.kind is ClockKind.AWAY:
            return (Rank.HARM_DONE, -over)
        # What a person let pass is still to be done soon: wet parts dry on.
        return (Rank.HARM_SOON if clock.accepted else Rank.HARM_NOW, -over)
    return (Rank.HARM_SOON if clock.near else Rank.USUAL, clock.harm_in - clock.lead)


@remembered
def _ordered(run: Run, at: Moment) -> tuple[tuple[tuple[int, ...], _Key, ActClock], ...]:
    """The clocks of a run, the most urgent first, each with its place in the order and its key."""
    found = [(_place(clock), clock.key, clock) for clock in act_clocks(run, at)]
    return tuple(sorted(found, key=itemgetter(0, 1)))


def _place(clock: ActClock) -> tuple[int, ...]:
    opens = clock.opens_in if clock.opens_in is not None else _FAR
    return (*clock_rank(clock), -clock.band, opens)


@remembered
def ranked_clocks(run: Run, at: Moment) -> tuple[ActClock, ...]:
    """The clocks of a run by their rank alone, the most urgent first, those alike as they come."""
    return tuple(sorted(act_clocks(run, at), key=clock_rank))


def ordered_clocks(runs: Iterable[tuple[str, Run]], at: Moment) -> tuple[RunClock, ...]:
    """Every clock of some runs, the most urgent first.

    Args:
        runs: The runs with their ids.
        at: The moment.
    """
    found = [
        (place, name, key, clock) for name, run in runs for place, key, clock in _ordered(run, at)
    ]
    found.sort(key=itemgetter(0, 1, 2))
    return tuple(RunClock(name, clock) for _, name, _, clock in found)


def most_urgent(run: Run, at: Moment) -> tuple[int, int]:
    """The rank of the most urgent clock of a run; that of no harm where it has none."""
    return next(((place[0], place[1]) for place, _, _ in _ordered(run, at)), (Rank.USUAL, _FAR))


def helps(offer: Offer, clock: ActClock) -> bool:
    """Whether taking an offer ends a clock, or leads its parts on to the act that ends it."""
    if clock.load is not None:
        its = (clock.load.load, clock.step.id)
        if offer.clock is None or offer.step is None or (offer.clock.load, offer.step.id) != its:
            return False
        return (offer.deed is Deed.TEND) == (clock.kind is ClockKind.TEND)
    leads = offer.deed not in (Deed.TEND, Deed.RESUME, Deed.CLOSE)
    return leads and bool(set(offer.parts) & set(clock.parts))


_ENDS: Final = {
    Deed.LIFT: ClockKind.LOAD,
    Deed.TEND: ClockKind.TEND,
    Deed.WITNESS: ClockKind.NOTICE,
}


class _Clocks:
    """The clocks of a run by what an offer is about, so that each offer finds its own at once."""

    def __init__(self, clocks: Iterable[ActClock]) -> None:
        self._windows: dict[str, list[ActClock]] = {}
        self._loads: dict[tuple[ClockKind, int, str], ActClock] = {}
        for clock in clocks:
            if clock.kind is ClockKind.WINDOW:
                for part in clock.parts:
                    self._windows.setdefault(part, []).append(clock)
            elif clock.load is not None:
                self._loads[clock.kind, clock.load.load, clock.step.id] = clock

    def of(self, offer: Offer) -> ActClock | None:
        """The most urgent clock that taking an offer ends or helps to keep; None without one.

        For taking a load out and tending it that is its own clock. Any act but tending leads its
        parts on to the steps whose windows are open.
        """
        helped = []
        kind = _ENDS.get(offer.deed)
        if kind is not None and offer.clock is not None:
            own = self._loads.get((kind, offer.clock.load, offer.clock.step.id))
            helped += [own] if own is not None else []
        if offer.step is not None and offer.step.before_out:
            helped += [
                clock
                for (kind, _, step), clock in self._loads.items()
                if kind is ClockKind.LOAD
                and step == offer.step.ahead_of
                and set(clock.parts) & set(offer.parts)
            ]
        if self._windows and offer.deed not in (Deed.TEND, Deed.RESUME, Deed.CLOSE):
            for part in offer.parts:
                helped += self._windows.get(part, ())
        return min(helped, key=clock_rank, default=None)


def part_haste(clocks: Iterable[ActClock]) -> Mapping[str, tuple[int, int]]:
    """For each part with a window that presses, how urgent it is; others are not named."""
    found: dict[str, tuple[int, int]] = {}
    for clock in clocks:
        rank = clock_rank(clock)
        if clock.kind is ClockKind.WINDOW and rank[0] < Rank.USUAL:
            for part in clock.parts:
                found[part] = min(found.get(part, rank), rank)
    return found


def ordered_offers(offers: Sequence[Offer], clocks: Sequence[ActClock]) -> tuple[Offer, ...]:
    """Offers with their urgency, the most urgent first and what is waited for last.

    Args:
        offers: What may be done; their `urgency` is their place in the usual order of the work.
        clocks: The clocks of the same run at the same moment.
    """
    known = _Clocks(clocks)
    urged = {id(one): known.of(one) for one in offers if one.ready}
    rooms = {vessel for one in offers for vessel in one.room_in}
    behind = {part for one in offers for part in one.behind}
    ranked = [
        (_ranked(one, urged.get(id(one)), rooms, behind), urged.get(id(one))) for one in offers
    ]
    done = [_after_what_closes(one, clock, ranked) for one, clock in ranked]
    return tuple(sorted(done, key=lambda offer: offer.urgency))


def _ranked(offer: Offer, clock: ActClock | None, rooms: set[str], behind: set[str]) -> Offer:
    if not offer.ready:
        return altered(offer, urgency=(Rank.WAITING, *offer.urgency))
    rank = clock_rank(clock) if clock is not None else (Rank.USUAL, 0)
    if rank[0] < Rank.USUAL:
        return altered(offer, urgency=(*rank, *offer.urgency))
    frees = Rank.FREES if _frees(offer, rooms, behind) else Rank.USUAL
    return altered(offer, urgency=(frees, 0, *offer.urgency))


def _frees(offer: Offer, rooms: set[str], behind: set[str]) -> bool:
    if offer.deed is Deed.RESUME:
        return True
    if offer.deed is Deed.LIFT and offer.clock is not None:
        aim = offer.clock.aim
        return offer.clock.vessel in rooms or (
            aim is not None and offer.clock.spent.proven_ms >= aim
        )
    return bool(behind & set(offer.parts)) or (offer.has_vessel and offer.vessel in rooms)


def _puts_in(offer: Offer) -> bool:
    """Whether an offer is a load that goes in, or the start that comes right before."""
    if offer.deed is Deed.BEGIN:
        return offer.step is not None and isinstance(offer.step.detail, Dwell)
    return offer.deed is Deed.PUT_IN


def _after_what_closes(
    offer: Offer, clock: ActClock | None, ranked: Sequence[tuple[Offer, ActClock | None]]
) -> Offer:
    """A load that would go in stands behind every act whose harm comes while it is in."""
    if not _puts_in(offer) or not offer.ready:
        return offer
    busy = ACT_MS + offer.busy_ms
    own = clock_rank(clock) if clock is not None and clock.slack is not None else _LAST
    latest = offer.urgency
    for other, its in ranked:
        if other is offer or its is None or its.slack is None or _puts_in(other):
            continue
        rank = clock_rank(its)
        if rank[0] == Rank.HARM_DONE:
            continue
        if its.slack <= busy and rank < own and other.urgency >= latest:
            latest = (*other.urgency, 1)
    return altered(offer, urgency=latest) if latest != offer.urgency else offer
