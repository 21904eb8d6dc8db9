"""Listing, showing, adding and changing instruments, supplies and vessels."""

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, Final

from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.fitting.readiness import ready as lacks
from benchrun.fitting.vessels import vessel_of
from benchrun.moment import Moment
from benchrun.quantity import read
from benchrun.shop.amounts import Amount, day_of
from benchrun.shop.deeds import enter_in_book
from benchrun.shop.editing import Plain
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import INSTRUMENTS, Instrument
from benchrun.shop.parts import JOBS, PARTS
from benchrun.shop.registers import read_registers
from benchrun.shop.rows import add_row, change_row
from benchrun.shop.sheet import Form
from benchrun.shop.supplies import SUPPLIES, Supply, paint_needed, short, spoiled
from benchrun.shop.vessels import VESSELS
from benchrun.shopkeeping.words import facts, table, told, values_from
from benchrun.shopmath.calc import said
from benchrun.text import count, slug

_FORMS: Final[tuple[Form[Any], ...]] = (INSTRUMENTS, SUPPLIES, VESSELS, PARTS, JOBS)
_LINES: Final = frozenset({"book", "away", "costs"})


def add(shop: Shop, rows: str, name: str, pairs: Iterable[str]) -> str:
    """Add a row to one of the shop's files.

    Args:
        shop: The shop.
        rows: Which rows: instruments, supplies, vessels, parts or jobs.
        name: What the thing is; its id is made from it unless one is given.
        pairs: The other keys, as `key=value`.

    Returns:
        One line that says what was added.

    Raises:
        BenchrunError: A value will not do, or the id is taken.
    """
    form = _form(rows)
    keys = [key for key in form.keys if key not in {"name", *_LINES}]
    row: dict[str, Plain] = {"id": slug(name), "name": name.strip()}
    made = add_row(shop.path, form, row | values_from(pairs, keys))
    return f"{form.what} {made.id} added"


def change(shop: Shop, rows: str, name: str, pairs: Iterable[str]) -> str:
    """Change keys of a row in one of the shop's files.

    Args:
        shop: The shop.
        rows: Which rows: instruments, supplies, vessels, parts or jobs.
        name: The row's id.
        pairs: The keys to set, as `key=value`; lists of lines are not set so.

    Returns:
        One line that says what was changed.

    Raises:
        BenchrunError: There is no such row, or a value will not do.
    """
    form = _form(rows)
    keys = [key for key in form.keys[1:] if key not in _LINES]
    values = values_from(pairs, keys)
    if not values:
        raise BenchrunError(f"say what to change, as key=value of {', '.join(keys)}")
    made = change_row(shop.path, form, name, values)
    return f"{form.what} {made.id} changed: {', '.join(values)}"


def _form(rows: str) -> Form[Any]:
    forms: dict[str, Form[Any]] = {form.key: form for form in _FORMS}
    return forms[rows]


def instruments(shop: Shop, now: Moment) -> str:
    """The instruments, with what is amiss with each."""
    sheet, today = INSTRUMENTS.read(shop.path), day_of(now)
    rows = [
        (one.id, one.name, one.range_words, one.uncertainty_words, _until(one, today))
        for one in sheet.rows
    ]
    return told(_listed("instrument", rows), sheet.faults)


def _until(one: Instrument, today: dt.date) -> str:
    if wrong := one.state(today):
        return wrong
    return f"good until {one.until}" if one.until else "no date"


def supplies(shop: Shop, now: Moment) -> str:
    """The supplies, with what is left and what is amiss with each."""
    sheet, today = SUPPLIES.read(shop.path), day_of(now)
    rows = [(one.id, one.name, f"{one.left.words} left", _state(one, today)) for one in sheet.rows]
    return told(_listed("supply", rows), sheet.faults)


def _state(one: Supply, today: dt.date) -> str:
    wrong = [*spoiled(one, today), *filter(None, (short(one),))]
    if wrong:
        return "; ".join(wrong)
    return f"good until {one.good_until}" if one.good_until else "good"


def vessels(shop: Shop, now: Moment) -> str:
    """The vessels, with what every open run has in each."""
    sheet, uses = VESSELS.read(shop.path), look(shop, now).uses
    rows = []
    for one in sheet.rows:
        there = [use.words for use in uses if vessel_of(sheet, use.vessel) == one]
        holds = f"holds {one.holds}" if one.holds else "no limit"
        state = f"out of use: {one.out_of_use}" if one.out_of_use else ""
        rows.append((one.id, one.name, holds, "; ".join(filter(None, (state, *there))) or "free"))
    strange = [(use.vessel.id, use.vessel.title, "not in vessels.yaml", use.words) for use in uses
               if vessel_of(sheet, use.vessel) is None]  # fmt: skip
    return told(_listed("vessel", [*rows, *strange]), sheet.faults)


