"""The cost of parts that is still to come: hands, supplies and work outside, each with its spread.

Hands by the times that past runs took, over every step that is still ahead on a part's route;
supplies by what past runs drew, or else what the procedure uses at least; work outside by what was
paid for it before. What nobody knows yet is said to be so.
"""

import statistics
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from decimal import Decimal
from math import hypot
from typing import Final, TypeVar

from benchrun.account.facts import RunFacts
from benchrun.board import OpenRun
from benchrun.errors import BenchrunError
from benchrun.history.estimates import about
from benchrun.history.step_paces import ENOUGH_RUNS, GUESSED_HIGH, GUESSED_LOW, quantile
from benchrun.jobs.run_facts import facts_of_runs, part_in
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import kept_procedure
from benchrun.moment import Moment
from benchrun.plan.evening import Ahead, shop_ahead
from benchrun.plan.pieces import RunAhead
from benchrun.plan.runs_to_come import procedure_at
from benchrun.plan.trains import path_ahead
from benchrun.procedure.route import Dwell, Procedure, Reading, Step
from benchrun.quantity import unit_words
from benchrun.record.glimpse import run_paths
from benchrun.run.state import Marker, Status
from benchrun.shop.amounts import StockAmount, same_kind
from benchrun.shop.books import ShopBooks
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Part, Trip
from benchrun.shop.supplies import serving
from benchrun.shop_use.readiness import least_amounts
from benchrun.text import count, listed, slug

K = TypeVar("K")
_LOW: Final = 0.1
_HIGH: Final = 0.9
_LATEST: Final = 12
"""So many past runs of a procedure say what it draws."""


@lean_dataclass(frozen=True, slots=True)
class Spread:
    """Something that is not known yet: what half, 10 and 90 of 100 such stay under."""

    middle: float = 0.0
    low: float = 0.0
    high: float = 0.0

    def times(self, factor: float) -> "Spread":
        """It so many times over."""
        return Spread(self.middle * factor, self.low * factor, self.high * factor)


def added(spreads: Iterable[Spread], *, alike: bool = False) -> Spread:
    """The sum of things that are not known yet.

    Args:
        spreads: The things.
        alike: Whether all of them may be wrong to the same side, as guesses are; else one that
            takes longer is taken to say nothing of another.
    """
    found = list(spreads)
    middle = sum(one.middle for one in found)
    below = [one.middle - one.low for one in found]
    above = [one.high - one.middle for one in found]
    if alike:
        return Spread(middle, middle - sum(below), middle + sum(above))
    return Spread(middle, middle - hypot(*below), middle + hypot(*above))


@lean_dataclass(frozen=True, slots=True)
class CostAhead:
    """The cost of a part, or of several together, that is still to come.

    Attributes:
        learned: Minutes of hands at steps that were timed in this shop.
        guessed: The same at steps that never were.
        steps: How many steps there are, of each part.
        guesses: How many of them rest on a guess.
        supplies: What will be drawn, by what procedures call it and its unit.
        money: What that costs, with what is paid outside, by currency.
        runs: On how many past runs of its procedures the supplies rest at least; 0: on none.
        unknown: Places outside whose price nobody knows yet, and supplies without a price.
    """

    learned: Spread = Spread()
    guessed: Spread = Spread()
    steps: int = 0
    guesses: int = 0
    supplies: Mapping[tuple[str, str], Spread] = field(default_factory=dict)
    money: Mapping[str, Spread] = field(default_factory=dict)
    runs: int = 0
    unknown: tuple[str, ...] = ()

    @property
    def hands(self) -> Spread:
        """Minutes of hands in all."""
        return added((self.learned, self.guessed))


def ahead_together(costs: Sequence[CostAhead]) -> CostAhead:
    """The cost of several parts that is still to come, added up."""
    return CostAhead(
        added(cost.learned for cost in costs),
        added((cost.guessed for cost in costs), alike=True),
        sum(cost.steps for cost in costs),
        sum(cost.guesses for cost in costs),
        _sums(cost.supplies for cost in costs),
        _sums(cost.money for cost in costs),
        min((cost.runs for cost in costs if cost.supplies), default=0),
        tuple(dict.fromkeys(name for cost in costs for name in cost.unknown)),
    )


def _sums(tables: Iterable[Mapping[K, Spread]]) -> dict[K, Spread]:
    found: dict[K, list[Spread]] = {}
    for table in tables:
        for key, spread in table.items():
            found.setdefault(key, []).append(spread)
    return {key: added(spreads, alike=True) for key, spreads in found.items()}


