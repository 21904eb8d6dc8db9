"""What is done with supplies and parts: used, poured back, counted; sent away, taken back, paid."""

from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path

from benchrun.fitting import books
from benchrun.fitting.books import book_of
from benchrun.pictures.taking import MayTell
from benchrun.screen.book.desk import BookDesk
from benchrun.screen.form import Ask, FormPane
from benchrun.screen.prompts import Choice, MenuPane, SurePane
from benchrun.shop.amounts import read_day
from benchrun.shop.deeds import back_words, enter_cost, enter_in_book, send_away, take_back
from benchrun.shop.parts import DECISIONS
from benchrun.text import count

Told = Callable[[tuple[str, ...]], Awaitable[None]]

_BOOKED = {
    "used": ("Some was used", "how much was used: 40 ml"),
    "back": ("Some was poured back", "how much was filtered or poured back: 700 ml"),
    "counted": ("Count what is left", "how much there is: 850 ml"),
    "strength": ("Strength of the bath", "as it was measured: 12 %"),
}


def supply_deeds(desk: BookDesk, name: str) -> list[Choice]:
    """What can be done with a supply.

    Raises:
        BenchrunError: There is none of that id.
    """
    desk.found.supplies.named(name)
    return [Choice(words, partial(_enter, desk, name, deed)) for deed, (words, _) in
            _BOOKED.items()]  # fmt: skip


async def _enter(desk: BookDesk, name: str, deed: str) -> None:
    words, said = _BOOKED[deed]

    def write(amount: str, why: str) -> str:
        one = enter_in_book(desk.shop, name, deed, amount, desk.today, why=why)
        return f"{name}: {deed} {amount}; {one.left.words} left"

    async def told(texts: tuple[str, ...]) -> None:
        await desk.keep(partial(write, *texts))

    asks = [Ask("amount", said=said), Ask("why", said="anything else")]
    desk.push(FormPane(desk, f"{name}: {words.lower()}", asks, told, enter="keep"))


def part_deeds(desk: BookDesk, name: str) -> list[Choice]:
    """What can be done with a part.

    Raises:
        BenchrunError: There is none of that id.
    """
    part = desk.found.parts.named(name)
    if part.gone:
        trip = Choice("It is back", partial(_back, desk, name), part.whereabouts)
    else:
        trip = Choice("Send it away", partial(_away, desk, name))
    decide = Choice("Decide", partial(_decide, desk, name), part.decision or "undecided")
    return [trip, decide, Choice("What was paid", partial(_paid, desk, name))]


async def _away(desk: BookDesk, name: str) -> None:
    def write(to: str, went: str, due: str, photo: str, *, unsure: bool = False) -> str:
        one = send_away(
            desk.shop,
            name,
            to,
            desk.today,
            count=pieces(went),
            due=read_day(due) if due else None,
            photo=Path(photo).expanduser() if photo else None,
            unsure=unsure,
        )
        return f"{name} is {one.whereabouts}"

    async def told(texts: tuple[str, ...]) -> None:
        await _with_picture(desk, partial(write, *texts))

    asks = [
        Ask("to", said="needed: where it goes"),
        Ask("count", said="how many pieces; 1 unless said"),
        Ask("due back", said="the day: 2026-03-20"),
        Ask("photo", said="the file of a picture of what goes; it is copied"),
    ]
    desk.push(FormPane(desk, f"{name} goes away", asks, told, enter="it goes"))


def pieces(text: str) -> int:
    """A count of pieces as typed; empty for one, 0 for what is none."""
    if not text:
        return 1
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else 0


async def _back(desk: BookDesk, name: str) -> None:
    trip = desk.found.parts.named(name).gone

    def write(came: str, photo: str, *, unsure: bool = False) -> str:
        return back_words(
            take_back(
                desk.shop,
                name,
                desk.today,
                came=pieces(came or "none"),
                photo=Path(photo).expanduser() if photo else None,
                unsure=unsure,
            )
        )

    if trip is None or (trip.count == 1 and not trip.photo):
        await desk.keep(partial(write, "1", ""))
        return

    async def told(texts: tuple[str, ...]) -> None:
        await _with_picture(desk, partial(write, *texts))

    said = f"{count(trip.count, 'piece')} went to {trip.to} on {trip.sent}."
    asks = [
        Ask("count", said="needed: how many came back"),
        Ask("photo", said="the file of a picture of what came; it is copied"),
    ]
    desk.push(FormPane(desk, f"{name} is back", asks, told, said=said, enter="take back"))


async def _with_picture(desk: BookDesk, write: Callable[..., str]) -> None:
    """Write what has a picture; ask first where that may tell where it was taken."""
    doubts: list[str] = []

    def write_or_doubt() -> str:
        try:
            return write()
        except MayTell as error:
            doubts.append(error.message)
            raise

    async def all_the_same() -> None:
        await desk.keep(partial(write, unsure=True))

    await desk.keep(write_or_doubt)
    if doubts:
        desk.say("")  # it is asked instead
        said = f"{doubts[0]}. Keep the picture all the same?"
        desk.push(SurePane(desk, said, all_the_same))


async def _decide(desk: BookDesk, name: str) -> None:
    def write(decision: str) -> str:
        books.change(desk.shop, book_of("parts"), name, {"decision": decision})
        return f"{name}: {decision or 'undecided'}"

    async def chosen(decision: str) -> None:
        await desk.keep(partial(write, decision))

    choices = [Choice(one.capitalize(), partial(chosen, one)) for one in DECISIONS]
    choices.append(Choice("Undecided", partial(chosen, "")))
    desk.push(MenuPane(desk, f"{name}: what becomes of it", choices))


async def _paid(desk: BookDesk, name: str) -> None:
    def write(what: str, price: str) -> str:
        one = enter_cost(desk.shop, name, what, price, desk.today)
        return f"{name}: {what} {one.costs[-1].price.words}"

    async def told(texts: tuple[str, ...]) -> None:
        await desk.keep(partial(write, *texts))

    currency = desk.found.settings.currency or "EUR"
    asks = [Ask("what", said="needed: what for"), Ask("price", said=f"12.50 {currency}")]
    desk.push(FormPane(desk, f"{name}: what was paid", asks, told, enter="keep"))
