"""The shop's books told line by line: which book, which thing of it, and all about that."""

from benchrun.board import uses_beside
from benchrun.errors import BenchrunError
from benchrun.jobs.job_page import job_sheet
from benchrun.jobs.part_page import part_sheet
from benchrun.moment import Moment
from benchrun.plain.face import PlainFace
from benchrun.report.doc import Report
from benchrun.report.plain import as_text
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop
from benchrun.shop_use.book_words import (
    BOOKS,
    Book,
    BookThing,
    faults_of,
    lines_of,
    thing_facts,
    things_of,
)

_SHEETS = {"parts": part_sheet, "jobs": job_sheet}


def tell_books(face: PlainFace, shop: Shop, now: Moment) -> None:
    """Let somebody choose a book and a thing of it, until they have enough; nothing is changed.

    Args:
        face: Speaks and listens.
        shop: The shop.
        now: The moment.
    """
    while True:
        books = read_books(shop)
        rows = {book.key: _things(shop, book, books, now) for book in BOOKS}
        told = [f"{book.title}: {_state(rows[book.key])}" for book in BOOKS]
        at = face.pick("Which book (only Enter: enough):", told)
        if at is None:
            return
        book = BOOKS[at]
        for fault in faults_of(book, books):
            face.talk.say(f"Put right: {fault.words}")
        _tell_book(face, shop, book, books, rows[book.key], now)


def _things(shop: Shop, book: Book, books: ShopBooks, now: Moment) -> tuple[BookThing, ...]:
    return things_of(book, books, day_of(now), uses_beside(shop, ""))


def _state(rows: tuple[BookThing, ...]) -> str:
    amiss = sum(row.amiss for row in rows)
    words = str(len(rows)) if rows else "none yet"
    return (
        f"{words}, {amiss} need attention"
        if amiss > 1
        else (f"{words}, 1 needs attention" if amiss else words)
    )


def _tell_book(
    face: PlainFace,
    shop: Shop,
    book: Book,
    books: ShopBooks,
    rows: tuple[BookThing, ...],
    now: Moment,
) -> None:
    told = [", ".join(w for w in (row.id, row.name, row.beside, row.state) if w) for row in rows]
    if not told:
        face.talk.say(f"No {book.one} yet.")
        return
    while (at := face.pick(f"Which {book.one} (only Enter: another book):", told)) is not None:
        try:
            face.read(_about(shop, book, books, rows[at].id, now))
        except BenchrunError as error:
            face.talk.say(error.message)


def _about(shop: Shop, book: Book, books: ShopBooks, name: str, now: Moment) -> list[str]:
    """All about a thing, a line each: the life of a part or a job, else what its row says."""
    sheet = _SHEETS.get(book.key)
    if sheet is not None:
        page = sheet(shop, name, now)
        return as_text(Report(page.title, (page,))).splitlines()
    facts = [
        f"{label}: {text}" for label, text in thing_facts(book, shop, books, name, day_of(now))
    ]
    return [*facts, *(", ".join(filter(None, line)) for line in lines_of(book, books, name))]
