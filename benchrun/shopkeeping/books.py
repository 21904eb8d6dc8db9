"""Listing, showing, adding and changing what stands in the shop's books."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.shop.amounts import day_of
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import (
    book_of,
    faults_of,
    lines_of,
    thing_facts,
    things_of,
)
from benchrun.shop_use.readiness import not_kept, not_kept_words
from benchrun.shop_use.readiness import shortages as lacks
from benchrun.shopkeeping.words import column_text, facts, values_from, with_faults
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.procedure.route import Procedure


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

    loaded, lacking, unlisted = readiness(shop, procedure, now, parts)
    many = count(parts or loaded.batch.least, "part")
    head = f"{loaded.title}, revision {loaded.revision}, for {many}"
    took = run_words(shop.path, loaded.id)
    past = [f"past runs: {took}"] if took else []
    empty = [not_kept_words(unlisted)] if unlisted else []
    found = [*lacking, *empty] or ["nothing is lacking"]
    return "\n".join([head, *found, *past]), not lacking


def readiness(
    shop: Shop, procedure: str, now: Moment, parts: int = 0
) -> "tuple[Procedure, tuple[str, ...], tuple[str, ...]]":
    """A procedure, what stands against beginning it now, and the books that list nothing of it.

    Its arguments are those of `readiness_words`.

    Raises:
        BenchrunError: There is no such procedure, or it is not sound.
    """
    from benchrun.procedure.load import look_at

    loaded = look_at(shop.procedure(procedure))
    batch = loaded.batch
    if parts and not batch.least <= parts <= batch.most:
        raise BenchrunError(f"a batch of {loaded.id} is {batch.least} to {batch.most} parts")
    uses = look(shop, now).uses
    books = read_books(shop)
    lacking = lacks(books, loaded, day_of(now), uses=uses, parts=parts)
    return loaded, lacking, not_kept(books, loaded)
