"""What can be done with one thing of the shop's books."""

from collections.abc import Awaitable, Callable, Mapping
from functools import partial

from benchrun.fitting import books
from benchrun.fitting.books import Book, listed_texts, typed_words
from benchrun.screen.book.deeds import part_deeds, supply_deeds
from benchrun.screen.book.desk import BookDesk
from benchrun.screen.book.fields import FieldsPane
from benchrun.screen.book.people import person_deeds
from benchrun.screen.form import Ask, FormPane
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Choice, MenuPane
from benchrun.shop.folder import Shop

Done = Callable[[], Awaitable[None]]


def deeds_pane(desk: BookDesk, book: Book, name: str) -> Pane:
    """The menu of what can be done with a thing.

    Raises:
        BenchrunError: There is none of that id.
    """
    match book.key:
        case "supplies":
            choices = supply_deeds(desk, name)
        case "parts":
            choices = part_deeds(desk, name)
        case "people":
            choices = person_deeds(desk, name)
        case "instruments":
            choices = [Choice("Calibrated anew", partial(_calibrated, desk, book, name))]
        case "jobs":
            choices = [_handed_over(desk, book, name)]
        case _:
            choices = []
    if book.end == "out of use":
        choices.append(_out_of_use(desk, book, name))
    change = Choice("Change what stands there", partial(_fields, desk, book, name))
    return MenuPane(desk, f"{name}: what is to be done", [*choices, change])


async def _fields(desk: BookDesk, book: Book, name: str) -> None:
    described = {key: words for key, words in book.keys.items() if key != "id"}
    described = {key: typed_words(key, words) for key, words in described.items()}

    def texts() -> Mapping[str, str]:
        return books.typed_of(book, desk.shop, name)

    def change(key: str, text: str) -> str:
        return changed(desk.shop, book, name, {key: text})

    desk.push(FieldsPane(desk, f"{name}: what stands there", described, texts, change))


def changed(shop: Shop, book: Book, name: str, texts: Mapping[str, str]) -> str:
    """Change keys of a thing; answers what to say.

    Raises:
        BenchrunError: A value will not do, or the disk refused.
    """
    books.change(shop, book, name, {key: listed_texts(key, text) for key, text in texts.items()})
    return f"{', '.join(texts)} of {name} is kept"


def _out_of_use(desk: BookDesk, book: Book, name: str) -> Choice:
    if books.typed_of(book, desk.shop, name).get("out of use"):

        async def back() -> None:
            await desk.keep(partial(changed, desk.shop, book, name, {"out of use": ""}))

        return Choice("Back in use", back)

    async def out() -> None:
        async def told(texts: tuple[str, ...]) -> None:
            if not texts[0]:
                desk.say("Out of use: say why, in a few words.", strong=True)
                return
            await desk.keep(partial(changed, desk.shop, book, name, {"out of use": texts[0]}))

        asks = [Ask("why", said="it stays in the file and is offered no more")]
        desk.push(FormPane(desk, f"{name} goes out of use", asks, told, enter="out of use"))

    return Choice("Take out of use", out)


async def _calibrated(desk: BookDesk, book: Book, name: str) -> None:
    keys = ("calibrated", "until", "by")

    async def told(texts: tuple[str, ...]) -> None:
        values = dict(zip(keys, texts, strict=True))
        if known.get("until") and not values["until"]:
            desk.say("Calibrated anew: say until which day that is good.", strong=True)
            return
        await desk.keep(partial(changed, desk.shop, book, name, values))

    known = books.typed_of(book, desk.shop, name)
    asks = [
        Ask("calibrated", desk.today.isoformat(), book.keys["calibrated"]),
        Ask("until", said=book.keys["until"]),
        Ask("by", known.get("by", ""), book.keys["by"]),
    ]
    desk.push(FormPane(desk, f"{name}: its new calibration", asks, told, enter="keep"))


def _handed_over(desk: BookDesk, book: Book, name: str) -> Choice:
    done = bool(books.typed_of(book, desk.shop, name).get("done"))
    value = "" if done else desk.today.isoformat()

    async def do() -> None:
        await desk.keep(partial(changed, desk.shop, book, name, {"done": value}))

    return Choice("Open again" if done else "Handed over today", do)
