"""The board's menus: who works and the shop's books; what can be looked up."""

from typing import TYPE_CHECKING

from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Choice, MenuPane

if TYPE_CHECKING:
    from benchrun.screen.board.screen import BoardScreen
    from benchrun.shop.folder import Shop
    from benchrun.shop.people import Person


def board_menu(desk: "BoardScreen", which: str, who: "Person | None", shop: "Shop") -> Pane:
    """The menu of a key.

    Args:
        desk: The board.
        which: `*` or its letter, `/` or its letter; any other key: the page of keys.
        who: Who works, if that is known.
        shop: The shop.
    """
    from benchrun.screen.run import help_page

    if which in ("*", "w"):
        books = "instruments, supplies, parts, people"
        choices = [
            Choice("Who works now", desk.ask_who, who.name if who else ""),
            Choice("The shop's books", desk.open_books, books),
        ]
        return MenuPane(desk, "The shop", choices)
    if which in ("/", "l"):

        async def sums() -> None:
            from benchrun.screen.sums.pane import sums_menu

            desk.push(sums_menu(desk))

        async def keys() -> None:
            desk.push(help_page.help_pane(desk))

        async def past() -> None:
            from benchrun.screen.past.menus import past_menu

            desk.push(past_menu(desk, shop))

        choices = [
            Choice("Sums", sums, "the shop's sums"),
            Choice("Keys", keys, "what each means, and your own"),
            Choice("Past runs", past, "a reading, a part, step times, an instrument"),
        ]
        return MenuPane(desk, "Look up", choices)
    return help_page.help_pane(desk)
