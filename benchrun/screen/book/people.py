"""People of the shop: taking somebody on with a key, another key, letting somebody leave."""

from collections.abc import Callable
from functools import partial

from benchrun.errors import BenchrunError
from benchrun.screen.book.host import BookHost
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, SurePane, TextPane
from benchrun.shop.people import ROLES, check_name
from benchrun.signing_keys import enrol, new_key, retire


def add_person_pane(host: BookHost) -> Pane:
    """Ask for a name, roles and a passphrase; the key is made here."""

    async def named(texts: tuple[str, ...]) -> None:
        name, roles = texts[0], tuple(one.strip() for one in texts[1].split(";") if one.strip())
        try:
            check_name(name)
        except BenchrunError as error:
            host.say(error.message, strong=True)
            return

        def write(word: str) -> str:
            person = enrol(host.shop, name, host.now(), passphrase=word, roles=roles or ROLES)
            return f"{person.name} works here and signs as {person.id}"

        _ask_word(host, f"A passphrase for {name}", write)

    asks = [
        FormField("name", said="needed: the full name, as it will appear under a signature"),
        FormField("roles", "; ".join(ROLES), "the words that procedures use"),
    ]
    said = "A key is made here, with a passphrase. A key from elsewhere: benchrun people add."
    return FormPane(host, "Somebody new", asks, named, said=said, enter="go on")


def _ask_word(
    host: BookHost,
    title: str,
    write: Callable[[str], str],
    said: str = "The passphrase opens the new key each time something is signed.",
) -> None:
    """Ask for a new passphrase, and for the same once more."""

    async def first(word: str) -> None:
        async def second(again: str) -> None:
            if again != word:
                differ = "The two passphrases differ. Type the passphrase again."
                _ask_word(host, title, write, differ)
                return
            await host.keep(partial(write, word))

        once_more = "Type the same passphrase once more."
        host.push(TextPane(host, title, second, said=once_more, hidden=True))

    host.push(TextPane(host, title, first, said=said, hidden=True))


def person_deeds(host: BookHost, name: str) -> list[MenuChoice]:
    """The menu lines of a person.

    Raises:
        BenchrunError: There is nobody of that id.
    """
    person = host.found.people.named(name)
    if person.left is not None:
        return []

    def other_key(word: str) -> str:
        new_key(host.shop, name, host.now(), passphrase=word)
        return f"{person.name} has another key; what the old one signed stays valid"

    def let_go() -> str:
        gone = retire(host.shop, name, host.now())
        return f"{gone.name} left on {gone.left}; what was signed until now stays valid"

    async def ask_key() -> None:
        _ask_word(host, f"A passphrase for {person.name}'s new key", other_key)

    async def ask_leave() -> None:
        async def sure() -> None:
            await host.keep(let_go)

        said = f"{person.name} leaves: the key ends now and signs nothing more."
        host.push(SurePane(host, said, sure))

    return [
        MenuChoice("Another key", ask_key, "the old one ends now"),
        MenuChoice("Leaves the shop", ask_leave, "what was signed stays valid"),
    ]