def costs_ahead(
    shop: Shop, books: ShopBooks, runs: Iterable[OpenRun], now: Moment
) -> dict[str, CostAhead]:
    """For each part that has work ahead, by its id, what that will cost.

    Args:
        shop: The shop.
        books: Its books.
        runs: Its open runs as they were read.
        now: The moment.
    """
    opened = {one.id: one for one in runs}
    try:
        ahead = shop_ahead(shop, opened.values(), now)
    except BenchrunError:
        return {}  # what is wrong in a book is told where the book stands
    found: dict[str, list[CostAhead]] = {}
    for run in ahead.runs:
        procedure = _procedure(shop, run, opened)
        draws = _Draws(shop, procedure) if procedure is not None else None
        here = [one for one in run.run.each() if one.status in (Status.PLAY, Status.AWAY)]
        for marker in here:
            cost = _cost_in(ahead, run, marker, len(here), books, draws)
            found.setdefault(slug(marker.part), []).append(cost)
    return {part: ahead_together(costs) for part, costs in found.items()}


def ahead_fields(cost: CostAhead) -> list[tuple[str, str]]:
    """The cost that is still to come as labels with what belongs to them."""
    hands, never = cost.hands, ""
    if cost.guesses:
        never = f"; {cost.guesses} of {cost.steps} steps are a guess, never timed here"
    if cost.steps and cost.guesses == cost.steps:
        never = "; a guess: none of these steps was ever timed here"
    used = [
        f"{name} {_range(spread, unit)}" for (name, unit), spread in sorted(cost.supplies.items())
    ]
    rests = f"by {count(cost.runs, 'past run')}" if cost.runs else "at least, by the procedures"
    between = f"{_hours(hands.low)} to {_hours(hands.high)}"
    rows = [
        ("at work", f"{_hours(hands.middle)} ({between}){never}"),
        ("supplies", f"{listed(used, most=40)}; {rests}" if used else ""),
        ("money", " and ".join(_range(one, currency) for currency, one in cost.money.items())),
        ("no price", listed(cost.unknown, most=40)),
    ]
    return [(label, text) for label, text in rows if text]


def _range(spread: Spread, unit: str) -> str:
    """A middle value with what it may come to: `60 ml (42 to 96)`."""
    middle, low, high = (_rounded(one) for one in (spread.middle, spread.low, spread.high))
    return f"{middle} {unit_words(unit)}" + (f" ({low} to {high})" if low != high else "")


def _hours(minutes: float) -> str:
    """Minutes of hands: `25 min`, `3 h 10 min`; whole hours where there are many."""
    if minutes >= 20 * 60:
        return f"{minutes / 60:.0f} h"
    return about(round(minutes * 60_000))


