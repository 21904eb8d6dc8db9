"""Making a shop and its signers: where people, keys and the trusted list meet."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.record.agent import AgentKey, agent_keys
from benchrun.record.findings import Grade
from benchrun.record.identity import Claim, Identities, key_findings, one_person
from benchrun.record.keys import KeyFile, UnlockedKey, make_key, read_key_file
from benchrun.record.register import Register, StationSeal
from benchrun.record.register_log import REGISTER_NAME
from benchrun.record.signers import Signer, Signers, principal_of, read_signers, write_signers
from benchrun.record.sshsig import SEAL, SIGN
from benchrun.record.wire import PublicKey
from benchrun.shop.amounts import day_of
from benchrun.shop.file_writer import shop_lock
from benchrun.shop.folder import LONGEST_TITLE, Shop, exists, make_folders, open_shop
from benchrun.shop.people import (
    ROLES,
    Person,
    add_person,
    change_person,
    check_name,
    people_sheet,
    set_key,
)
from benchrun.shop.settings import set_keys
from benchrun.shop.yaml_editor import Plain
from benchrun.text import shown, slug

if TYPE_CHECKING:
    from benchrun.run.commands import Hand

STATION: Final = "station"


@lean_dataclass(frozen=True, slots=True)
class HeldKey:
    """A key that ssh-agent holds; it needs no passphrase here, the agent may ask for a touch."""

    key: AgentKey
    encrypted: bool = False

    @property
    def public(self) -> PublicKey:
        """Its public half."""
        return self.key.public

    def unlock(self, passphrase: str | None = None) -> AgentKey:
        """The key, ready to sign; a passphrase is not looked at."""
        del passphrase
        return self.key


def principal(shop: Shop, who: str) -> str:
    """The principal of a person or the station in a shop: `name@shop`.

    A shop keeps what stands behind the @ once and for all; one that does not yet has what its
    station was trusted under, and only a new one is named after its title.

    Args:
        shop: The shop.
        who: The person's id, or `station`.

    Raises:
        BenchrunError: The file of signers is not sound.
    """
    return principal_of(who, shop.signs_as or _station_of(shop) or shop.title)


def _station_of(shop: Shop) -> str:
    if not shop.signers.is_file():
        return ""
    stations = (row.principal.partition("@") for row in read_signers(shop.signers).signers)
    found = {house for who, _, house in stations if who == STATION}
    return found.pop() if len(found) == 1 else ""


def new_shop(path: Path, title: str, at: Moment) -> Shop:
    """Make a shop that explains itself, with its station key.

    A folder becomes a shop with its last file, so that one that was broken off can be begun anew.

    Raises:
        BenchrunError: There is a shop already, or the folder cannot be written.
    """
    from benchrun.shop.books import lay_files, name_shop  # all books, for a new shop alone

    if exists(path):
        raise BenchrunError(f"there is a shop in {shown(str(path), 200)} already")
    fresh = not (path / REGISTER_NAME).exists()
    make_folders(path)
    lay_files(path)
    # The title as it will read from the file: principals are made from it.
    title = shown(title.strip(), LONGEST_TITLE) or "Shop"
    shop, station = Shop(path, title), path / "keys" / STATION
    with shop_lock(path):
        made = station.exists()
        public = read_key_file(station).public if made else make_key(station, None, STATION).public
        own = principal(shop, STATION)
        if all(row.key != public for row in read_signers(shop.signers).of(own)):
            _keep_signers(shop, _with_key(shop, STATION, public, SEAL, at), at)
        if fresh:
            # Whoever makes a shop where one was knows that it is gone; its register tells it.
            Register(path).read().keep_seen(decided=True)
        return name_shop(path, title, own.partition("@")[2])


def change_settings(shop: Shop, values: Mapping[str, str]) -> Shop:
    """Set keys of shop.yaml; what is in it besides stays as it is.

    Another title changes no signature: what stands behind the @ is written down with it, so that
    old keys and logs go on being trusted.

    Returns:
        The shop as it is then.

    Raises:
        BenchrunError: A value will not do, or the file cannot be written.
    """
    with shop_lock(shop.path):
        now = open_shop(shop.path)
        own = principal(now, STATION).partition("@")[2]
        set_keys(now, values if now.signs_as else {**values, "signs as": own})
    return open_shop(shop.path)


def enrol(
    shop: Shop,
    name: str,
    at: Moment,
    *,
    passphrase: str | None = "",
    key: Path | None = None,
    agent: str = "",
    roles: tuple[str, ...] = ROLES,
) -> Person:
    """Add a person, with a key made here or one that is brought along.

    Args:
        shop: The shop.
        name: The full name.
        at: Now; the key is trusted from now on.
        passphrase: For a key that is made here; None for one that is thrown away with its shop.
        key: An OpenSSH Ed25519 private key file to use instead.
        agent: The fingerprint of a key that ssh-agent holds, or `yes` for the only one there.
        roles: What procedures may ask of this person.

    Raises:
        BenchrunError: The name or the key will not do, or the disk refused.
    """
    plain = check_name(name)
    person = Person(slug(plain), plain, roles, free_path(shop.keys / slug(plain)))
    with shop_lock(shop.path):
        sheet = people_sheet(shop)
        sheet.demand()
        if person.id == STATION or sheet.find(person.id) is not None:
            raise BenchrunError(f"the name {person.id} is taken: give another")
        read_signers(shop.signers)  # told now if it is not sound, before a key is made
        person, public = _key_for(shop, person, passphrase, key, agent)
        signers = _with_key(shop, person.id, public, SIGN, at)
        _keep_signers(shop, signers, at)
        person = add_person(shop, person)
        _enter_person(shop, person, at)
    return person


def new_key(
    shop: Shop,
    name: str,
    at: Moment,
    *,
    passphrase: str = "",
    key: Path | None = None,
    agent: str = "",
) -> Person:
    """Give somebody another key; what the old one signed until now still verifies.

    Args:
        shop: The shop.
        name: The person's id.
        at: Now; the old key ends and the new one begins.
        passphrase: For a key that is made here.
        key: An OpenSSH Ed25519 private key file to use instead.
        agent: The fingerprint of a key that ssh-agent holds, or `yes` for the only one there.

    Raises:
        BenchrunError: There is nobody of that id, the key will not do, or the disk refused.
    """
    with shop_lock(shop.path):
        person = people_sheet(shop).named(name)
        fresh = replace(person, key=free_path(shop.keys / person.id), agent="")
        fresh, public = _key_for(shop, fresh, passphrase, key, agent)
        ended = _ended_keys(shop, person, at)
        _keep_signers(shop, ended.add(key_row(shop, person.id, public, SIGN, at)), at)
        return set_key(shop, fresh)


def retire(shop: Shop, name: str, at: Moment) -> Person:
    """Let somebody leave: the keys end now, what they signed until then still verifies.

    Raises:
        BenchrunError: There is nobody of that id, or the files cannot be written.
    """
    with shop_lock(shop.path):
        person = people_sheet(shop).named(name)
        if person.left is not None:
            raise BenchrunError(f"{person.id} left on {person.left} already")
        _keep_signers(shop, _ended_keys(shop, person, at), at)
        person = change_person(shop, name, {"left": day_of(at).isoformat()})
        _enter_person(shop, person, at)
    return person


def compromise(shop: Shop, name: str, at: Moment, why: str, fingerprint: str = "") -> PublicKey:
    """Take all trust from a key that somebody else may have, for what it signed before as well.

    Args:
        shop: The shop.
        name: The person's id, or `station`.
        at: Now.
        why: What happened, in a few words.
        fingerprint: Which key, where the person has more than one.

    Returns:
        The key.

    Raises:
        BenchrunError: No such person or key, more than one key to choose from, no reason.
    """
    if not why.strip():
        raise BenchrunError("say in a few words what happened to the key")
    own = principal(shop, name)
    with shop_lock(shop.path):
        signers = read_signers(shop.signers)
        keys = tuple(dict.fromkeys(row.key for row in signers.of(own)))
        fitting = [key for key in keys if fingerprint in {"", key.fingerprint}]
        if len(fitting) != 1:
            known = ", ".join(key.fingerprint for key in keys) or "none"
            raise BenchrunError(f"say which key of {shown(name, 60)} is meant: known are {known}")
        _keep_signers(shop, signers.withdraw(own, fitting[0], at.utc_ms, why), at)
    return fitting[0]


def keys_of(shop: Shop, name: str) -> tuple[tuple[PublicKey, str], ...]:
    """The keys that ever stood for somebody, each with its state in words.

    Raises:
        BenchrunError: The file of signers is not sound.
    """
    signers, own = read_signers(shop.signers), principal(shop, name)
    found = [(row.key, _state(row)) for row in signers.of(own)]
    found += [
        (row.key, f"compromised {row.utc[:10]}: {row.why or 'no reason given'}")
        for row in signers.compromised
        if row.principal == own and row.key is not None
    ]
    return tuple(found)


def _state(row: Signer) -> str:
    day = "%Y-%m-%d"
    begins = f"good from {_day(row.after):{day}}" if row.after is not None else "good"
    return f"{begins} to {_day(row.before):{day}}" if row.before is not None else begins


def _day(at_ms: int) -> dt.datetime:
    return dt.datetime.fromtimestamp(at_ms // 1000, dt.UTC)


def _key_for(
    shop: Shop, person: Person, passphrase: str | None, key: Path | None, agent: str
) -> tuple[Person, PublicKey]:
    """The key that a person brings, or a new one."""
    if agent:
        held = _held(agent)
        return replace(person, key=shop.path, agent=held.public.fingerprint), held.public
    if key is not None:
        public = read_key_file(key.expanduser()).public
        return replace(person, key=key.expanduser().resolve()), public
    return person, make_key(person.key, passphrase, person.id).public


def _held(fingerprint: str) -> AgentKey:
    keys = agent_keys()
    fitting = [one for one in keys if fingerprint in {"yes", one.public.fingerprint}]
    if len(fitting) == 1:
        return fitting[0]
    known = ", ".join(f"{one.public.fingerprint} {shown(one.comment, 40)}" for one in keys)
    raise BenchrunError(
        f"ssh-agent holds {len(fitting)} keys that fit: name one by its fingerprint, "
        f"of {known or 'none'}"
    )


def free_path(path: Path) -> Path:
    """A name for another key that no file has yet."""
    number = 2
    while path.with_name(f"{path.name}-{number}").exists():
        number += 1
    return path.with_name(f"{path.name}-{number}") if path.exists() else path


def change_known(shop: Shop, name: str, values: Mapping[str, Plain], at: Moment) -> Person:
    """Change somebody's name or roles, in people.yaml and in the register.

    Raises:
        BenchrunError: There is nobody of that id, a value will not do, or the disk refused.
    """
    with shop_lock(shop.path):
        person = change_person(shop, name, values)
        _enter_person(shop, person, at)
    return person


def sign_refusal(
    register: Register,
    shop: Shop,
    person: Person,
    key: PublicKey,
    says: str,
    opened: Mapping[str, object],
    at: Moment,
) -> str:
    """Why a person's key cannot sign a statement in a run; empty when it can.

    Asked before anything is stated, by the check that every reader of the log makes later.

    Args:
        register: The shop's register.
        shop: Where.
        person: Who signs.
        key: The key that they opened.
        says: The words that are signed.
        opened: What entry 0 of the run says.
        at: Now.
    """
    own = principal(shop, person.id)
    try:
        roster = register.read().roster
    except BenchrunError:
        roster = None  # told where the register is written
    claim = Claim(0, person.id, own, key, SIGN, at.utc_ms, person.id, says, clock_lost=True)
    findings = one_person(claim, Identities(opened, roster))
    findings += key_findings(claim, kept=None, trusted=read_signers(shop.signers), roster=roster)
    faults = [finding.text for finding in findings if finding.grade is Grade.FAULT]
    return f"Nothing was signed: {faults[0]}." if faults else ""


def _ended_keys(shop: Shop, person: Person, at: Moment) -> Signers:
    """The shop's signers with all keys of a person ended."""
    signers, own = read_signers(shop.signers), principal(shop, person.id)
    for row in signers.of(own):
        if row.before is None or row.before > at.utc_ms:
            signers = signers.retire(own, row.key, at.utc_ms)
    return signers


