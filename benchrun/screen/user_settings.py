"""A person's choices: keys of one's own, a command that an alarm runs, how long a key is open.

Keys may stand in `screen.yaml` of the shop and in the person's own; the own ones go first. A
command is taken from the person's own file alone: a shop's folder may come from somebody else.
"""

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.files import read_file
from benchrun.procedure.marked import Map
from benchrun.screen import keys
from benchrun.shop.book_row import BookFault, BookRow, map_of
from benchrun.shop.personal import PERSONAL_FILE, UNLOCKED, read_unlocked
from benchrun.text import shown

MEANS: Final[Mapping[str, str]] = {
    "do": keys.ENTER,
    "back": keys.BACK,
    "write": "*",
    "look up": "/",
    "choose parts": ".",
    "other work": "+",
    "work before": "-",
    "why": "0",
    "help": keys.HELP,
    "the same": keys.SAME,
    "first aid": keys.AID,
}
"""The acts that a key may be given, each with the key of the bench that does it."""

_KEYS: Final = ("keys", "alarm command", UNLOCKED)
_LEAVES: Final = frozenset({"f10", "ctrl+q", "ctrl+c"})
_MOST_WORDS: Final = 32


@lean_dataclass(frozen=True, slots=True)
class UserSettings:
    """A person's choices.

    Attributes:
        keys: What a key means, by its name.
        named: What each own key does, in words.
        command: What an alarm runs: a program and its arguments, or nothing.
        faults: What is wrong in the files, each with its place.
        unlocked_ms: How long a signing key stays unlocked; 0: not at all.
    """

    keys: Mapping[str, str] = field(default_factory=dict)
    named: Mapping[str, str] = field(default_factory=dict)
    command: tuple[str, ...] = ()
    faults: tuple[BookFault, ...] = ()
    unlocked_ms: int = 0


def read_user_settings(shop: Path, person: Path | None) -> UserSettings:
    """Read what was chosen; what is wrong is left out and told.

    Args:
        shop: The shop's folder.
        person: The person's own file, or None for none.
    """
    found = _read(shop / PERSONAL_FILE, command=False)
    if person is None:
        return found
    own = _read(person, command=True)
    return UserSettings(
        {**found.keys, **own.keys},
        {**found.named, **own.named},
        own.command,
        (*found.faults, *own.faults),
        own.unlocked_ms,
    )


def _read(path: Path, *, command: bool) -> UserSettings:
    if not path.is_file():
        return UserSettings()
    try:
        data, faults = map_of(read_file(path), path.name, _KEYS)
    except BenchrunError as error:
        return UserSettings(faults=(BookFault(path.name, 1, 1, error.message),))
    if data is None:
        return UserSettings(faults=faults)
    row = BookRow(path.name, data, _KEYS)
    named = _named(path.name, data, row)
    words = row.texts("alarm command")
    if words and not command:
        row.wrong("alarm command", "a command is taken from your own settings alone, not a shop's")
        words = ()
    if len(words) > _MOST_WORDS:
        row.wrong("alarm command", f"at most {_MOST_WORDS} words are taken")
        words = ()
    if UNLOCKED in data and not command:
        row.wrong(UNLOCKED, "this is taken from your own settings alone, not a shop's")
    unlocked = row.take(UNLOCKED, read_unlocked, 0) if command else 0
    meant = {key: MEANS[what] for key, what in named.items()}
    return UserSettings(meant, named, words, tuple(row.faults), unlocked)


def _named(file: str, data: Map, row: BookRow) -> dict[str, str]:
    """The act of each key; clashes and keys that must stay as they are become faults."""
    table = data.get("keys", "")
    if table == "":
        return {}
    if not isinstance(table, Map):
        row.wrong("keys", "keys: a map is needed here, such as {look up: f6}")
        return {}
    inner = BookRow(file, table, tuple(MEANS))
    found: dict[str, str] = {}
    for what in (act for act in MEANS if act in table):
        for text in inner.texts(what):
            key = text.casefold()
            why = _why_not(key) or _clash(found, key, what)
            if why:
                inner.wrong(what, why)
            else:
                found[key] = what
    row.gather(inner)
    return found


def _why_not(key: str) -> str:
    """Why a key cannot be given another meaning, or empty."""
    name = shown(key, 20)
    if key in _LEAVES:
        return f"{name} leaves the program and stays so: take another key"
    if key == keys.AID_KEY:
        return f"{name} shows first aid and stays so: take another key"
    if len(key) == 1:
        return f"{name} is typed with: take one that types nothing, such as f5 or ctrl+k"
    if not keys.arrives(key):
        return (
            f"{name} cannot be given away: take f1 to f12, ctrl and a letter, home, end or insert"
        )
    return ""


def _clash(found: Mapping[str, str], key: str, what: str) -> str:
    other = found.get(key)
    if other is None or other == what:
        return ""
    return f"{shown(key, 20)} is given to {other!r} already: {what!r} needs another key"
