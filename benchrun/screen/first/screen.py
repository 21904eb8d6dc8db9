"""The first start: what the shop is called, who works here, and the key that signs."""

import asyncio
from collections.abc import Callable
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.screen.bench import Bench
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane, SurePane, TextPane
from benchrun.shop.folder import Shop, exists, open_shop
from benchrun.shop.people import Person, check_name
from benchrun.signing_keys import enrol, new_shop

WELCOME = (
    "This is the first start. benchrun makes a folder for the shop, in plain files, and a key "
    "with which you sign what you did."
)


class FirstScreen(BenchScreen):
    """Asks for a name and a key, and makes the shop.

    Args:
        bench: The app.
        path: Where the shop is to lie.
        done: What to do when it is there.
    """

    def __init__(self, bench: Bench, path: Path, done: Callable[[Shop, Person], None]) -> None:
        super().__init__(bench)
        self._path = path
        self._done = done
        self._shop_title = "Workshop"
        self._person_name = ""
        self._ask_title()

    def _replace(self, pane: Pane, back: Callable[[], None]) -> None:
        """Ask the next question, from which Esc leads back to the one before."""

        async def left() -> None:
            back()

        pane.left = left
        self.panes = [pane]

    def _ask_leave(self) -> None:
        async def leave() -> None:
            self.bench.end()

        said = "Nothing is made yet. Leave the program?"
        self.push(SurePane(self, said, leave, title="Leave the first start", enter="leave"))

    def _ask_title(self) -> None:
        if exists(self._path):
            self._ask_name()
            return

        async def typed(text: str) -> None:
            self._shop_title = text
            self._ask_name()

        said = f"{WELCOME} It will lie in {self._path}."
        pane = TextPane(self, "What the shop is called", typed, said=said, offered=self._shop_title)
        self._replace(pane, self._ask_leave)

    def _ask_name(self) -> None:
        async def typed(text: str) -> None:
            try:
                self._person_name = check_name(text)
            except BenchrunError as error:
                self.say(error.message, strong=True)
                return
            self._ask_key()

        said = "Your full name, as it will appear under your signature."
        back = self._ask_leave if exists(self._path) else self._ask_title
        self._replace(TextPane(self, "Who works here", typed, said=said), back)

    def _ask_key(self) -> None:
        async def make() -> None:
            self._ask_word()

        async def bring() -> None:
            self._ask_file()

        choices = [
            MenuChoice("Make a new key", make, "with a passphrase of your choice"),
            MenuChoice("Use a key I have", bring, "an OpenSSH Ed25519 private key file"),
        ]
        said = f"{self._person_name} signs with a key. The passphrase opens it each time."
        self._replace(MenuPane(self, "The key", choices, said=said, stays=True), self._ask_name)

    def _ask_word(self, said: str = "") -> None:
        async def typed(word: str) -> None:
            self._ask_again(word)

        said = said or "Digits will do, so that gloves can type it; longer is safer."
        self._replace(TextPane(self, "A passphrase", typed, said=said, hidden=True), self._ask_key)

    def _ask_again(self, word: str) -> None:
        async def typed(again: str) -> None:
            if again != word:
                self._ask_word("The two passphrases differ. Type the passphrase again.")
                return
            await self._make(passphrase=word)

        said = "Nobody can open the key without it. Type the same once more."
        pane = TextPane(self, "The passphrase once more", typed, said=said, hidden=True)
        self._replace(pane, self._ask_word)

    def _ask_file(self) -> None:
        async def typed(text: str) -> None:
            await self._make(key=Path(text))

        said = "The key stays in its file, where it is."
        text = str(Path("~/.ssh/id_ed25519"))
        pane = TextPane(self, "The key's file", typed, said=said, offered=text)
        self._replace(pane, self._ask_key)

    async def _make(self, *, passphrase: str = "", key: Path | None = None) -> None:
        now = self.now()

        def work() -> tuple[Shop, Person]:
            there = exists(self._path)
            shop = open_shop(self._path) if there else new_shop(self._path, self._shop_title, now)
            return shop, enrol(shop, self._person_name, now, passphrase=passphrase, key=key)

        try:
            shop, person = await asyncio.to_thread(work)
        except BenchrunError as error:
            self.say(error.message, strong=True)
            self._ask_name()
            return
        self._done(shop, person)

    @property
    def aid_shop(self) -> Shop:
        """The shop that is to be, so that what came with the program can be read."""
        return Shop(self._path, self._shop_title)

    def pop(self, pane: Pane) -> None:
        """A question stays until the next one, or the one before, takes its place."""
        if self.panes and pane is not self.panes[0]:
            super().pop(pane)
