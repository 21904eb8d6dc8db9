"""Who works in the shop: people.yaml, read and changed by hand or by the program."""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import read_day
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow, read_id
from benchrun.shop.folder import Shop
from benchrun.shop.row_editor import add_row, change_row
from benchrun.shop.yaml_editor import Plain
from benchrun.text import slug, unfit

ROLES: Final = ("restorer", "checker")
PERSON_KEYS: Final = MappingProxyType(
    {
        "id": "the name in the log and in signatures: do not change it once it has signed",
        "name": "the full name",
        "roles": "the words that procedures use: [restorer, checker]",
        "key": "the file of the private key, from this folder or from the root",
        "agent": "instead of key: the fingerprint of a key that ssh-agent holds",
        "left": "the day on which somebody stopped working here",
        "note": "anything else",
    }
)
_LONGEST: Final = 60
_LONGEST_ROLE: Final = 40


@lean_dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works in the shop.

    Attributes:
        id: The name in the log, plain letters.
        name: The full name.
        roles: What procedures may ask for.
        key: The file of the private key; the shop's folder where an agent holds the key.
        agent: The fingerprint of a key that ssh-agent holds, or empty.
        left: The day on which somebody stopped working here, or None.
    """

    id: str
    name: str
    roles: tuple[str, ...]
    key: Path
    agent: str = ""
    left: dt.date | None = None


def read_people(shop: Shop) -> tuple[Person, ...]:
    """The people who work in a shop now, in the order of the file; unsound rows are left out.

    Raises:
        BenchrunError: The file cannot be read at all; says where.
    """
    sheet = people_sheet(shop)
    sheet.demand()
    return tuple(person for person in sheet.rows if person.left is None)


def people_sheet(shop: Shop) -> BookFile[Person]:
    """Everybody in the file, those who left too, with what is wrong in it."""
    return people_form(shop.path).read(shop.path)


def check_name(name: str) -> str:
    """A name that is fit for the log.

    Raises:
        BenchrunError: It is empty, too long, or holds what cannot be written down.
    """
    plain = name.strip()
    fault = unfit(plain)
    if fault:
        raise BenchrunError(f"the name holds {fault}, which cannot be written down")
    if not 1 <= len(plain) <= _LONGEST:
        raise BenchrunError(f"a name needs 1 to {_LONGEST} characters, found {len(plain)}")
    return plain


def add_person(shop: Shop, person: Person) -> Person:
    """Add somebody to the file; what is in it stays as it is.

    Raises:
        BenchrunError: The file cannot be written, or the id is taken.
    """
    row: dict[str, Plain] = {"id": person.id, "name": person.name, "roles": list(person.roles)}
    row |= _key_row(shop, person)
    return add_row(shop.path, people_form(shop.path), row)


def change_person(shop: Shop, name: str, values: Mapping[str, Plain]) -> Person:
    """Set keys of somebody's row: name, roles, key, agent, left.

    Raises:
        BenchrunError: There is nobody of that id, or a value will not do.
    """
    return change_row(shop.path, people_form(shop.path), name, values)


def set_key(shop: Shop, person: Person) -> Person:
    """Write down which key somebody has now.

    Raises:
        BenchrunError: There is nobody of that id, or the file cannot be written.
    """
    values = {"key": "", **_key_row(shop, person)} if person.agent else _key_row(shop, person)
    held = people_sheet(shop).named(person.id).agent
    if held and not person.agent:
        values = {"agent": "", **values}
    return change_person(shop, person.id, values)


def _key_row(shop: Shop, person: Person) -> dict[str, str]:
    if person.agent:
        return {"agent": person.agent}
    try:
        return {"key": str(person.key.relative_to(shop.path))}
    except ValueError:
        return {"key": str(person.key)}


def people_form(folder: Path) -> BookForm[Person]:
    """The form of people.yaml in a shop's folder."""
    return BookForm(
        "people.yaml",
        "people",
        "person",
        PERSON_KEYS,
        lambda row: _made(row, folder),
        "Who works here. Keys are given and ended with `benchrun people` or on the screen, so that "
        "`signers` goes along.",
    )


def _made(row: BookRow, folder: Path) -> Person:
    name = row.take("name", check_name, "")
    row.text("name", needed=True)
    key, agent = row.text("key"), row.text("agent")
    if not key and not agent:
        row.fault(row.data.at, f"{name or 'this person'} has neither key nor agent: write one")
    roles = row.texts("roles")
    if any(not role or len(role) > _LONGEST_ROLE for role in roles):
        row.wrong("roles", f"roles: each is a word or two of at most {_LONGEST_ROLE} letters")
    return Person(
        id=row.take("id", read_id, slug(name)),
        name=name,
        roles=roles,
        key=folder / (Path(key).expanduser() if key.startswith("~/") else key),
        agent="" if key else agent,
        left=row.take("left", read_day, None),
    )


def decider(shop: Shop, name: str) -> str:
    """The id of who decides something on the command line: the only person, or the one named.

    Raises:
        BenchrunError: There is nobody of that id, or several to choose from.
    """
    people = read_people(shop)
    if not name and len(people) == 1:
        return people[0].id
    if any(person.id == name for person in people):
        return name
    known = ", ".join(person.id for person in people) or "nobody yet"
    raise BenchrunError(f"say who decides it with --by: {known}")
