"""The keys and people of a shop as its register gives them: who was known when, by which key."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.line import Line
from benchrun.record.signers import Signer, Signers
from benchrun.record.trouble import RecordBroken
from benchrun.record.wire import PublicKey

KEYS: Final = "keys"
"""The kind of a register's line that says what became of keys."""

PEOPLE: Final = "people"
"""The kind of a register's line that says who somebody is, and in which roles."""

FOUND, ADDED, ENDED, COMPROMISED = "found", "added", "ended", "compromised"
_CHANGES: Final = frozenset({FOUND, ADDED, ENDED, COMPROMISED})


@lean_dataclass(frozen=True, slots=True)
class KnownPerson:
    """A person as a line of the register gives them.

    Attributes:
        id: The name in logs.
        name: The full name.
        roles: What procedures may ask of them.
        left: The day on which they stopped working here, or empty.
        utc_ms: From when on this holds.
    """

    id: str
    name: str
    roles: frozenset[str]
    left: str
    utc_ms: int


@lean_dataclass(frozen=True, slots=True)
class KeyChange:
    """The word of a line of the register on a key."""

    n: int
    change: str
    utc_ms: int


class Roster:
    """Who was known to a shop at which time, from the lines of its register.

    Args:
        lines: The register's lines.
        name: What the register is called in messages.

    Raises:
        RecordBroken: A line lacks something.
    """

    def __init__(self, lines: Iterable[Line], name: str) -> None:
        self._keys: dict[tuple[str, str], list[KeyChange]] = {}
        self._people: dict[str, list[KnownPerson]] = {}
        for line in lines:
            if line.kind == KEYS:
                for row in _rows(line, "changes", name):
                    self._change(line, row, name)
            elif line.kind == PEOPLE:
                for row in _rows(line, "people", name):
                    self._known(line, row, name)

    def _change(self, line: Line, row: Mapping[str, Any], name: str) -> None:
        who, key, change = (row.get(part) for part in ("principal", "key", "change"))
        if not isinstance(who, str) or not isinstance(key, str) or change not in _CHANGES:
            raise RecordBroken.at(name, line.n, "each change must hold principal, key and change")
        self._keys.setdefault((who, key), []).append(KeyChange(line.n, change, line.utc_ms))

    def _known(self, line: Line, row: Mapping[str, Any], name: str) -> None:
        who, full, roles = row.get("person"), row.get("name"), row.get("roles")
        if not isinstance(who, str) or not isinstance(full, str) or not isinstance(roles, list):
            raise RecordBroken.at(name, line.n, "each person must hold person, name and roles")
        left = str(row.get("left", ""))
        known = KnownPerson(who, full, frozenset(map(str, roles)), left, line.utc_ms)
        self._people.setdefault(who, []).append(known)

    @property
    def keeps_keys(self) -> bool:
        """Whether it says anything of keys; a register of earlier programs does not."""
        return bool(self._keys)

    @property
    def keeps_people(self) -> bool:
        """Whether it says anything of people; a register of earlier programs does not."""
        return bool(self._people)

    @property
    def people(self) -> Mapping[str, KnownPerson]:
        """Everybody as they were given last."""
        return {who: rows[-1] for who, rows in self._people.items()}

    def person(self, who: str, utc_ms: int) -> KnownPerson | None:
        """Somebody as they were known at a time, or first; None for a stranger."""
        rows = self._people.get(who, [])
        at_that_time = [row for row in rows if row.utc_ms // 1000 <= utc_ms // 1000]
        return at_that_time[-1] if at_that_time else next(iter(rows), None)

    def says_of(self, principal: str, key: PublicKey) -> tuple[KeyChange, ...]:
        """The fate of a key, in order; empty for one that the register does not know."""
        return tuple(self._keys.get((principal, key.text), ()))

    def ended(self, principal: str, key: PublicKey, utc_ms: int) -> bool:
        """Whether a key had been ended before a time, or lost all trust at any."""
        return any(
            change.change == COMPROMISED
            or (change.change == ENDED and change.utc_ms // 1000 < utc_ms // 1000)
            for change in self.says_of(principal, key)
        )

    def differences(self, signers: Signers, utc_ms: int) -> list[str]:
        """Where a file of signers and the register do not agree on keys, in plain words."""
        if not self.keeps_keys:
            return []
        told = []
        for row in signers.signers:
            live = row.before is None or row.before > utc_ms
            if not self.says_of(row.principal, row.key):
                told.append(
                    f"the key {row.key.fingerprint} of {row.principal} is in signers, and no "
                    "entry of the register put it there"
                )
            elif live and self.ended(row.principal, row.key, utc_ms):
                told.append(
                    f"the key {row.key.fingerprint} of {row.principal} is good by signers, and "
                    "the register says that it was ended"
                )
        return told


def _rows(line: Line, key: str, name: str) -> list[Mapping[str, Any]]:
    rows = line.data.get(key)
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise RecordBroken.at(name, line.n, f"it must hold a list of {key}")
    return rows


def key_changes(before: Signers, after: Signers) -> list[dict[str, Any]]:
    """The changes of keys between two states of `signers`, as a register's line has them."""
    old = {(row.principal, row.key): row for row in before.signers}
    made = []
    for row in after.signers:
        earlier = old.get((row.principal, row.key))
        if earlier is None:
            made.append(_change(row, ADDED))
        elif row.before is not None and row.before != earlier.before:
            made.append(_change(row, ENDED))
    made += [
        {"principal": row.principal, "key": row.key.text, "change": COMPROMISED, "why": row.why}
        for row in after.compromised
        if row.key is not None and row not in before.compromised
    ]
    return made


def keys_found(signers: Signers) -> list[dict[str, Any]]:
    """The keys with which a register begins to keep keys that were there before it."""
    made = [_change(row, FOUND) for row in signers.signers]
    return made + key_changes(Signers(), Signers(signers.compromised))


def _change(row: Signer, change: str) -> dict[str, Any]:
    return {"principal": row.principal, "key": row.key.text, "change": change}
