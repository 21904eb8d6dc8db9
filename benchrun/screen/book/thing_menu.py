"""The menu of one thing of the shop's books."""

from collections.abc import Awaitable, Callable, Mapping
from functools import partial

from benchrun.screen.book.fields import FieldsPane
from benchrun.screen.book.host import BookHost
from benchrun.screen.book.movement_forms import part_deeds, supply_deeds
from benchrun.screen.book.people import person_deeds
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane
from benchrun.shop.folder import Shop
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import Book, listed_texts, typed_words
from benchrun.signing_keys import change_known

Done = Callable[[], Awaitable[None]]


def deeds_pane(host: BookHost, book: Book, name: str) -> Pane:
    """The menu of what can be done with a thing.

    Raises:
        BenchrunError: There is none of that id.
    """
    match book.key:
        case "supplies":
            choices = supply_deeds(host, name)
        case "parts":
            choices = part_deeds(host, name)
        case "people":
            choices = person_deeds(host, name)
        case "instruments":
            choices = [MenuChoice("Recalibrated", partial(_calibrated, host, book, name))]
        case "jobs":
            choices = [_handed_over(host, book, name)]
        case _:
            choices = []
    if book.end == "out of use":
        choices.append(_out_of_use(host, book, name))
    change = MenuChoice("Edit", partial(_fields, host, book, name))
    return MenuPane(host, f"{name}: choose", [*choices, change])


async def _fields(host: BookHost, book: Book, name: str) -> None:
    described = {key: words for key, words in book.keys.items() if key != "id"}
    described = {key: typed_words(key, words) for key, words in described.items()}

    def texts() -> Mapping[str, str]:
        return book_words.typed_of(book, host.shop, name)

    def change(key: str, text: str) -> str:
        if book.key == "people":
            change_known(host.shop, name, {key: listed_texts(key, text)}, host.now())
            return f"{key} of {name} is kept"
        return changed(host.shop, book, name, {key: text})

    host.push(FieldsPane(host, f"{name}: edit", described, texts, change))


def changed(shop: Shop, book: Book, name: str, texts: Mapping[str, str]) -> str:
    """Change keys of a thing; answers what to say.

    Raises:
        BenchrunError: A value will not do, or the disk refused.
    """
    book_words.change_thing(
        shop, book, name, {key: listed_texts(key, text) for key, text in texts.items()}
    )
    return f"{', '.join(texts)} of {name} is kept"


def _out_of_use(host: BookHost, book: Book, name: str) -> MenuChoice:
    if book_words.typed_of(book, host.shop, name).get("out of use"):

        async def back() -> None:
            await host.keep(partial(changed, host.shop, book, name, {"out of use": ""}))

        return MenuChoice("Back in use", back)

    async def out() -> None:
        async def typed(texts: tuple[str, ...]) -> None:
            if not texts[0]:
                host.say("Out of use: say why, in a few words.", strong=True)
                return
            await host.keep(partial(changed, host.shop, book, name, {"out of use": texts[0]}))

        asks = [FormField("why", said="it stays in the file and is offered no more")]
        host.push(FormPane(host, f"{name} goes out of use", asks, typed, enter="out of use"))

    return MenuChoice("Take out of use", out)


async def _calibrated(host: BookHost, book: Book, name: str) -> None:
    keys = ("calibrated", "until", "by")

    async def typed(texts: tuple[str, ...]) -> None:
        values = dict(zip(keys, texts, strict=True))
        if known.get("until") and not values["until"]:
            host.say("until: type the new due date.", strong=True)
            return
        await host.keep(partial(changed, host.shop, book, name, values))

    known = book_words.typed_of(book, host.shop, name)
    asks = [
        FormField("calibrated", host.today.isoformat(), book.keys["calibrated"]),
        FormField("until", said=book.keys["until"]),
        FormField("by", known.get("by", ""), book.keys["by"]),
    ]
    host.push(FormPane(host, f"{name}: its new calibration", asks, typed, enter="keep"))


def _handed_over(host: BookHost, book: Book, name: str) -> MenuChoice:
    done = bool(book_words.typed_of(book, host.shop, name).get("done"))
    value = "" if done else host.today.isoformat()

    async def do() -> None:
        await host.keep(partial(changed, host.shop, book, name, {"done": value}))

    return MenuChoice("Open again" if done else "Handed over today", do)
