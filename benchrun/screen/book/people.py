"""People of the shop: taking somebody on with a key, another key, letting somebody leave."""

from collections.abc import Callable
from functools import partial

from benchrun.errors import BenchrunError
from benchrun.screen.book.desk import BookDesk
from benchrun.screen.form import Ask, FormPane
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Choice, SurePane, TextPane
from benchrun.shop.people import ROLES, check_name
from benchrun.signing_keys import enrol, new_key, retire


def add_person_pane(desk: BookDesk) -> Pane:
    """Ask for a name, roles and a passphrase; the key is made here."""

    async def named(texts: tuple[str, ...]) -> None:
        name, roles = texts[0], tuple(one.strip() for one in texts[1].split(";") if one.strip())
        try:
            check_name(name)
        except BenchrunError as error:
            desk.say(error.message, strong=True)
            return

        def write(word: str) -> str:
            person = enrol(desk.shop, name, desk.now(), passphrase=word, roles=roles or ROLES)
            return f"{person.name} works here and signs as {person.id}"

        _ask_word(desk, f"A passphrase for {name}", write)

    asks = [
        Ask("name", said="needed: the full name, as it shall stand under what is signed"),
        Ask("roles", "; ".join(ROLES), "the words that procedures use"),
    ]
    said = "A key is made here, with a passphrase. A key from elsewhere: benchrun people add."
    return FormPane(desk, "Somebody new", asks, named, said=said, enter="go on")


def _ask_word(desk: BookDesk, title: str, write: Callable[[str], str]) -> None:
    """Ask for a new passphrase, and for the same once more."""

    async def first(word: str) -> None:
        async def second(again: str) -> None:
            if again != word:
                desk.say("The two passphrases differ: nothing was changed.", strong=True)
                return
            await desk.keep(partial(write, word))

        said = "The same once more."
        desk.push(TextPane(desk, title, second, said=said, hidden=True))

    said = "It opens the new key each time something is signed."
    desk.push(TextPane(desk, title, first, said=said, hidden=True))


def person_deeds(desk: BookDesk, name: str) -> list[Choice]:
    """What can be done with somebody's entry.

    Raises:
        BenchrunError: There is nobody of that id.
    """
    person = desk.found.people.named(name)
    if person.left is not None:
        return []

    def other_key(word: str) -> str:
        new_key(desk.shop, name, desk.now(), passphrase=word)
        return f"{person.name} has another key; what the old one signed still stands"

    def let_go() -> str:
        gone = retire(desk.shop, name, desk.now())
        return f"{gone.name} left on {gone.left}; what was signed until now still stands"

    async def ask_key() -> None:
        _ask_word(desk, f"A passphrase for {person.name}'s new key", other_key)

    async def ask_leave() -> None:
        async def sure() -> None:
            await desk.keep(let_go)

        said = f"{person.name} leaves: the key ends now and signs nothing more."
        desk.push(SurePane(desk, said, sure))

    return [
        Choice("Another key", ask_key, "the old one ends now"),
        Choice("Leaves the shop", ask_leave, "what was signed still stands"),
    ]