def _rounded(value: float) -> str:
    """A value that nobody measured, in two or three digits."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}" if value >= 10 else f"{value:.2g}"


def _procedure(shop: Shop, run: RunAhead, opened: Mapping[str, OpenRun]) -> Procedure | None:
    try:
        if run.comes:
            return procedure_at(shop.procedure(run.procedure))
        return kept_procedure(opened[run.id].folder, run.run.about)
    except BenchrunError:
        return None


def _cost_in(
    ahead: Ahead,
    run: RunAhead,
    marker: Marker,
    many: int,
    books: ShopBooks,
    draws: "_Draws | None",
) -> CostAhead:
    """The cost of the rest of one run for one of its parts."""
    path = [step for step, _ in path_ahead(run.run, marker)]
    if marker.soak is not None:
        path = path[1:]  # it is in already: what is left of that is taking it out
    learned, guessed = list[Spread](), list[Spread]()
    for step in path:
        takes = ahead.takes(run.procedure, step)
        acts = 1 if _for_all(step) else many
        shares = [takes.minutes(acts, share) / many for share in (0.5, _LOW, _HIGH)]
        stands = takes.stands if _tended(step) else None
        spread = Spread(*shares) if not stands else Spread(*(one + stands / many for one in shares))
        (guessed if takes.guess else learned).append(spread)
    supplies = draws.left(run.id, marker.part, many, open_run=not run.comes) if draws else {}
    money, unknown = _priced(books, supplies)
    places = {
        step.detail.place for step in path if isinstance(step.detail, Dwell) and step.detail.place
    }
    for place in sorted(places):
        price = price_outside(books, place)
        unknown += () if price else (place,)
        for currency, spread in price.items():
            money[currency] = added((money.get(currency, Spread()), spread))
    return CostAhead(
        added(learned),
        added(guessed, alike=True),
        len(path),
        len(guessed),
        supplies,
        money,
        draws.runs if draws else 0,
        unknown,
    )


def _for_all(step: Step) -> bool:
    shared = isinstance(step.detail, Reading) and step.shared
    return step.together or shared or step.set_up


def _tended(step: Step) -> bool:
    return isinstance(step.detail, Dwell) and step.detail.tend_every is not None


class _Draws:
    """The amounts that a procedure draws for a part, by its past runs or by what it says itself."""

    def __init__(self, shop: Shop, procedure: Procedure) -> None:
        self.shop, self.procedure = shop, procedure
        paths = [path for path in run_paths(shop.runs) if path.name[11:-5] == procedure.id[:40]]
        facts, _ = facts_of_runs(shop, [path.name for path in paths[-_LATEST - 1 :]])
        self._facts = {run.run: run for run in facts}
        past = [run for run in facts if run.closed and not run.rehearsal and run.parts]
        self.runs = len(past)
        drawn = [_drawn(run) for run in past]
        names = dict.fromkeys(key for one in drawn for key in one)
        self._each = {key: _spread([one.get(key, 0.0) for one in drawn]) for key in names}

    def left(
        self, run: str, part: str, many: int, *, open_run: bool
    ) -> dict[tuple[str, str], Spread]:
        """The amounts still to be drawn for a part, by supply and unit."""
        each = self._each or {
            (name, amount.unit): Spread(*[float(amount.value) / many] * 3)
            for name, amount in least_amounts(self.procedure, many).items()
        }
        used = _used(self._facts[run], part) if open_run and run in self._facts else {}
        left = {}
        for (name, unit), spread in each.items():
            known = used.get(name)
            less = float(known.to(unit)) if known and same_kind(known.unit, unit) else 0.0
            left[name, unit] = Spread(
                *(max(0.0, value - less) for value in (spread.middle, spread.low, spread.high))
            )
        return {key: spread for key, spread in left.items() if spread.high > 0}


def _drawn(run: RunFacts) -> dict[tuple[str, str], float]:
    """The amounts that a run drew for each of its parts, by supply and unit."""
    found: dict[tuple[str, str], float] = {}
    for use in run.supplies:
        if use.amount and not use.taken_back:
            amount = float(use.amount) / len(run.parts)
            key = (use.supply, use.unit)
            found[key] = found.get(key, 0.0) + (-amount if use.back else amount)
    return found


def _used(run: RunFacts, tag: str) -> dict[str, StockAmount]:
    """The amounts that a part has drawn in a run so far."""
    own, found = part_in(run, slug(tag)), dict[str, StockAmount]()
    for use in run.supplies if own is not None else ():
        if own is None or own.part not in use.parts or not use.amount or use.taken_back:
            continue
        share = Decimal(use.amount) / len(use.parts)
        known = found.get(use.supply)
        if known is not None and same_kind(known.unit, use.unit):
            share = known.value + StockAmount(share, use.unit).to(known.unit)
        found[use.supply] = StockAmount(share, known.unit if known else use.unit)
    return found


def _spread(values: Sequence[float]) -> Spread:
    """The spread of what past runs came to; guessed where they are few."""
    middle = statistics.median(values)
    if len(values) < ENOUGH_RUNS:
        return Spread(middle, middle * GUESSED_LOW, middle * GUESSED_HIGH)
    ordered = sorted(values)
    return Spread(middle, quantile(ordered, _LOW), quantile(ordered, _HIGH))


def _priced(
    books: ShopBooks, supplies: Mapping[tuple[str, str], Spread]
) -> tuple[dict[str, Spread], tuple[str, ...]]:
    """The price of supplies by their containers, and those of which none has a price."""
    money, unknown = dict[str, list[Spread]](), list[str]()
    for (name, unit), spread in supplies.items():
        for tin in serving(books.supplies, name):
            if tin.price is not None and same_kind(tin.amount.unit, unit) and tin.amount.value:
                whole = tin.amount.to(unit)
                each = float(tin.price.value / whole)
                money.setdefault(tin.price.currency, []).append(spread.times(each))
                break
        else:
            unknown.append(name)
    return {key: added(found, alike=True) for key, found in money.items()}, tuple(unknown)


def price_outside(books: ShopBooks, place: str) -> dict[str, Spread]:
    """The sums paid for parts that came back from a place, by currency; empty where none were.

    Args:
        books: The shop's books, whose parts keep trips and payments.
        place: The place, as a procedure or the book calls it.
    """
    paid: dict[str, list[float]] = {}
    for part, trip in _trips_to(books, place):
        for cost in part.costs:
            if cost.on >= trip.sent:
                paid.setdefault(cost.price.currency, []).append(float(cost.price.value))
    return {currency: _spread(values) for currency, values in paid.items()}


def _trips_to(books: ShopBooks, place: str) -> Iterator[tuple[Part, Trip]]:
    wanted = slug(place)
    for part in books.parts.rows:
        for trip in part.away:
            if trip.back is not None and wanted in slug(trip.to):
                yield part, trip
