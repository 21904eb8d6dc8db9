"""What a run used of supplies: how much, of which lot, for which parts."""

from collections.abc import Iterator
from decimal import Decimal

from benchrun.procedure.route import Procedure
from benchrun.quantity import in_words
from benchrun.report.doc import Cell, Section, table
from benchrun.report.facts import RunFacts, SupplyFacts
from benchrun.report.spoken import parts_words
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.wording import minute_words


def supplies_of(
    procedure: Procedure, entries: tuple[e.Entry, ...], run: Run
) -> Iterator[SupplyFacts]:
    """What each act used, as it stands now.

    Args:
        procedure: What was followed.
        entries: The log.
        run: The run that they fold to; what was taken back is not among what it used.
    """
    for entry in entries:
        data = entry.data
        if isinstance(data, e.Did | e.WentIn):
            step = procedure.route.steps[data.step]
            now = {use.supply: use for use in run.used.get(entry.n, ())}
            for first in data.uses:
                use = now.get(first.supply, first)
                yield SupplyFacts(
                    n=entry.n,
                    utc=entry.at.utc,
                    by=entry.by,
                    number=step.number,
                    text=step.text,
                    parts=data.parts,
                    supply=use.supply,
                    amount=use.amount,
                    unit=use.unit,
                    first=first.amount,
                    name=use.name,
                    about=use.about,
                    misgivings=use.misgivings,
                    back=use.back,
                    taken_back=first.supply not in now,
                )


def supplies_section(facts: RunFacts) -> Section | None:
    """What was used of which supply, with its lot; a row an act."""
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
    return Section("Supplies used", (table(columns, rows),))


def _amount(one: SupplyFacts) -> Cell:
    said = in_words(Decimal(one.amount), one.unit) if one.amount else "not known"
    was = in_words(Decimal(one.first), one.unit) if one.first and one.first != one.amount else ""
    said = f"{said} poured back" if one.back else said
    return Cell(f"{said}, taken back" if one.taken_back else said, was)


def _tin(one: SupplyFacts) -> str:
    if not one.name:
        return "not in the shop's book"
    return "; it ".join((f"{one.name}: {one.about}".removesuffix(": "), *one.misgivings))
