"""The screen of the shop's books: which book, and what its files say now."""

import asyncio
import datetime as dt
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final

from textual import work

from benchrun.board import uses_beside
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.report.doc import Sheet
from benchrun.screen.bench import Bench
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.book.fields import FieldsPane
from benchrun.screen.book.host import BookHost
from benchrun.screen.book.list_pane import BookListPane
from benchrun.screen.book.thing import ThingPane
from benchrun.screen.page import Page
from benchrun.screen.prompts import MenuChoice, MenuPane
from benchrun.screen.text_line import Paper
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop, open_shop
from benchrun.shop.settings import SETTINGS, settings_in_words
from benchrun.shop_use.book_words import BOOKS, Book, BookThing, book_of, faults_of, things_of
from benchrun.shop_use.vessels import VesselUse
from benchrun.signing_keys import change_settings
from benchrun.text import count

FILES: Final = tuple(
    f"{name}.yaml"
    for name in ("shop", "people", "instruments", "supplies", "vessels", "parts", "routes")
)


def _part_page(shop: Shop, name: str, now: Moment) -> Sheet:
    from benchrun.jobs.part_page import part_sheet

    return part_sheet(shop, name, now)


def _job_page(shop: Shop, name: str, now: Moment) -> Sheet:
    from benchrun.jobs.job_page import job_sheet

    return job_sheet(shop, name, now)


PAGES: Final = {"parts": _part_page, "jobs": _job_page}
"""The books whose things have a page over all their runs, each with its maker."""


class BookScreen(BenchScreen):
    """The shop's books.

    Args:
        bench: The app.
        shop: The shop.
        opened: A thing that is shown at once, the key of its book and its id; None for the menu.
    """

    def __init__(self, bench: Bench, shop: Shop, opened: tuple[str, str] | None = None) -> None:
        super().__init__(bench)
        self._shop = shop
        self._stamp: tuple[tuple[int, int], ...] = ()
        self._found = read_books(shop)
        self._uses: tuple[VesselUse, ...] = ()
        self._sheets: dict[tuple[str, str], tuple[object, Sheet | None]] = {}
        self.push(
            BooksPane(self) if opened is None else ThingPane(self, book_of(opened[0]), opened[1])
        )

    def on_mount(self) -> None:
        """Look beside at what the open runs have in which vessel."""
        self._look_at_runs()

    @work
    async def _look_at_runs(self) -> None:
        self._uses = await asyncio.to_thread(uses_beside, self._shop, "")
        self.paint()

    @property
    def shop(self) -> Shop:
        """The shop as its files say now."""
        self._look()
        return self._shop

    @property
    def found(self) -> ShopBooks:
        """Its books as the files say now, read again when one of them has changed."""
        self._look()
        return self._found

    @property
    def today(self) -> dt.date:
        """The day."""
        return day_of(self.now())

    def _look(self) -> None:
        stamp = tuple(_stamp_of(self._shop.path / name) for name in FILES)
        if stamp == self._stamp:
            return
        self._stamp = stamp
        try:
            self._shop = open_shop(self._shop.path)
        except BenchrunError as error:
            self.say(error.message, strong=True)
        self._found = read_books(self._shop)

    def rows(self, key: str) -> tuple[BookThing, ...]:
        """The things of a book, with how each stands."""
        return things_of(book_of(key), self.found, self.today, self._uses)

    def sheet(self, key: str, name: str) -> Sheet | None:
        """The page of a part or a job; read beside, and again when a file of the shop changed."""
        if key not in PAGES:
            return None
        self._look()
        stamp = (self._stamp, _stamp_of(self._shop.runs))
        known = self._sheets.get((key, name))
        if known is None or known[0] != stamp:
            self._sheets[key, name] = (stamp, None)  # what the files say stands there meanwhile
            self._read_sheet(key, name, stamp)
        return self._sheets[key, name][1]

    @work
    async def _read_sheet(self, key: str, name: str, stamp: object) -> None:
        try:
            sheet = await asyncio.to_thread(PAGES[key], self._shop, name, self.now())
        except BenchrunError as error:
            self.say(error.message, strong=True)
            return
        self._sheets[key, name] = (stamp, sheet)
        self.paint()

    async def keep(self, change: Callable[[], str]) -> bool:
        """Write something; say what was done, or in one line why not."""
        try:
            said = await asyncio.to_thread(change)
        except BenchrunError as error:
            self.say(error.message, strong=True)
            return False
        self.say(said)
        return True

    def choices(self) -> list[MenuChoice]:
        """The books, each with how many things are in it and how many want seeing to."""
        books = [
            MenuChoice(book.title, partial(self._open, book), self._beside(book)) for book in BOOKS
        ]
        return [*books, MenuChoice("Settings", self._settings, "title, currency, reminders")]

    def _beside(self, book: Book) -> str:
        rows, faults = self.rows(book.key), faults_of(book, self.found)
        amiss = sum(row.amiss for row in rows)
        words = [str(len(rows)) if rows else "none yet"]
        words += [f"{amiss} need attention" if amiss > 1 else "1 needs attention"] if amiss else []
        words += [f"{count(len(faults), 'fault')} in the file"] if faults else []
        return ", ".join(words)

    async def _open(self, book: Book) -> None:
        self.push(BookListPane(self, book))

    async def _settings(self) -> None:
        self.push(SettingsPane(self))


class BooksPane(MenuPane):
    """The menu of the books, which tells how each stands now.

    Args:
        host: The screen.
    """

    def __init__(self, host: BookScreen) -> None:
        super().__init__(host, "The shop's books", host.choices(), stays=True)
        self._books = host

    def page(self, paper: Paper) -> Page:
        """The numbered list."""
        self.offer(self._books.choices())
        return super().page(paper)


class SettingsPane(FieldsPane):
    """The settings in shop.yaml, each with what stands there.

    Args:
        host: The screen.
    """

    def __init__(self, host: BookHost) -> None:
        super().__init__(
            host, "Settings", SETTINGS, lambda: settings_in_words(host.shop), self._kept
        )

    def _kept(self, key: str, text: str) -> str:
        change_settings(self.host.shop, {key: text})
        return f"{key} is kept"


def _stamp_of(path: Path) -> tuple[int, int]:
    try:
        stat = path.stat()
    except OSError:
        return (0, 0)
    return (stat.st_mtime_ns, stat.st_size)
