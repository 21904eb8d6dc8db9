"""The board's menus: who works and the shop's books; what can be looked up."""

from typing import TYPE_CHECKING

from benchrun.screen.board.pane import BoardHost
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane

if TYPE_CHECKING:
    from benchrun.shop.folder import Shop
    from benchrun.shop.people import Person


def board_menu(host: BoardHost, which: str, who: "Person | None", shop: "Shop") -> Pane:
    """The menu of a key.

    Args:
        host: The board.
        which: `*` or its letter, `/` or its letter; any other key: the page of keys.
        who: Who works, if that is known.
        shop: The shop.
    """
    from benchrun.screen.run import help_page

    if which in ("*", "w"):
        books = "instruments, supplies, parts, people"
        choices = [
            MenuChoice("Who works now", host.ask_who, who.name if who else ""),
            MenuChoice("The shop's books", host.open_books, books),
        ]
        return MenuPane(host, "The shop", choices)
    if which in ("/", "l"):

        async def sums() -> None:
            from benchrun.screen.sums.pane import sums_menu

            host.push(sums_menu(host))

        async def keys() -> None:
            host.push(help_page.help_pane(host))

        async def past() -> None:
            from benchrun.screen.past.menus import past_menu

            host.push(past_menu(host, shop))

        choices = [
            MenuChoice("Sums", sums, "the shop's sums"),
            MenuChoice("Keys", keys, "what each means, and your own"),
            MenuChoice("Past runs", past, "a reading, a part, step times, an instrument"),
        ]
        return MenuPane(host, "Look up", choices)
    return help_page.help_pane(host)
