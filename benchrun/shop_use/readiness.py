"""Readiness for a run: what is lacking before it starts, and what the shop had, for its log."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.route import (
    Detour,
    Guard,
    Head,
    Procedure,
    Reading,
    Step,
    StepOp,
    Tail,
    WorkOut,
)
from benchrun.procedure.route import Instrument as Need
from benchrun.quantity import unit_named
from benchrun.run.supply_use import allowed
from benchrun.shop.amounts import StockAmount, amount_from, same_kind
from benchrun.shop.books import ShopBooks
from benchrun.shop.instruments import ShopInstrument
from benchrun.shop.supplies import Supply, serving, short, spoiled
from benchrun.shop_use.strengths import bath_of
from benchrun.shop_use.vessels import VesselUse, others, vessel_of
from benchrun.shopmath.accepting import unit_of_difference
from benchrun.shopmath.amount import said
from benchrun.text import listed

_MOST: Final = 30


def shortages(
    books: ShopBooks,
    procedure: Procedure,
    today: dt.date,
    *,
    uses: Iterable[VesselUse] = (),
    parts: int = 0,
) -> tuple[str, ...]:
    """The shortages that stand against beginning a run now, a line each; none when all is at hand.

    A file that lists nothing is not kept, and nothing is said of what would be in it.

    Args:
        books: The shop's files.
        procedure: What is to be carried out.
        today: The day.
        uses: What open runs have in which vessel.
        parts: How many parts the batch has; 0 counts with the fewest that the procedure takes.
    """
    lacking = [fault.words for fault in books.faults]
    if books.instruments.rows:
        lacking += _instruments(books, procedure.needs.instruments, today)
    if books.supplies.rows:
        planned_for = least_amounts(procedure, parts or procedure.batch.least)
        lacking += _supplies(books, procedure.needs.supplies, today, planned_for)
        lacking += _strengths(books, procedure)
    lacking += _vessels(books, procedure, today, tuple(uses))
    return tuple(lacking)


def not_kept(books: ShopBooks, procedure: Procedure) -> tuple[str, ...]:
    """The books that a procedure needs and that list nothing: what they lack nobody can say."""
    needs = procedure.needs
    needed = {
        "instruments": needs.instruments and not books.instruments.rows,
        "supplies": needs.supplies and not books.supplies.rows,
    }
    return tuple(book for book, missed in needed.items() if missed)


def not_kept_words(books: tuple[str, ...]) -> str:
    """The books that are not kept, in words, and what follows for readings."""
    bare = {"instruments": "instruments (readings name none)"}
    book = "book is" if len(books) == 1 else "books are"
    return f"no {book} kept of {listed([bare.get(name, name) for name in books])}"


def _instruments(books: ShopBooks, needs: tuple[Need, ...], today: dt.date) -> Iterator[str]:
    missing = []
    for need in needs:
        named = [
            instrument for instrument in books.instruments.rows if instrument.called(need.name)
        ]
        if not named:
            missing.append(need.name)
        doubts = [(instrument, _doubts(instrument, need, today)) for instrument in named]
        if all(texts for _, texts in doubts):
            for doubt, texts in doubts:
                yield f"{doubt.name} ({doubt.id}) {'; it '.join(texts)}"
    if missing:
        yield f"not in instruments.yaml: {listed(missing, _MOST)}"


def _doubts(instrument: ShopInstrument, need: Need, today: dt.date) -> tuple[str, ...]:
    doubts = [instrument.state(today)]
    if need.calibrated and instrument.calibrated is None:
        doubts.append("has no calibration date")
    wanted, step = _size(need.resolution), instrument.resolution
    if (
        wanted
        and step
        and same_kind(wanted.unit, instrument.unit)
        and step.to(_step(wanted)) > wanted.value
    ):
        doubts.append(f"shows steps of {step.words}; {need.resolution} are asked for")
    return tuple(text for text in doubts if text)


def _size(text: str) -> StockAmount | None:
    try:
        return amount_from(text) if text else None
    except BenchrunError:
        return None  # a need in other words, such as a lens of 10 times


def _step(wanted: StockAmount) -> str:
    """A step of a thermometer is a difference, not a temperature."""
    return unit_of_difference(wanted.unit)


def _supplies(
    books: ShopBooks, needs: tuple[str, ...], today: dt.date, planned: Mapping[str, StockAmount]
) -> Iterator[str]:
    missing = []
    for text in needs:
        tins = serving(books.supplies, text)
        if tins:
            yield from _supply(text, tins, today, planned)
        else:
            missing.append(text.partition(",")[0])
    if missing:
        yield f"not in supplies.yaml: {listed(missing, _MOST)}"


def _supply(
    text: str, tins: tuple[Supply, ...], today: dt.date, planned: Mapping[str, StockAmount]
) -> Iterator[str]:
    good = [tin for tin in tins if not spoiled(tin, today) and tin.left.value > 0]
    for packed in tins:
        if packed in good or packed.out_of_use:
            continue
        why = "; it ".join((*spoiled(packed, today), *filter(None, (short(packed),))))
        would = f": take {good[0].id}" if good else ""
        yield f"{packed.name} ({packed.id}) {why}{would}"
    yield from _amounts(text, tins, good, planned)


def _amounts(
    text: str, tins: tuple[Supply, ...], good: list[Supply], planned: Mapping[str, StockAmount]
) -> Iterator[str]:
    needed = _needed(text, planned)
    fitting = [tin for tin in good if needed and same_kind(tin.left.unit, needed.unit)]
    if needed and good and not fitting:
        kept = listed(tuple(f"{tin.id} in {tin.left.unit or 'pieces'}" for tin in good))
        yield f"{tins[0].name}: {_said(needed)} needed, and the shop keeps {kept}"
    elif needed and fitting:
        left = StockAmount(
            sum((tin.left.to(needed.unit) for tin in fitting), Decimal(0)), needed.unit
        )
        if left.value < needed.value:
            lacking = StockAmount(needed.value - left.value, needed.unit)
            yield (
                f"{tins[0].name}: {_said(needed)} needed, {_said(left)} left: "
                f"{_said(lacking)} short"
            )
    elif not needed:
        for tin in good:
            if lacking_words := short(tin):
                yield f"{tin.name} ({tin.id}) {lacking_words}"


def _needed(text: str, planned: Mapping[str, StockAmount]) -> StockAmount | None:
    """The amount needed of a supply: by the steps that use it, or by the needs, if more."""
    asked = _size(text.rpartition(", ")[2] if ", " in text else "")
    by_steps = next((amount for name, amount in planned.items() if _names(text, name)), None)
    if asked and by_steps and same_kind(asked.unit, by_steps.unit):
        return asked if asked.to(by_steps.unit) > by_steps.value else by_steps
    return by_steps or asked


def _names(text: str, name: str) -> bool:
    return text == name or text.startswith(f"{name}, ")


def _said(amount: StockAmount) -> str:
    return said(amount.value, amount.unit)


def _vessels(
    books: ShopBooks, procedure: Procedure, today: dt.date, uses: tuple[VesselUse, ...]
) -> Iterator[str]:
    for vessel in procedure.route.vessels.values():
        row = vessel_of(books.vessels, vessel)
        if row is not None:
            if row.out_of_use:
                yield f"the {row.name} is out of use: {row.out_of_use}"
            if row.holds is not None and (vessel.capacity is None or vessel.capacity > row.holds):
                asked = "any number" if vessel.capacity is None else str(vessel.capacity)
                yield f"the {row.name} holds {row.holds}; the procedure counts on {asked}"
            bath = books.supplies.find(row.filled_with) if row.filled_with else None
            for text in spoiled(bath, today) if bath else ():
                yield f"in the {row.name}, {bath.name if bath else ''} ({row.filled_with}) {text}"
        for use in others(books.vessels, vessel, uses):
            yield f"the {row.name if row else vessel.title} holds {use.words}"


def _strengths(books: ShopBooks, procedure: Procedure) -> Iterator[str]:
    """Strengths that the procedure reads and no book would take."""
    known = procedure.route.vessels
    for step in procedure.route.steps.values():
        detail = step.detail
        if not isinstance(detail, Reading | WorkOut) or not detail.strength_of:
            continue
        what = known[detail.strength_of].title if detail.strength_of in known else ""
        words = f"step {step.number} reads the strength of the {what or detail.strength_of}"
        try:
            bath = bath_of(books.supplies, books.vessels, detail.strength_of, known)
        except BenchrunError as error:
            yield f"{words}: {error.message}"
            continue
        if bath is None and what:
            yield f"{words}, and vessels.yaml does not say what it is filled with"
        elif bath and bath.weakest and not same_kind(bath.weakest.unit, detail.unit):
            unit = unit_named(detail.unit).shown or "a bare number"
            yield f"{words} in {unit}; the weakest of {bath.id} is {bath.weakest.words}"


def at_hand(books: ShopBooks, procedure: Procedure) -> dict[str, dict[str, str]]:
    """The things the shop had for a run, in words by id, for the first line of its log.

    With this the log stands alone: what an instrument's calibration or a supply's lot was on that
    day is read from the run, whatever the shop's files say later.

    Args:
        books: The shop's files.
        procedure: What is to be carried out.
    """
    needs, vessels = procedure.needs, procedure.route.vessels.values()
    instruments = {
        instrument.id: instrument.about()
        for instrument in books.instruments.rows
        if any(instrument.called(need.name) for need in needs.instruments)
    }
    supplies = {
        tin.id: tin.about() for text in needs.supplies for tin in serving(books.supplies, text)
    }
    rows = {vessel.id: vessel_of(books.vessels, vessel) for vessel in vessels}
    kept = {name: row.name for name, row in rows.items() if row is not None}
    for row in rows.values():
        bath = books.supplies.find(row.filled_with) if row and row.filled_with else None
        if bath is not None:
            supplies[bath.id] = bath.about()
    things = {"instruments": instruments, "supplies": supplies, "vessels": kept}
    return {key: value for key, value in things.items() if value}


def least_amounts(procedure: Procedure, parts: int) -> dict[str, StockAmount]:
    """The amounts that the steps use at least, by what the procedure calls each supply.

    Counted is what every part goes through, a repeat as often as it must be made. What stands under
    a condition may not come up, and what follows from readings counts by what is allowed for it.

    Args:
        procedure: What is to be carried out.
        parts: How many parts the batch has.
    """
    amounts: dict[str, StockAmount] = {}
    for step, times in _surely_done(procedure):
        for uses in step.uses:
            least = allowed(step, uses, parts)
            known = amounts.get(uses.supply)
            if least is None or uses.back or (known and not same_kind(least.unit, known.unit)):
                continue
            amount = StockAmount(least.value * times, least.unit)
            if known:
                amount = StockAmount(known.value + amount.to(known.unit), known.unit)
            amounts[uses.supply] = amount
    return amounts


def _surely_done(procedure: Procedure) -> Iterator[tuple[Step, int]]:
    """The steps that no condition stands before, each with how often it is done at least."""
    ops, index, times = procedure.route.ops, 0, 1
    while index < len(ops):
        op = ops[index]
        if isinstance(op, Guard | Detour):
            index = op.past
            continue
        if isinstance(op, Head):
            tail = ops[op.tail]
            times *= tail.least if isinstance(tail, Tail) else 1
        elif isinstance(op, Tail):
            times //= op.least
        elif isinstance(op, StepOp):
            yield op.step, times
        index += 1