def _with_key(shop: Shop, who: str, key: PublicKey, namespace: str, at: Moment) -> Signers:
    return read_signers(shop.signers).add(key_row(shop, who, key, namespace, at))


def key_row(shop: Shop, who: str, key: PublicKey, namespace: str, at: Moment) -> Signer:
    """The row of `signers` for a key of somebody's that is good from now on."""
    return Signer(principal(shop, who), key, (namespace,), at.utc_ms // 1000 * 1000, None, "")


def _keep_signers(shop: Shop, signers: Signers, at: Moment) -> None:
    """Enter a change of signers in the register, then write the file.

    In that order a kill in between leaves a key that nobody can sign with yet, never one that
    came from nowhere.
    """
    register_of(shop).enter_signers(at, STATION, read_signers(shop.signers), signers)
    write_signers(shop.signers, signers)


def _enter_person(shop: Shop, person: Person, at: Moment) -> None:
    register_of(shop).enter_people(at, STATION, [person_row(person)])


def person_row(person: Person) -> dict[str, object]:
    """A person as the register enters them: id, name, roles, the day they left."""
    return {
        "person": person.id,
        "name": person.name,
        "roles": sorted(person.roles),
        "left": person.left.isoformat() if person.left else "",
    }


def register_of(shop: Shop, read: Register | None = None) -> Register:
    """The shop's register, with the station's key to seal what is entered.

    Args:
        shop: Where.
        read: The register as it was read for the same act, or None.

    Raises:
        BenchrunError: The key is missing or damaged.
    """
    return Register(shop.path, StationSeal(station_key(shop), principal(shop, STATION)), read)


def station_key(shop: Shop) -> UnlockedKey:
    """The key that seals.

    Raises:
        BenchrunError: It is missing or damaged.
    """
    return read_key_file(shop.keys / STATION).unlock()


def person_key(person: Person) -> KeyFile | HeldKey:
    """The key of a person, still locked.

    Raises:
        BenchrunError: It is missing or damaged, or no agent holds it.
    """
    return HeldKey(_held(person.agent)) if person.agent else read_key_file(person.key)


def hand_of(person: Person) -> "Hand":
    """A person as the rules see one."""
    from benchrun.run.commands import Hand

    return Hand(person.id, person.name, frozenset(person.roles))
