"""One person behind a signature: of the line, in the words, principal, key and role are the same.

Writing asks this before anything is stated, checking asks it of every signature and seal.
"""

from collections.abc import Mapping
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.findings import CheckFinding, Grade
from benchrun.record.roster import KnownPerson, Roster
from benchrun.record.signers import Signers
from benchrun.record.wire import PublicKey
from benchrun.text import shown

STATION: Final = "station"
"""The name by which the station enters and seals."""


def person_of(principal: str) -> str:
    """The person's id in a principal `name@shop`."""
    return principal.partition("@")[0]


class Identities:
    """The people of a run: as its first entry names them, and as the shop's register does.

    Args:
        opened: The data of entry 0; its `people` give name and roles by id. Older logs lack them.
        roster: What the shop's register says; None where it is not at hand.
    """

    def __init__(self, opened: Mapping[str, Any], roster: Roster | None) -> None:
        people = opened.get("people")
        self._people = people if isinstance(people, dict) else {}
        self._roster = roster if roster is not None and roster.keeps_people else None

    @property
    def asked(self) -> bool:
        """Whether anything says who people are."""
        return bool(self._people) or self._roster is not None

    @property
    def complete(self) -> bool:
        """Whether somebody whom nothing names is a stranger, as the register would know them."""
        return self._roster is not None

    def knows(self, by: str) -> bool:
        """Whether somebody is named at all."""
        who = person_of(by)
        if who == STATION or by in self._people:
            return True
        return self._roster is not None and self._roster.person(who, 0) is not None

    def registered(self, by: str, utc_ms: int) -> KnownPerson | None:
        """Somebody as the register knows them at a time; None where it does not."""
        return self._roster.person(person_of(by), utc_ms) if self._roster else None

    def name(self, by: str, utc_ms: int) -> str:
        """Somebody's full name at a time, empty where nothing gives it."""
        known = self.registered(by, utc_ms)
        row = self._people.get(by)
        if isinstance(row, dict):
            return str(row.get("name", ""))
        return known.name if known is not None else ""

    def names(self, by: str, utc_ms: int) -> frozenset[str]:
        """The full names that somebody may state something in, as a name may change."""
        known = self.registered(by, utc_ms)
        told = {self.name(by, utc_ms), known.name if known is not None else ""}
        return frozenset(told - {""})

    def roles(self, by: str, utc_ms: int) -> frozenset[str]:
        """Somebody's roles, by entry 0 or by the register at a time."""
        row = self._people.get(by)
        roles = row.get("roles", ()) if isinstance(row, dict) else ()
        return frozenset(map(str, roles)) | (self.register_roles(by, utc_ms) or frozenset())

    def register_roles(self, by: str, utc_ms: int) -> frozenset[str] | None:
        """Somebody's roles at a time by the register alone; None where it does not say."""
        known = self.registered(by, utc_ms)
        return known.roles if known is not None else None


@lean_dataclass(frozen=True, slots=True)
class Claim:
    """A signature or seal, and whose it is said to be.

    Attributes:
        n: The number of its line.
        by: Who entered the line.
        who: The principal that it gives.
        key: The key that it was made with.
        namespace: What it is for.
        utc_ms: When it was made.
        stated_by: Who entered the line that is signed; empty for a seal.
        words: What that line states, in the signer's full name; empty where it states nothing.
        clock_lost: Whether the clock was not in step, so that a key's first second says nothing.
    """

    n: int
    by: str
    who: str
    key: PublicKey
    namespace: str
    utc_ms: int
    stated_by: str = ""
    words: str = ""
    clock_lost: bool = False


def one_person(claim: Claim, people: Identities) -> list[CheckFinding]:
    """Words against one person: in the line, the line signed, the words and the principal."""
    told: list[CheckFinding] = []
    by, who = shown(claim.by, 80), shown(claim.who, 80)
    if claim.by not in (claim.who, person_of(claim.who)):
        told.append(_fault(claim, f"it was entered by {by} and signed as {who}"))
    if claim.stated_by and claim.stated_by != claim.by:
        stated = shown(claim.stated_by, 80)
        told.append(_fault(claim, f"{stated} stated what {by} signed in the next entry"))
    if claim.words and people.asked:
        names = people.names(claim.by, claim.utc_ms)
        if not names:
            text = f"nothing says in which name {by} signs: the words give one that is not known"
            told.append(CheckFinding(claim.n, text, Grade.DOUBT))
        elif not any(claim.words.startswith(f"{name}: ") for name in names):
            stated = shown(claim.words.partition(":")[0], 80)
            told.append(
                _fault(
                    claim,
                    f"the words are {stated}'s and the signature is that of "
                    f"{shown(min(names), 80)}",
                )
            )
    return told


def key_findings(
    claim: Claim, *, kept: Signers | None, trusted: Signers | None, roster: Roster | None
) -> list[CheckFinding]:
    """Words against a key: by the run's signers, by the shop's, and by its register.

    Args:
        claim: The signature.
        kept: The signers in the run's folder; None where they are still to be written.
        trusted: The signers that the shop trusts; None when they are not at hand.
        roster: What the shop's register says of keys; None when it is not at hand.
    """
    told: list[CheckFinding] = []
    name = f"{shown(claim.who, 80)}'s key {claim.key.fingerprint}"
    for signers, whose in ((kept, "run's own"), (trusted, "shop's")):
        if signers is None:
            continue
        verdict = signers.trusted(claim.who, claim.key, claim.namespace, claim.utc_ms)
        if verdict.trusted:
            continue
        if verdict.early and claim.clock_lost:
            # A clock that lost its time, or was set back, says nothing against the key: an
            # earlier line of the chain was made within its time.
            told.append(_doubt(claim, f"{name} {verdict.why}, but the clock was not in step"))
        elif verdict.known or signers is kept or signers.of(claim.who):
            told.append(_fault(claim, f"{name} {verdict.why} by the {whose} signers"))
            return told
        else:
            text = (
                f"{name} is unknown to the shop's own signers: it proves that the log was not "
                "changed, not who made it"
            )
            told.append(_doubt(claim, text))
    if trusted is not None and trusted.of(claim.who):
        told += _by_register(claim, name, roster)
        told += _two_live(claim, trusted)
    return told


def _by_register(claim: Claim, name: str, roster: Roster | None) -> list[CheckFinding]:
    if roster is None or not roster.keeps_keys:
        return []  # a register of earlier programs says nothing of keys
    if not roster.says_of(claim.who, claim.key):
        text = f"{name} came from nowhere: the shop's signers have it, its register does not"
        return [_doubt(claim, text)]
    if roster.ended(claim.who, claim.key, claim.utc_ms):
        return [_fault(claim, f"{name} had been ended by the shop's register")]
    return []


def _two_live(claim: Claim, trusted: Signers) -> list[CheckFinding]:
    at = claim.utc_ms // 1000 * 1000
    live = {
        row.key
        for row in trusted.of(claim.who)
        if (not row.namespaces or claim.namespace in row.namespaces)
        and (row.after is None or row.after < at)
        and (row.before is None or row.before > at)
    }
    if len(live) < 2:
        return []
    text = f"{shown(claim.who, 80)} had {len(live)} keys that were good at once"
    return [_doubt(claim, text)]


def _fault(claim: Claim, text: str) -> CheckFinding:
    return CheckFinding(claim.n, text, Grade.FAULT)


def _doubt(claim: Claim, text: str) -> CheckFinding:
    return CheckFinding(claim.n, text, Grade.DOUBT)
