"""Listing, showing, adding and changing what stands in the shop's books."""

from collections.abc import Iterable
from decimal import Decimal

from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.quantity import read
from benchrun.shop.amounts import StockAmount, day_of
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.movements import enter_in_book
from benchrun.shop.supplies import SUPPLIES, paint_needed
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import (
    amiss_with,
    book_of,
    faults_of,
    lines_of,
    thing_facts,
    things_of,
)
from benchrun.shop_use.readiness import shortages as lacks
from benchrun.shop_use.supplies import sum_up_old_uses
from benchrun.shopkeeping.words import column_text, facts, values_from, with_faults
from benchrun.shopmath.amount import said
from benchrun.text import count


def add_to_book(shop: Shop, rows: str, name: str, pairs: Iterable[str]) -> str:
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
    book = book_of(rows)
    keys = [key for key in book.keys if key != "name"]
    made = book_words.add_thing(shop, book, {"name": name.strip(), **values_from(pairs, keys)})
    return f"{book.one} {made} added"


def change_in_book(shop: Shop, rows: str, name: str, pairs: Iterable[str]) -> str:
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
    book = book_of(rows)
    keys = [key for key in book.keys if key != "id"]
    values = values_from(pairs, keys)
    if not values:
        raise BenchrunError(f"say what to change, as key=value of {', '.join(keys)}")
    book_words.change_thing(shop, book, name, values)
    return f"{book.one} {name} changed: {', '.join(values)}"


def book_listing(shop: Shop, rows: str, now: Moment) -> str:
    """The things of one of the shop's books, with how each stands and what is wrong in the file."""
    book, books = book_of(rows), read_books(shop)
    uses = look(shop, now).uses if rows == "vessels" else ()
    lines = [
        tuple(filter(None, (thing.id, thing.name, thing.beside, thing.state)))
        for thing in things_of(book, books, day_of(now), uses)
    ]
    nothing = f"no {book.one} yet: add one with benchrun, or write it in the file"
    return with_faults(column_text(lines) or nothing, faults_of(book, books))


def thing_words(shop: Shop, rows: str, name: str, now: Moment) -> str:
    """Everything about one thing of a book, with its lines.

    Raises:
        BenchrunError: There is none of that id.
    """
    book, books = book_of(rows), read_books(shop)
    head = facts(thing_facts(book, shop, books, name, day_of(now)))
    lines = column_text(lines_of(book, books, name))
    return f"{head}\n\n{lines}" if lines else head


def enter(
    shop: Shop, name: str, deed: str, amount: str, now: Moment, run: str = "", why: str = ""
) -> str:
    """Enter in a supply's book: used, back, counted or strength.

    Returns:
        What is left, and what is amiss, in a line.

    Raises:
        BenchrunError: There is no such supply, or the amount does not fit.
    """
    thing_words = enter_in_book(shop, name, deed, amount, day_of(now), run, why)
    sum_up_old_uses(shop)
    today = day_of(now)
    good = f"good until {thing_words.good_until}" if thing_words.good_until else "good"
    state = amiss_with(thing_words, today) or good
    return f"{thing_words.id}: {deed} {amount.strip()}; {thing_words.left.words} left; {state}"


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
    missing = StockAmount(lacking, paint.left.unit).words
    answer = f"short by {missing}" if lacking > 0 else "that suffices"
    wanted = said(needed.value, needed.unit)
    return f"{paint.name} ({paint.id}): {wanted} needed, {paint.left.words} left: {answer}"


def _share(text: str) -> Decimal:
    return read(text, "%").to("%")


def readiness_words(shop: Shop, procedure: str, now: Moment, parts: int = 0) -> tuple[str, bool]:
    """The shortages that stand against beginning a procedure now.

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
    lacking = lacks(read_books(shop), loaded, day_of(now), uses=uses, parts=parts)
    head = f"{loaded.title}, revision {loaded.revision}, for {count(parts or batch.least, 'part')}"
    took = run_words(shop.path, loaded.id)
    past = [f"past runs: {took}"] if took else []
    return "\n".join([head, *(lacking or ("nothing is lacking",)), *past]), not lacking
