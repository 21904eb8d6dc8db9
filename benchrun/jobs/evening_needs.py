"""Before an evening: what open and ready runs will want, held against the shop's books.

What is to be bought or found, what goes off, which gauges are due, what is to be warmed up first.
Amounts are those that the steps use at least; what a run has used already is left out.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from decimal import Decimal
from typing import Final

from benchrun.board import OpenRun, look, parts_in_work
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import kept_procedure
from benchrun.moment import Moment
from benchrun.plan.progress import parts_progress, ready_parts
from benchrun.procedure.load import look_at
from benchrun.procedure.route import Instrument as Need
from benchrun.procedure.route import Procedure
from benchrun.report.doc import Block, Bullets, Fields, Para, Section, Sheet
from benchrun.run.state import Run, Status
from benchrun.shop.amounts import StockAmount, day_of, same_kind
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import ShopInstrument
from benchrun.shop.supplies import Supply, serving, short, spoiled
from benchrun.shop_use.readiness import least_amounts
from benchrun.shop_use.vessels import vessel_of
from benchrun.shopmath.amount import said
from benchrun.text import count, listed

_MOST: Final = 40
SHORT: Final = "To buy or to find"
WORK: Final = "Open runs, and parts that are ready"
UNKEPT: Final = "Not in the stock book"
_BEFORE: Final = (Status.PLAY, Status.AWAY)


@lean_dataclass(frozen=True, slots=True)
class WantedWork:
    """A run that is open, or one that could begin with the parts that are ready for it.

    Attributes:
        name: What it is called, with its parts counted.
        procedure: What it follows.
        amounts: What it will use at least, by what the procedure calls each supply.
        is_open: Whether it has begun.
    """

    name: str
    procedure: Procedure
    amounts: Mapping[str, StockAmount]
    is_open: bool


@lean_dataclass(slots=True)
class _Wanted:
    """One supply over all work: who wants it, and how much where that is known."""

    tins: tuple[Supply, ...]
    names: dict[str, None] = field(default_factory=dict)
    amount: StockAmount | None = None


def evening_needs(shop: Shop, now: Moment) -> Sheet:
    """The page of what an evening wants: open runs, and those that parts are ready for.

    Args:
        shop: The shop.
        now: The moment.
    """
    books, today = read_books(shop), day_of(now)
    works, lost = work_ahead_of(shop, now)
    wanted = _supplies(books, works)
    short_of = tuple(dict.fromkeys(_lacking(books, wanted, today)))
    missing = _missing(books, wanted)
    sections = (
        _list(SHORT, short_of),
        _listing(UNKEPT, missing),
        _list("Soon at its end", _ending(wanted, today, today + _days(books))),
        _list("Gauges", _gauges(books, works, today)),
        _list("To warm up or make ready first", _heated(books, works)),
        _list("From the books, at least", _amounts(wanted)),
        _list(WORK, [work.name for work in works]),
        _list("Not told", lost),
    )
    found = tuple(section for section in sections if section is not None)
    if not works:
        nothing = Para("No run is open, and no part is ready for a procedure by its route.")
        found = (Section(WORK, (nothing,)), *found)
    kept = bool(books.supplies.rows)
    told = [] if kept else ["the stock book lists nothing"]
    told += (
        [count(len(short_of), "thing is short", "things are short")] if short_of and kept else []
    )
    told += [f"{len(missing)} not in the stock book"] if missing else []
    card = Fields((("day", f"{today:%a} {today}"), ("in all", "; ".join(told) or "all is there")))
    return Sheet("Before the evening", shop.title, card, (), found)


def lacks_something(sheet: Sheet) -> bool:
    """Whether a page of needs says that something is to be bought or found."""
    return any(section.title in (SHORT, UNKEPT) for section in sheet.sections)


def _days(books: ShopBooks) -> dt.timedelta:
    return dt.timedelta(days=books.settings.remind_days)


def _list(title: str, rows: Iterable[str]) -> Section | None:
    found = tuple(dict.fromkeys(rows))
    blocks: tuple[Block, ...] = (Bullets(found),)
    return Section(title, blocks) if found else None


def _listing(title: str, names: Sequence[str]) -> Section | None:
    """Many short names as one paragraph."""
    return Section(title, (Para(f"{', '.join(names)}."),)) if names else None


def work_ahead_of(shop: Shop, now: Moment) -> tuple[tuple[WantedWork, ...], tuple[str, ...]]:
    """The work that a shop has before it, and the procedures that cannot be read, with why.

    Args:
        shop: The shop.
        now: The moment.
    """
    works, lost = [], []
    for one in look(shop, now).open_runs:
        if one.run is not None and not one.run.ended:
            try:
                works.append(_open_work(one, one.run))
            except BenchrunError as error:
                lost.append(f"{one.title}: {error.message.partition(chr(10))[0]}")
    ready = ready_parts(parts_progress(shop, parts_in_work(shop)))
    for name, tags in ready.items():
        try:
            procedure = look_at(shop.procedure(name))
        except BenchrunError as error:
            lost.append(f"{name}: {error.message.partition(chr(10))[0]}")
            continue
        many = min(len(tags), procedure.batch.most)
        title = f"{procedure.title}, {count(many, 'part')} ready"
        works.append(WantedWork(title, procedure, least_amounts(procedure, many), False))
    return tuple(works), tuple(lost)


def _open_work(one: OpenRun, run: Run) -> WantedWork:
    procedure = kept_procedure(one.folder, run.about)
    parts = sum(marker.status in _BEFORE for marker in run.each())
    amounts = least_amounts(procedure, max(1, len(run.parts)))
    for uses in run.used.values():
        for use in uses:
            known = amounts.get(use.supply)
            if known is None or not use.amount or not same_kind(known.unit, use.unit):
                continue
            used = StockAmount(Decimal(use.amount), use.unit).to(known.unit)
            left = known.value + (used if use.back else -used)
            amounts[use.supply] = StockAmount(max(Decimal(0), left), known.unit)
    title = f"{one.title}, {count(parts, 'part')} in work"
    return WantedWork(title, procedure, amounts, True)


def _supplies(books: ShopBooks, works: Sequence[WantedWork]) -> list[_Wanted]:
    """Every supply that the work names, once, with the amounts of all work together."""
    found: dict[object, _Wanted] = {}
    for work in works:
        named = {text.partition(",")[0]: text for text in work.procedure.needs.supplies}
        named |= {name: name for name in work.amounts if name not in named}
        for name in named:
            tins = serving(books.supplies, name)
            key = tuple(tin.id for tin in tins) or name
            wanted = found.setdefault(key, _Wanted(tins))
            wanted.names[name] = None
            amount = work.amounts.get(name)
            if amount is not None:
                known = wanted.amount
                if known is None:
                    wanted.amount = amount
                elif same_kind(known.unit, amount.unit):
                    more = known.value + amount.to(known.unit)
                    wanted.amount = StockAmount(more, known.unit)
    return list(found.values())


def _lacking(books: ShopBooks, wanted: Iterable[_Wanted], today: dt.date) -> Iterator[str]:
    if not books.supplies.rows:
        yield "supplies.yaml lists nothing: what is at hand is not known"
        return
    for one in wanted:
        names, good = listed(tuple(one.names), _MOST), _good(one, today)
        enough = f"{said(one.amount.value, one.amount.unit)} " if one.amount else ""
        if not one.tins:
            continue
        if not good:
            why = "; ".join(f"{tin.id} {_why_not(tin, today)}" for tin in one.tins)
            yield f"{enough}{names}: no container is good for it ({why})"
        elif one.amount:
            fitting = [tin for tin in good if same_kind(tin.left.unit, one.amount.unit)]
            left = sum((tin.left.to(one.amount.unit) for tin in fitting), Decimal(0))
            if fitting and left < one.amount.value:
                lacks = said(one.amount.value - left, one.amount.unit)
                ids = listed(tuple(tin.id for tin in fitting), _MOST)
                yield f"{lacks} {names}: {enough}wanted, {said(left, one.amount.unit)} in {ids}"


def _missing(books: ShopBooks, wanted: Iterable[_Wanted]) -> tuple[str, ...]:
    """Supplies that the shop's book knows no container of, where it keeps any."""
    if not books.supplies.rows:
        return ()
    return tuple(dict.fromkeys(name for one in wanted if not one.tins for name in one.names))


