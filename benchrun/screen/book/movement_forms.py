"""Forms for movements: supplies used, poured back, counted; parts sent away, undone, paid."""

from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path

from benchrun.pictures.files import MayTell
from benchrun.screen.book.host import BookHost
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.prompts import MenuChoice, MenuPane, SurePane
from benchrun.shop.amounts import read_day
from benchrun.shop.movements import back_words, enter_cost, enter_in_book, send_away, take_back
from benchrun.shop.parts import DECISIONS
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import book_of
from benchrun.text import count

Told = Callable[[tuple[str, ...]], Awaitable[None]]

_BOOKED = {
    "used": ("Some was used", "how much was used: 40 ml"),
    "back": ("Some was poured back", "how much was filtered or poured back: 700 ml"),
    "counted": ("Count what is left", "how much there is: 850 ml"),
    "strength": ("Strength of the bath", "as it was measured: 12 %"),
}


def supply_deeds(host: BookHost, name: str) -> list[MenuChoice]:
    """The menu lines of a supply; only a bath has a strength.

    Raises:
        BenchrunError: There is none of that id.
    """
    one = host.found.supplies.named(name)
    bath = (
        one.weakest or one.strength or name in (tub.filled_with for tub in host.found.vessels.rows)
    )
    return [
        MenuChoice(words, partial(_enter, host, name, deed))
        for deed, (words, _) in _BOOKED.items()
        if deed != "strength" or bath
    ]


async def _enter(host: BookHost, name: str, deed: str) -> None:
    words, said = _BOOKED[deed]

    def write(amount: str, why: str) -> str:
        one = enter_in_book(host.shop, name, deed, amount, host.today, why=why)
        return f"{name}: {deed} {amount}; {one.left.words} left"

    async def typed(texts: tuple[str, ...]) -> None:
        await host.keep(partial(write, *texts))

    asks = [FormField("amount", said=said), FormField("why", said="anything else")]
    host.push(FormPane(host, f"{name}: {words.lower()}", asks, typed, enter="keep"))


def part_deeds(host: BookHost, name: str) -> list[MenuChoice]:
    """The menu lines of a part.

    Raises:
        BenchrunError: There is none of that id.
    """
    part = host.found.parts.named(name)
    if part.gone:
        trip = MenuChoice("It is back", partial(_back, host, name), part.whereabouts)
    else:
        trip = MenuChoice("Send it away", partial(_away, host, name))
    decide = MenuChoice("Decide", partial(_decide, host, name), part.decision or "undecided")
    return [trip, decide, MenuChoice("What was paid", partial(_paid, host, name))]


async def _away(host: BookHost, name: str) -> None:
    def write(to: str, went: str, due: str, photo: str, *, unsure: bool = False) -> str:
        one = send_away(
            host.shop,
            name,
            to,
            host.today,
            count=pieces(went),
            due=read_day(due) if due else None,
            photo=Path(photo).expanduser() if photo else None,
            unsure=unsure,
        )
        return f"{name} is {one.whereabouts}"

    async def typed(texts: tuple[str, ...]) -> None:
        await _with_picture(host, partial(write, *texts))

    asks = [
        FormField("to", said="needed: where it goes"),
        FormField("count", said="how many pieces; 1 unless said"),
        FormField("due back", said="the day: 2026-03-20"),
        FormField("photo", said="the file of a picture of what goes; it is copied"),
    ]
    host.push(FormPane(host, f"{name} goes away", asks, typed, enter="it goes"))


def pieces(text: str) -> int:
    """A count of pieces as typed; empty for one, 0 for what is none."""
    if not text:
        return 1
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else 0


async def _back(host: BookHost, name: str) -> None:
    trip = host.found.parts.named(name).gone

    def write(came: str, photo: str, *, unsure: bool = False) -> str:
        return back_words(
            take_back(
                host.shop,
                name,
                host.today,
                came=pieces(came or "none"),
                photo=Path(photo).expanduser() if photo else None,
                unsure=unsure,
            )
        )

    if trip is None or (trip.count == 1 and not trip.photo):
        await host.keep(partial(write, "1", ""))
        return

    async def typed(texts: tuple[str, ...]) -> None:
        await _with_picture(host, partial(write, *texts))

    said = f"{count(trip.count, 'piece')} went to {trip.to} on {trip.sent}."
    asks = [
        FormField("count", said="needed: how many came back"),
        FormField("photo", said="the file of a picture of what came; it is copied"),
    ]
    host.push(FormPane(host, f"{name} is back", asks, typed, said=said, enter="receive"))


async def _with_picture(host: BookHost, write: Callable[..., str]) -> None:
    """Write what has a picture; ask first where that may tell where it was taken."""
    doubts: list[str] = []

    def write_or_doubt() -> str:
        try:
            return write()
        except MayTell as error:
            doubts.append(error.message)
            raise

    async def all_the_same() -> None:
        await host.keep(partial(write, unsure=True))

    await host.keep(write_or_doubt)
    if doubts:
        host.say("")  # it is asked instead
        said = f"{doubts[0]}. Keep the picture anyway?"
        host.push(SurePane(host, said, all_the_same))


async def _decide(host: BookHost, name: str) -> None:
    def write(decision: str) -> str:
        book_words.change_thing(host.shop, book_of("parts"), name, {"decision": decision})
        return f"{name}: {decision or 'undecided'}"

    async def chosen(decision: str) -> None:
        await host.keep(partial(write, decision))

    choices = [MenuChoice(one.capitalize(), partial(chosen, one)) for one in DECISIONS]
    choices.append(MenuChoice("Undecided", partial(chosen, "")))
    host.push(MenuPane(host, f"{name}: what becomes of it", choices))


async def _paid(host: BookHost, name: str) -> None:
    def write(what: str, price: str) -> str:
        one = enter_cost(host.shop, name, what, price, host.today)
        return f"{name}: {what} {one.costs[-1].price.words}"

    async def typed(texts: tuple[str, ...]) -> None:
        await host.keep(partial(write, *texts))

    currency = host.found.settings.currency or "EUR"
    asks = [
        FormField("what", said="needed: what for"),
        FormField("price", said=f"12.50 {currency}"),
    ]
    host.push(FormPane(host, f"{name}: what was paid", asks, typed, enter="keep"))