def _listed(what: str, rows: Sequence[Sequence[str]]) -> str:
    return table(rows) or f"no {what} yet: add one with benchrun, or write it in the file"


def instrument(shop: Shop, name: str, now: Moment) -> str:
    """Everything about one instrument."""
    one = INSTRUMENTS.read(shop.path).named(name)
    return facts(
        [
            ("id", one.id),
            ("name", one.name),
            ("range", one.range_words),
            ("resolution", one.resolution.words if one.resolution else "unknown"),
            ("uncertainty", one.uncertainty_words),
            ("calibrated", str(one.calibrated or "")),
            ("until", str(one.until or "")),
            ("by", one.by),
            ("amiss", one.state(day_of(now))),
            ("note", one.note),
        ]
    )


def supply(shop: Shop, name: str, now: Moment) -> str:
    """Everything about one supply, with its book."""
    one = SUPPLIES.read(shop.path).named(name)
    head = facts(
        [
            ("id", one.id),
            ("name", one.name),
            ("lot", one.lot),
            ("amount", one.amount.words),
            ("left", one.left.words),
            ("opened", str(one.opened or "")),
            ("good until", str(one.good_until or "")),
            ("poured back", count(one.reuses, "time") if one.reuses else ""),
            ("amiss", "; ".join((*spoiled(one, day_of(now)), *filter(None, (short(one),))))),
            ("note", one.note),
        ]
    )
    book = table(
        [(str(line.on), line.deed, line.amount.words, line.run, line.why) for line in one.book]
    )
    return f"{head}\n\n{book}" if book else head


def enter(
    shop: Shop, name: str, deed: str, amount: str, now: Moment, run: str = "", why: str = ""
) -> str:
    """Enter in a supply's book: used, back, counted or strength.

    Returns:
        What is left, and what is amiss, in a line.

    Raises:
        BenchrunError: There is no such supply, or the amount does not fit.
    """
    one = enter_in_book(shop, name, deed, amount, day_of(now), run, why)
    wrong = _state(one, day_of(now))
    return f"{one.id}: {deed} {amount.strip()}; {one.left.words} left; {wrong}"


def enough(shop: Shop, name: str, area: str, dft: str, coats: int, loss: str, thinner: str) -> str:
    """Whether a paint suffices for an area: what is needed against what is left.

    Args:
        shop: The shop.
        name: The paint's id.
        area: As typed: `0.8 m2`.
        dft: Dry film of one coat, as typed: `75 um`.
        coats: How many coats.
        loss: Share lost in brush and pot, as typed: `20 %`.
        thinner: Thinner added to the paint's volume, as typed: `10 %`.

    Raises:
        BenchrunError: There is no such paint, it has no solids, or a figure will not do.
    """
    paint = SUPPLIES.read(shop.path).named(name)
    needed = paint_needed(
        paint,
        read(area, "m²").to("m²"),
        read(dft, "µm").to("µm"),
        coats,
        loss=_share(loss),
        thinner=_share(thinner),
    )
    lacking = needed.to(paint.left.unit) - paint.left.value
    missing = Amount(lacking, paint.left.unit).words
    answer = f"short by {missing}" if lacking > 0 else "that suffices"
    wanted = said(needed.value, needed.unit)
    return f"{paint.name} ({paint.id}): {wanted} needed, {paint.left.words} left: {answer}"


def _share(text: str) -> Decimal:
    return read(text, "%").to("%")


def ready(shop: Shop, procedure: str, now: Moment, parts: int = 0) -> tuple[str, bool]:
    """What stands against beginning a procedure now.

    Args:
        shop: The shop.
        procedure: Its id, or a file.
        now: The moment.
        parts: How many parts the batch has; 0 counts with the fewest that the procedure takes.

    Returns:
        The text, and whether nothing does.

    Raises:
        BenchrunError: There is no such procedure, or it is not sound.
    """
    from benchrun.history.estimates import run_words
    from benchrun.procedure.load import load

    loaded = load(shop.procedure(procedure))
    batch = loaded.batch
    if parts and not batch.least <= parts <= batch.most:
        raise BenchrunError(f"a batch of {loaded.id} is {batch.least} to {batch.most} parts")
    uses = look(shop, now).uses
    found = lacks(read_registers(shop), loaded, day_of(now), uses=uses, parts=parts)
    head = f"{loaded.title}, revision {loaded.revision}, for {count(parts or batch.least, 'part')}"
    took = run_words(shop.path, loaded.id)
    past = [f"past runs: {took}"] if took else []
    return "\n".join([head, *(found or ("nothing is lacking",)), *past]), not found