def _good(one: _Wanted, today: dt.date) -> list[Supply]:
    return [tin for tin in one.tins if not spoiled(tin, today) and tin.left.value > 0]


def _why_not(tin: Supply, today: dt.date) -> str:
    return "; it ".join(spoiled(tin, today)) or "is empty"


def _ending(wanted: Iterable[_Wanted], today: dt.date, ahead: dt.date) -> Iterator[str]:
    for one in wanted:
        for tin in _good(one, today):
            if tin.good_until and tin.good_until <= ahead:
                yield f"{tin.name} ({tin.id}): good until {tin.good_until}"
            elif lacking := short(tin):
                yield f"{tin.name} ({tin.id}) {lacking}"


def _amounts(wanted: Iterable[_Wanted]) -> Iterator[str]:
    for one in wanted:
        if one.amount and one.amount.value > 0 and one.tins:
            left = ", ".join(f"{tin.id} {tin.left.words}" for tin in one.tins if tin.left.value > 0)
            amount = said(one.amount.value, one.amount.unit)
            yield f"{listed(tuple(one.names), _MOST)}: {amount}; left: {left or 'nothing'}"


def _gauges(books: ShopBooks, works: Sequence[WantedWork], today: dt.date) -> Iterator[str]:
    if not books.instruments.rows:
        return
    needs: dict[str, Need] = {}
    for work in works:
        for need in work.procedure.needs.instruments:
            needs.setdefault(need.name, need)
    ahead = today + _days(books)
    for name in needs:
        for row in books.instruments.rows:
            words = _gauge(row, today, ahead) if row.called(name) else ""
            if words:
                yield f"{row.name} ({row.id}) {words}"
    unkept = [n for n in needs if not any(row.called(n) for row in books.instruments.rows)]
    if unkept:
        yield f"not in instruments.yaml: {', '.join(unkept)}"


def _gauge(row: ShopInstrument, today: dt.date, ahead: dt.date) -> str:
    if row.out_of_use:
        return ""
    wrong = row.state(today)
    if wrong:
        return wrong
    return f"is due by {row.until}" if row.until and row.until <= ahead else ""


def _heated(books: ShopBooks, works: Sequence[WantedWork]) -> Iterator[str]:
    """Vessels that are hot, and set-up steps, which ready the place before the first load."""
    for work in works:
        for vessel in work.procedure.route.vessels.values():
            row = vessel_of(books.vessels, vessel)
            name = row.name if row else vessel.title
            if row is not None and row.out_of_use:
                yield f"{name}: out of use: {row.out_of_use}"
            elif vessel.heated:
                yield f"{name}: {work.procedure.title}"
        for step in work.procedure.route.steps.values():
            if step.set_up:
                yield f"{step.text.removesuffix('.')}: {work.procedure.title}, step {step.number}"
