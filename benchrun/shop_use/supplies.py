"""Supplies that a run uses: which tin each comes from, and its line in the tin's book.

The log says what was used; the book follows it. Entering is done by the run's id and the number of
the entry, so that doing it again, after a crash or by another program, changes nothing. An act that
was taken back, or an amount that was corrected, adds a line that makes the book agree again.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import compress
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.route import Step
from benchrun.record.folder import RunFolder
from benchrun.run.state import Run, Use
from benchrun.run.supply_use import amounts
from benchrun.shop.amounts import StockAmount, same_kind
from benchrun.shop.book_file import BookFile
from benchrun.shop.file_writer import shop_lock
from benchrun.shop.folder import Shop
from benchrun.shop.movements import enter_run
from benchrun.shop.parts import PARTS
from benchrun.shop.row_editor import add_line
from benchrun.shop.supplies import (
    SUPPLIES,
    Supply,
    read_supplies,
    serving,
    short,
    spoiled,
)
from benchrun.shop.supply_lines import BACK, UNUSED, USED
from benchrun.shop.supply_totals import any_long, sum_up
from benchrun.text import slug

NOTHING: Final[Mapping[str, str]] = MappingProxyType({})
Days = Callable[[int], dt.date]
Spot = tuple[str, int]


def tins_for(
    supplies: BookFile[Supply],
    run: Run,
    step: Step,
    parts: tuple[str, ...],
    today: dt.date,
    taken: Mapping[str, str] = NOTHING,
) -> tuple[Use, ...]:
    """The tins that a step's supplies come from; none for what the shop does not keep.

    Offered is the one that was taken in hand, else the one that the run used last, then one that is
    open, then the one that is good for the shortest; one that is spoiled or does not suffice only
    where there is no other.

    Args:
        supplies: The shop's.
        run: The run as it stands.
        step: The step.
        parts: Who does it at once.
        today: The day.
        taken: The ids of tins that were taken in hand, by what the procedure calls the supply.
    """
    uses = []
    for planned in amounts(run, step, parts):
        amount = _amount(planned)
        tins = [tin for tin in serving(supplies, planned.supply) if not tin.out_of_use]
        if tins:
            last = _last(run, planned.supply)
            if planned.back:
                amount = None  # how much is left says nothing about what comes back
            in_hand = [tin for tin in tins if tin.id == taken.get(planned.supply)]
            tin = min(in_hand or tins, key=lambda tin: _rank(tin, amount, last, today))
            uses.append(from_tin(tin, planned.supply, amount, today))
    return tuple(uses)


def would_use(
    shop: Shop,
    run: Run,
    step: Step,
    parts: tuple[str, ...],
    today: dt.date,
    taken: Mapping[str, str] = NOTHING,
) -> tuple[Use, ...]:
    """The uses of a step for parts, as its entry would say them; see `tins_for`."""
    if not step.uses:
        return ()
    tins = {
        tin.supply: tin for tin in tins_for(read_supplies(shop), run, step, parts, today, taken)
    }
    return tuple(
        replace(
            tins.get(amount.supply, amount),
            amount=amount.amount,
            unit=amount.unit,
            back=amount.back,
        )
        for amount in amounts(run, step, parts)
    )


def from_tin(tin: Supply, supply: str, amount: StockAmount | None, today: dt.date) -> Use:
    """The use of a tin, as a command says it."""
    misgivings = [*spoiled(tin, today)]
    if amount is not None and not same_kind(amount.unit, tin.amount.unit):
        misgivings.append(
            f"is kept in {tin.amount.unit or 'pieces'}, so that its book does not take "
            f"{amount.words}"
        )
    elif lacking := short(tin, amount) if amount is not None and amount.value else "":
        misgivings.append(lacking)
    return Use(supply, name=tin.id, about=tin.about(), misgivings=tuple(misgivings))


def _amount(use: Use) -> StockAmount | None:
    return StockAmount(Decimal(use.amount), use.unit) if use.amount else None


def _last(run: Run, supply: str) -> str:
    used = (use for n in sorted(run.used, reverse=True) for use in run.used[n])
    return next((use.name for use in used if use.supply == supply), "")


def _rank(
    supply: Supply, amount: StockAmount | None, last: str, today: dt.date
) -> tuple[object, ...]:
    fits = amount is None or same_kind(amount.unit, supply.amount.unit)
    lacks = amount is not None and fits and supply.left.value < amount.to(supply.amount.unit)
    return (
        not fits,
        bool(spoiled(supply, today)),
        supply.left.value <= 0,
        lacks,
        supply.id != last,
        supply.opened is None,
        supply.good_until or dt.date.max,
    )


def enter_uses(shop: Shop, run: str, used: Mapping[int, Sequence[Use]], days: Days) -> int:
    """Make the books of the shop's supplies say what a run used.

    Args:
        shop: The shop.
        run: The run's id.
        used: What it used by the number of the entry, as its log stands now.
        days: The day of an entry by its number.

    Returns:
        How many lines were added.

    Raises:
        BenchrunError: A tin that the log names is not in the file, or the disk refused; what could
            be entered was.
    """
    added: list[Supply] = []
    faults = []
    with shop_lock(shop.path):
        sheet = SUPPLIES.read(shop.path)
        wanted = {**dict.fromkeys(_entered(sheet, run)), **_wanted(used)}
        for (name, entry), amount in wanted.items():
            try:
                tin = sheet.named(name)
                line = _lacking(tin, run, entry, amount)
                if line:
                    dated = {"on": days(entry).isoformat(), **line, "run": run, "entry": str(entry)}
                    added.append(add_line(shop.path, SUPPLIES, tin.id, "book", dated))
            except BenchrunError as error:
                faults.append(error)
    if any_long(added):
        sum_up_old_uses(shop)
    if faults:
        raise faults[0]
    return len(added)


def entries_booked(shop: Shop, run: str) -> frozenset[int]:
    """The numbers of the entries of a run that the shop's book of supplies took something from.

    Raises:
        BenchrunError: The book cannot be read.
    """
    sheet = read_supplies(shop)
    strengths = (spot for tin in sheet.rows for spot in tin.strengths)
    read = {entry for name, entry in strengths if name == run}
    return frozenset(read | {entry for _, entry in _entered(sheet, run)})


def _entered(sheet: BookFile[Supply], run: str) -> Iterator[Spot]:
    """The lines of a run that stand in the books already."""
    entries = sheet.each(("entered", run), lambda tin: tin.entries_of(run))
    for tin, own in compress(zip(sheet.rows, entries, strict=True), entries):
        yield from ((tin.id, entry) for entry in own)


def _wanted(used: Mapping[int, Sequence[Use]]) -> dict[Spot, StockAmount]:
    """How much of which tin each entry used, less what went back; of one tin it is added up."""
    amounts: dict[Spot, StockAmount] = {}
    for entry, uses in used.items():
        for use in uses:
            amount = _amount(use)
            if use.name and amount is not None:
                if use.back:
                    amount = StockAmount(-amount.value, amount.unit)
                known = amounts.get((use.name, entry))
                if known is not None:
                    amount = StockAmount(known.value + amount.to(known.unit), known.unit)
                amounts[use.name, entry] = amount
    return amounts


def _lacking(tin: Supply, run: str, entry: int, amount: StockAmount | None) -> dict[str, str]:
    """The line that makes a tin's book agree with the log; empty where it does.

    A tin that is kept in another kind of unit is left to a person: the log says so.
    """
    own = tin.amount.unit
    if amount is not None and not same_kind(amount.unit, own):
        return {}
    before, wanted = tin.used_by(run, entry), amount.to(own) if amount else Decimal(0)
    more = wanted - before
    if not more:
        return {}
    deed = USED if more > 0 else BACK if wanted < 0 else UNUSED
    size = StockAmount(StockAmount(abs(more), own).to(amount.unit if amount else own), own)
    unit = amount.unit if amount else own
    return {deed: StockAmount(size.value, unit).typed}


def enter_parts(shop: Shop, run: str, photos: Mapping[str, Iterable[str]]) -> None:
    """Write down in parts.yaml which of its parts a run has; doing it again is harmless.

    A part is that of the row whose id is its tag in plain letters.

    Args:
        shop: The shop.
        run: The run's id.
        photos: The run's pictures of each of its parts, as paths from the run's folder.

    Raises:
        BenchrunError: The file does not take it, or the disk refused.
    """
    known = PARTS.read(shop.path)
    for tag, files in photos.items():
        if known.find(slug(tag)) is not None:
            enter_run(shop, slug(tag), run, [f"{shop.runs.name}/{run}/{file}" for file in files])


def sum_up_old_uses(shop: Shop) -> int:
    """Sum up old lines of the supplies' books where their file has grown large.

    Returns:
        How many lines went into sums.

    Raises:
        BenchrunError: The disk refused.
    """

    @cache
    def is_open(run: str) -> bool:
        folder = RunFolder(shop.runs / run)
        return folder.log.is_file() and not folder.seal.is_file()

    return sum_up(shop.path, is_open)
