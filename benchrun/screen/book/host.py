"""The screen of the shop's books as its panes see it."""

import datetime as dt
from collections.abc import Callable
from typing import Protocol

from benchrun.report.doc import Sheet
from benchrun.screen.page_api import PaneHost
from benchrun.shop.books import ShopBooks
from benchrun.shop.folder import Shop
from benchrun.shop_use.book_words import BookThing


class BookHost(PaneHost, Protocol):
    """The screen of the shop's books."""

    @property
    def shop(self) -> Shop:
        """The shop as its files say now."""
        ...

    @property
    def found(self) -> ShopBooks:
        """Its books as the files say now, each as far as it is sound."""
        ...

    @property
    def today(self) -> dt.date:
        """The day."""
        ...

    def rows(self, key: str) -> tuple[BookThing, ...]:
        """The things of a book, with how each stands."""
        ...

    def sheet(self, key: str, name: str) -> Sheet | None:
        """The page of a part or a job; None while it is not read yet, and for other things.

        Args:
            key: The key of its book.
            name: Its id.
        """
        ...

    async def keep(self, change: Callable[[], str]) -> bool:
        """Write something; beside, as another program may hold the files for a moment.

        Args:
            change: Writes, and answers what to say when it is done.

        Returns:
            Whether it was done; why not is said.
        """
        ...
