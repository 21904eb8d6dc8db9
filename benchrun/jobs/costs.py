"""The cost of a part so far: what was paid, what was used up for it, hours at work."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from benchrun.account.act_facts import SupplyFacts
from benchrun.account.facts import RunFacts
from benchrun.jobs.run_facts import part_in
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import convert
from benchrun.shop.amounts import Money, StockAmount, money_totals, same_kind
from benchrun.shop.books import ShopBooks
from benchrun.shop.parts import Part
from benchrun.shop.supplies import Supply

WorkedMs = Mapping[str, Mapping[int, int]]
"""For each run the milliseconds at work by entry."""


@lean_dataclass(frozen=True, slots=True)
class PartCost:
    """The cost of a part, or of several together.

    An act on several parts counts for each by an equal share.

    Attributes:
        paid: What was paid for it.
        used: What was used up for it, by what procedures call the supply.
        priced: The price of that share, as far as the containers have one.
        hands_ms: The time at work on it, in milliseconds.
    """

    paid: tuple[Money, ...] = ()
    used: tuple[tuple[str, StockAmount], ...] = ()
    priced: tuple[Money, ...] = ()
    hands_ms: int = 0

    @property
    def money(self) -> tuple[Money, ...]:
        """All of it that is money, a sum for each currency."""
        return money_totals((*self.paid, *self.priced))


def cost_so_far(
    books: ShopBooks, part: Part, runs: Iterable[RunFacts], worked: WorkedMs
) -> PartCost:
    """The cost of a part over its runs.

    Args:
        books: The shop's books, which keep what was paid and what a container cost.
        part: The part.
        runs: The facts of the runs that it was in.
        worked: The time at work in those runs.
    """
    used: dict[str, StockAmount] = {}
    priced: list[Money] = []
    hands = Decimal(0)
    for run in runs:
        own = part_in(run, part.id)
        if own is None:
            continue
        for supply in run.supplies:
            if own.part in supply.parts and supply.amount and not supply.taken_back:
                _add(used, supply)
                priced += _priced(books, supply)
        spans = worked.get(run.run, {})
        hands += sum(
            (
                Decimal(spans[act.n]) / len(act.parts)
                for act in run.acts
                if own.part in act.parts and act.n in spans and not act.taken_back
            ),
            Decimal(0),
        )
    paid = money_totals(cost.price for cost in part.costs)
    return PartCost(paid, tuple(used.items()), money_totals(priced), int(hands))


def cost_together(costs: Sequence[PartCost]) -> PartCost:
    """The cost of several parts, added up."""
    used: dict[str, StockAmount] = {}
    for cost in costs:
        for name, amount in cost.used:
            used[name] = _sum(used.get(name), amount)
    return PartCost(
        money_totals(money for cost in costs for money in cost.paid),
        tuple(used.items()),
        money_totals(money for cost in costs for money in cost.priced),
        sum(cost.hands_ms for cost in costs),
    )


def _add(used: dict[str, StockAmount], supply: SupplyFacts) -> None:
    share = Decimal(supply.amount) / len(supply.parts)
    amount = StockAmount(-share if supply.back else share, supply.unit)
    used[supply.supply] = _sum(used.get(supply.supply), amount)


def _sum(known: StockAmount | None, more: StockAmount) -> StockAmount:
    if known is None or not same_kind(known.unit, more.unit):
        return more
    return StockAmount(known.value + more.to(known.unit), known.unit)


def _priced(books: ShopBooks, supply: SupplyFacts) -> list[Money]:
    """The price of a share of a container; none where nobody kept what it cost."""
    tin: Supply | None = books.supplies.find(supply.name) if supply.name else None
    if tin is None or tin.price is None or not same_kind(tin.amount.unit, supply.unit):
        return []
    size = convert(Decimal(supply.amount), supply.unit, tin.amount.unit) / len(supply.parts)
    value = tin.price.value * size / tin.amount.value
    return [Money(-value if supply.back else value, tin.price.currency)]
