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
            Cell(one.supply, mark="gone" if one.taken_back else ""),
            _amount(one),
            Cell(_tin(one), mark="bad" if one.misgivings else ""),
            f"step {one.number}",
            parts_words(one.parts, (part.part for part in facts.parts)),
            minute_words(one.utc),
        )
        for one in facts.supplies
    ]
    if not rows:
        return None
    columns = ("Supply", "Amount", "Lot and dates", "For", "Parts", "When")
    return Section("Supplies used", (table_of(columns, rows),))


def _amount(one: SupplyFacts) -> Cell:
    said = in_words(Decimal(one.amount), one.unit) if one.amount else "not known"
    was = in_words(Decimal(one.first), one.unit) if one.first and one.first != one.amount else ""
    said = f"{said} poured back" if one.back else said
    return Cell(f"{said}, taken back" if one.taken_back else said, was)


def _tin(one: SupplyFacts) -> str:
    if not one.name:
        return "not in the shop's book"
    return misgivings_words(f"{one.name}: {one.about}".removesuffix(": "), one.misgivings)
