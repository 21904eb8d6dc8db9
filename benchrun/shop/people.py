"""Who works in the shop: people.yaml, read and added to by hand or by the program."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shop.folder import Shop
from benchrun.text import shown, slug, unfit

ROLES: Final = ("restorer", "checker")
_LONGEST: Final = 60
_HEAD: Final = """\
# Who works here. `key` is the file of the private key, from this folder or from the root.
# Roles are the words that procedures use, such as restorer and checker.
people:
"""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works in the shop.

    Attributes:
        id: The name in the log, plain letters.
        name: The full name.
        roles: What procedures may ask for.
        key: The file of the private key.
    """

    id: str
    name: str
    roles: tuple[str, ...]
    key: Path


def read_people(shop: Shop) -> tuple[Person, ...]:
    """The people of a shop, in the order of the file.

    Raises:
        BenchrunError: The file is damaged; says where.
    """
    path = shop.path / "people.yaml"
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise BenchrunError(f"{shown(str(path), 200)} cannot be read: {error.strerror}") from None
    return tuple(_person(shop, path, row) for row in _rows(path, content))


def _rows(path: Path, content: bytes) -> list[dict[str, object]]:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    try:
        data = YAML(typ="safe", pure=True).load(content.decode("utf-8"))
    except MarkedYAMLError as error:
        mark = error.problem_mark
        place = f":{mark.line + 1}:{mark.column + 1}" if mark else ""
        raise BenchrunError(f"{shown(str(path), 200)}{place}: {error.problem}") from None
    except (YAMLError, UnicodeDecodeError, ValueError) as error:
        raise BenchrunError(f"{shown(str(path), 200)}: {shown(str(error), 200)}") from None
    rows = data.get("people") if isinstance(data, dict) else None
    if rows is None:
        return []
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise BenchrunError(f"{shown(str(path), 200)}: `people` must be a list of people")
    return rows


def _person(shop: Shop, path: Path, row: dict[str, object]) -> Person:
    name, key, roles = row.get("name"), row.get("key"), row.get("roles", [])
    if not isinstance(name, str) or not isinstance(key, str) or not isinstance(roles, list):
        raise BenchrunError(
            f"{shown(str(path), 200)}: each of the people needs name, key and a list of roles"
        )
    check_name(name)
    given = row.get("id", slug(name))
    return Person(
        str(given), name, tuple(str(role) for role in roles), (shop.path / key).expanduser()
    )


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


def add_person(shop: Shop, person: Person) -> None:
    """Add somebody to the file; what is in it stays as it is.

    Raises:
        BenchrunError: The file cannot be written, or the id is taken.
    """
    if any(one.id == person.id for one in read_people(shop)):
        raise BenchrunError(f"there is somebody called {person.id} already: give another name")
    path = shop.path / "people.yaml"
    try:
        key = person.key.relative_to(shop.path)
    except ValueError:
        key = person.key
    roles = ", ".join(person.roles)
    row = f"  - id: {person.id}\n    name: {_quoted(person.name)}\n    roles: [{roles}]\n"
    row += f"    key: {_quoted(str(key))}\n"
    try:
        before = path.read_text("utf-8") if path.exists() else _HEAD
        path.write_text(before.rstrip("\n") + "\n" + row, "utf-8")
    except OSError as error:
        raise BenchrunError(
            f"{shown(str(path), 200)} cannot be written: {error.strerror}"
        ) from None


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
