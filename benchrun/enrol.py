"""Making a shop and its signers: where people, keys and the trusted list meet."""

from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.record.keys import KeyFile, UnlockedKey, make_key, read_key_file
from benchrun.record.signers import Signer, principal_of, read_signers, write_signers
from benchrun.record.sshsig import SEAL, SIGN
from benchrun.record.wire import PublicKey
from benchrun.run.commands import Hand
from benchrun.shop.folder import Shop, make_shop
from benchrun.shop.people import ROLES, Person, add_person, check_name, read_people
from benchrun.text import slug

STATION: Final = "station"


def new_shop(path: Path, title: str, at: Moment) -> Shop:
    """Make a shop with its station key.

    Raises:
        BenchrunError: The folder cannot be written.
    """
    shop = make_shop(path, title)
    if not (shop.keys / STATION).exists():
        key = make_key(shop.keys / STATION, None, STATION)
        _trust(shop, STATION, key.public, SEAL, at)
    return shop


def enrol(
    shop: Shop,
    name: str,
    at: Moment,
    *,
    passphrase: str = "",
    key: Path | None = None,
    roles: tuple[str, ...] = ROLES,
) -> Person:
    """Add a person, with a key made here or one that is brought along.

    Args:
        shop: The shop.
        name: The full name.
        at: Now; the key is trusted from now on.
        passphrase: For a key that is made here.
        key: An OpenSSH Ed25519 private key file to use instead.
        roles: What procedures may ask of this person.

    Raises:
        BenchrunError: The name or the key will not do, or the disk refused.
    """
    plain = check_name(name)
    person = Person(slug(plain), plain, roles, shop.keys / slug(plain))
    if person.id == STATION or any(one.id == person.id for one in read_people(shop)):
        raise BenchrunError(f"the name {person.id} is taken: give another")
    if key is not None:
        public = read_key_file(key.expanduser()).public
        person = replace(person, key=key.expanduser().resolve())
    else:
        public = make_key(person.key, passphrase, person.id).public
    add_person(shop, person)
    _trust(shop, person.id, public, SIGN, at)
    return person


def _trust(shop: Shop, who: str, key: PublicKey, namespace: str, at: Moment) -> None:
    signers = read_signers(shop.signers)
    principal = principal_of(who, shop.title)
    row = Signer(principal, key, (namespace,), at.utc_ms // 1000 * 1000, None, "")
    write_signers(shop.signers, signers.add(row))


def station_key(shop: Shop) -> UnlockedKey:
    """The key that seals.

    Raises:
        BenchrunError: It is missing or damaged.
    """
    return read_key_file(shop.keys / STATION).unlock()


def person_key(person: Person) -> KeyFile:
    """The key file of a person, still locked.

    Raises:
        BenchrunError: It is missing or damaged.
    """
    return read_key_file(person.key)


def hand_of(person: Person) -> Hand:
    """A person as the rules see one."""
    return Hand(person.id, person.name, frozenset(person.roles))
