"""The section on supplies: how much of which lot, for which parts."""

from decimal import Decimal

from benchrun.account.facts import RunFacts, SupplyFacts
from benchrun.quantity import in_words
from benchrun.report.doc import Cell, Section, table_of
from benchrun.report.wording import parts_words
from benchrun.wording import minute_words, misgivings_words


def supplies_section(facts: RunFacts) -> Section | None:
    """The use of each supply, with its lot; a row an act."""
    rows = [
        (
            Cell(supply.supply, mark="gone" if supply.taken_back else ""),
            _amount(supply),
            Cell(_tin(supply), mark="bad" if supply.misgivings else ""),
            f"step {supply.number}",
            parts_words(supply.parts, (part.part for part in facts.parts)),
            minute_words(supply.utc),
        )
        for supply in facts.supplies
    ]
    if not rows:
        return None
    columns = ("Supply", "Amount", "Lot and dates", "For", "Parts", "When")
    return Section("Supplies used", (table_of(columns, rows),))


def _amount(supply: SupplyFacts) -> Cell:
    said = in_words(Decimal(supply.amount), supply.unit) if supply.amount else "not known"
    was = (
        in_words(Decimal(supply.first), supply.unit)
        if supply.first and supply.first != supply.amount
        else ""
    )
    said = f"{said} poured back" if supply.back else said
    return Cell(f"{said}, taken back" if supply.taken_back else said, was)


def _tin(supply: SupplyFacts) -> str:
    if not supply.name:
        return "not in the shop's book"
    return misgivings_words(f"{supply.name}: {supply.about}".removesuffix(": "), supply.misgivings)
