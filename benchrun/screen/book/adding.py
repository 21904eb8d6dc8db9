"""Adding a thing to one of the shop's books."""

from functools import partial

from benchrun.fitting import books
from benchrun.fitting.books import Book, listed_texts, typed_words
from benchrun.screen.book.desk import BookDesk
from benchrun.screen.book.people import add_person_pane
from benchrun.screen.book.thing import ThingPane
from benchrun.screen.form import Ask, FormPane
from benchrun.screen.page_api import Pane
from benchrun.shop.folder import Shop

_ASKED = {
    "instruments": ("name", "range", "until"),
    "supplies": ("name", "amount", "lot", "opened", "keeps"),
    "vessels": ("name", "holds", "filled with"),
    "parts": ("name", "side", "numbers", "job", "where"),
    "jobs": ("name", "owner"),
}


def add_pane(desk: BookDesk, book: Book) -> Pane:
    """Ask for what a new thing cannot do without; everything else can be changed afterwards."""
    if book.key == "people":
        return add_person_pane(desk)
    asked = _ASKED[book.key]

    async def filled(texts: tuple[str, ...]) -> None:
        made: list[str] = []
        values = dict(zip(asked, texts, strict=True))
        if await desk.keep(partial(_add, desk.shop, book, values, made)):
            desk.push(ThingPane(desk, book, made[0]))

    asks = [Ask(key, said=_said(book, key)) for key in asked]
    said = "What is not known yet stays empty; it can be written later."
    return FormPane(desk, f"A new {book.one}", asks, filled, said=said, enter="add it")


def _said(book: Book, key: str) -> str:
    words = typed_words(key, book.keys[key])
    return f"needed: {words}" if key in book.needed else words


def _add(shop: Shop, book: Book, values: dict[str, str], made: list[str]) -> str:
    typed = {key: listed_texts(key, text) for key, text in values.items()}
    made.append(books.add(shop, book, typed))
    return f"{book.one} {made[0]} is in {book.form(shop).file}"
