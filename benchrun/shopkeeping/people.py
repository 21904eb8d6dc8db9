"""Listing people and their keys, taking somebody on, ending and distrusting keys."""

from collections.abc import Callable, Iterable
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.shop.folder import Shop, pasteable
from benchrun.shop.people import ROLES, Person, people_sheet
from benchrun.shopkeeping.words import column_text, values_from, with_faults
from benchrun.signing_keys import STATION, change_known, compromise, enrol, keys_of, new_key
from benchrun.signing_keys import retire as let_go
from benchrun.text import listed

AskSecret = Callable[[str], str]
_CHANGEABLE = ("name", "roles")


def people(shop: Shop) -> str:
    """Everybody, with roles and keys; the station last."""
    sheet = people_sheet(shop)
    rows: list[tuple[str, ...]] = []
    for one in sheet.rows:
        state = f"left {one.left}" if one.left else "; ".join(one.roles) or "no role"
        rows += _with_keys(shop, one.id, one.name, state)
    rows += _with_keys(shop, STATION, "seals the logs of this shop", "station")
    return with_faults(column_text(rows), sheet.faults)


def _with_keys(shop: Shop, name: str, full: str, state: str) -> list[tuple[str, ...]]:
    keys = [f"{key.fingerprint} {words}" for key, words in keys_of(shop, name)] or ["no key"]
    first = (name, full, state, keys[0])
    return [first, *(("", "", "", other) for other in keys[1:])]


def take_on(
    shop: Shop,
    name: str,
    now: Moment,
    ask: AskSecret,
    *,
    roles: Iterable[str] = ROLES,
    key: Path | None = None,
    agent: str = "",
) -> str:
    """Add somebody, with a key made here, one in a file, or one that ssh-agent holds.

    Args:
        shop: The shop.
        name: The full name.
        now: When; the key is trusted from then on.
        ask: Asks for a passphrase without showing it, given the words of the question.
        roles: What procedures may ask of this person.
        key: An OpenSSH private key file to use.
        agent: The fingerprint of a key that ssh-agent holds, or `yes` for the only one there.

    Returns:
        Who was added, and the key.

    Raises:
        BenchrunError: The name or the key will not do, or the two passphrases differ.
    """
    word = "" if key or agent else _new_word(ask)
    person = enrol(
        shop, name, now, passphrase=word, key=key, agent=agent, roles=tuple(dict.fromkeys(roles))
    )
    roles = person.roles
    said = f"the role{'s' * (len(roles) > 1)} {listed(roles)}" if roles else "no role"
    return f"{_said(shop, person)}, with {said}"


def other_key(
    shop: Shop, name: str, now: Moment, ask: AskSecret, *, key: Path | None = None, agent: str = ""
) -> str:
    """Give somebody another key; the old one ends now.

    Raises:
        BenchrunError: There is nobody of that id, or the key will not do.
    """
    people_sheet(shop).named(name)
    word = "" if key or agent else _new_word(ask)
    person = new_key(shop, name, now, passphrase=word, key=key, agent=agent)
    return _said(shop, person)


def _said(shop: Shop, person: Person) -> str:
    key = next((key for key, _ in reversed(keys_of(shop, person.id))), None)
    return f"{person.name} signs as {person.id} with {key.fingerprint if key else 'no key'}"


def _new_word(ask: AskSecret) -> str:
    word = ask("A passphrase for the new key: ")
    if not word:
        raise BenchrunError("an empty passphrase protects nothing: choose one")
    if ask("The same once more: ") != word:
        raise BenchrunError("the two passphrases differ: nothing was changed")
    return word


def let_leave(shop: Shop, name: str, now: Moment) -> str:
    """Let somebody leave; what the keys signed until now still verifies.

    Raises:
        BenchrunError: There is nobody of that id, or they left already.
    """
    person = let_go(shop, name, now)
    return f"{person.name} left on {person.left}; what was signed until now still verifies"


def compromised(shop: Shop, name: str, now: Moment, why: str, fingerprint: str = "") -> str:
    """Take all trust from a key.

    Raises:
        BenchrunError: No such key, several to choose from, or no reason.
    """
    key = compromise(shop, name, now, why, fingerprint)
    return (
        f"{key.fingerprint} of {name} is trusted no longer, for what it signed before either; "
        f"give another with: {pasteable(shop.path, 'people', 'key', name)}"
    )


def change_in_people(shop: Shop, name: str, pairs: Iterable[str], now: Moment) -> str:
    """Change somebody's name or roles.

    Raises:
        BenchrunError: There is nobody of that id, or a value will not do.
    """
    values = values_from(pairs, _CHANGEABLE)
    if not values:
        raise BenchrunError("say what to change: name=... or roles=first;second")
    person = change_known(shop, name, values, now)
    return f"{person.id}: {person.name}; roles {', '.join(person.roles) or 'none'}"
