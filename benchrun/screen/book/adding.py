"""Adding a thing to one of the shop's books."""

from functools import partial

from benchrun.screen.book.host import BookHost
from benchrun.screen.book.people import add_person_pane
from benchrun.screen.book.thing import ThingPane
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page_api import Pane
from benchrun.shop.folder import Shop
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import Book, listed_texts, typed_words

_ASKED = {
    "instruments": ("name", "range", "until"),
    "supplies": ("name", "amount", "lot", "opened", "keeps"),
    "vessels": ("name", "holds", "filled with"),
    "parts": ("name", "side", "numbers", "job", "where"),
    "jobs": ("name", "owner"),
}


def add_pane(host: BookHost, book: Book) -> Pane:
    """Ask for what a new thing cannot do without; everything else can be changed afterwards."""
    if book.key == "people":
        return add_person_pane(host)
    asked = _ASKED[book.key]

    async def filled(texts: tuple[str, ...]) -> None:
        made: list[str] = []
        values = dict(zip(asked, texts, strict=True))
        if await host.keep(partial(_add, host.shop, book, values, made)):
            host.push(ThingPane(host, book, made[0]))

    asks = [FormField(key, said=_said(book, key)) for key in asked]
    said = "What is not known yet stays empty; it can be written later."
    return FormPane(host, f"A new {book.one}", asks, filled, said=said, enter="add it")


def _said(book: Book, key: str) -> str:
    words = typed_words(key, book.keys[key])
    return f"needed: {words}" if key in book.needed else words


def _add(shop: Shop, book: Book, values: dict[str, str], made: list[str]) -> str:
    typed = {key: listed_texts(key, text) for key, text in values.items()}
    made.append(book_words.add_thing(shop, book, typed))
    return f"{book.one} {made[0]} is in {book.form(shop).file}"
