"""Who may sign, in OpenSSH's allowed-signers format (ssh-keygen(1), ALLOWED SIGNERS).

A line names one principal and one key, what it may sign (`namespaces=`) and from when to when.
Principals and namespaces are taken literally: lines with patterns are refused, since a `*` would
let anyone's key stand for anyone. A compromised key becomes a comment line, which stock tools
pass over and this reader remembers.
"""

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import read_plain
from benchrun.record.durable import write_file
from benchrun.record.wire import PublicKey
from benchrun.text import shown, slug, unfit

_PRINCIPAL: Final = re.compile(r"[a-z0-9._+-]+@[a-z0-9._-]+", re.ASCII | re.IGNORECASE)
_NAMESPACE: Final = re.compile(r"[a-z0-9._-]+(@[a-z0-9._-]+)?", re.ASCII | re.IGNORECASE)
_OPTION: Final = re.compile(r'([a-z-]+)(?:="([^"]*)")?(?:,|$)', re.ASCII | re.IGNORECASE)
_STAMP: Final = re.compile(r"\d{8}(?:\d{4}(?:\d{2})?)?Z", re.ASCII)
_FINGERPRINT: Final = re.compile(
    r"# compromised (\S+) (\S+) (SHA256:[A-Za-z0-9+/]{43})(?: (.*))?", re.ASCII
)
_COMPROMISED: Final = re.compile(r"# compromised (\S+) (\S+) (\S+ \S+)(?: (.*))?", re.ASCII)


@lean_dataclass(frozen=True, slots=True)
class Signer:
    """One line: a principal's key and what it is good for.

    Attributes:
        principal: Whose it is, `name@shop`.
        key: The public key.
        namespaces: What it may sign; empty for anything.
        after: First second it is good for (milliseconds since 1970), None for always.
        before: Last second it is good for, None for ever.
        comment: What stands after the key.
    """

    principal: str
    key: PublicKey
    namespaces: tuple[str, ...] = ()
    after: int | None = None
    before: int | None = None
    comment: str = ""

    @property
    def text(self) -> str:
        """The line, without its LF."""
        options = []
        if self.namespaces:
            options.append(f'namespaces="{",".join(self.namespaces)}"')
        if self.after is not None:
            options.append(f'valid-after="{_stamp(self.after)}"')
        if self.before is not None:
            options.append(f'valid-before="{_stamp(self.before)}"')
        parts = [self.principal, ",".join(options), self.key.text, self.comment]
        return " ".join(part for part in parts if part)

    def covers(self, at_ms: int) -> bool:
        """Whether the key was good at a time, both ends counted in as the stock tool does."""
        second = at_ms // 1000 * 1000
        return (self.after is None or second >= self.after) and (
            self.before is None or second <= self.before
        )


@lean_dataclass(frozen=True, slots=True)
class Compromised:
    """A key that is trusted no longer, for no time.

    Attributes:
        utc: When that was entered, as text.
        principal: Whose it was.
        key: The public key; None where a person noted its fingerprint alone.
        why: What happened, in a few words.
        noted: The fingerprint that was noted instead of the key.
    """

    utc: str
    principal: str
    key: PublicKey | None
    why: str = ""
    noted: str = ""

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the key."""
        return self.noted if self.key is None else self.key.fingerprint

    @property
    def text(self) -> str:
        """The comment line, without its LF."""
        key = self.noted if self.key is None else self.key.text
        return f"# compromised {self.utc} {self.principal} {key} {self.why}".rstrip()


@lean_dataclass(frozen=True, slots=True)
class SignerVerdict:
    """Whether a key is trusted for something.

    Attributes:
        trusted: Whether it is.
        why: Why not, in words that continue "the key"; empty when trusted.
        known: Whether principal and key stand in the file together at all.
        compromised: Whether the key is on record as compromised.
        early: Whether nothing is amiss but that the time lies before the key's first second.
    """

    trusted: bool
    why: str = ""
    known: bool = True
    compromised: bool = False
    early: bool = False


Row = Signer | Compromised | str
"""A line of the file: a signer, a compromised key, or a comment or blank line as it stands."""


@lean_dataclass(frozen=True, slots=True)
class Signers:
    """A whole file of signers; changing it gives another one."""

    rows: tuple[Row, ...] = ()

    @property
    def signers(self) -> tuple[Signer, ...]:
        """The lines that name a signer."""
        return tuple(row for row in self.rows if isinstance(row, Signer))

    @property
    def compromised(self) -> tuple[Compromised, ...]:
        """The keys on record as compromised."""
        return tuple(row for row in self.rows if isinstance(row, Compromised))

    @property
    def text(self) -> str:
        """The file."""
        return "".join(f"{row if isinstance(row, str) else row.text}\n" for row in self.rows)

    def of(self, principal: str) -> tuple[Signer, ...]:
        """All keys of a principal, retired ones included."""
        return tuple(signer for signer in self.signers if signer.principal == principal)

    def add(self, signer: Signer) -> "Signers":
        """Add a signer.

        Raises:
            BenchrunError: The line would not be sound, is there already, or the key is on record
                as compromised.
        """
        _check(signer)
        signer = replace(signer, after=_second(signer.after), before=_second(signer.before))
        if self._is_compromised(signer.key):
            raise BenchrunError(
                f"the key {signer.key.fingerprint} is on record as compromised: make a new one"
            )
        for other in self.signers:
            if other.key == signer.key and other.principal != signer.principal:
                raise BenchrunError(
                    f"the key {signer.key.fingerprint} belongs to {other.principal} already"
                )
        if signer in self.signers:
            raise BenchrunError(f"{signer.principal} has that key already")
        return Signers((*self.rows, signer))

    def retire(self, principal: str, key: PublicKey, at_ms: int) -> "Signers":
        """End a key: what it signed until then still verifies, nothing after does.

        Raises:
            BenchrunError: The principal has no such key, or it began later than that.
        """
        self._demand(principal, key)
        for row in self.signers:
            late = row.after is not None and row.after > at_ms
            if row.principal == principal and row.key == key and late:
                raise BenchrunError("that key begins only later: remove it instead of ending it")
        end = at_ms // 1000 * 1000

        def ended(row: Row) -> Row:
            if not isinstance(row, Signer) or (row.principal, row.key) != (principal, key):
                return row
            return replace(row, before=end if row.before is None else min(end, row.before))

        return Signers(tuple(ended(row) for row in self.rows))

    def withdraw(self, principal: str, key: PublicKey, at_ms: int, why: str = "") -> "Signers":
        """Take all trust from a compromised key, for what it signed before as well.

        Args:
            principal: Whose it is.
            key: Which.
            at_ms: When this is entered.
            why: What happened, in a few words on one line.

        Raises:
            BenchrunError: The principal has no such key, or the reason is not fit to be kept.
        """
        self._demand(principal, key)
        if (found := unfit(why)) is not None:
            raise BenchrunError(f"the reason holds {found}")
        note = Compromised(_utc(at_ms), principal, key, why.strip())
        rows: list[Row] = [r for r in self.rows if not (isinstance(r, Signer) and r.key == key)]
        return Signers((*rows, note))

    def _is_compromised(self, key: PublicKey) -> bool:
        rows = self.compromised
        return bool(rows) and any(row.fingerprint == key.fingerprint for row in rows)

    def seals_no_more(self, principal: str, key: PublicKey, at_ms: int) -> str:
        """Why a key must not make another signature, in words that continue "the key"; or empty.

        Stricter than `trusted`: in the second in which it was ended a key makes none any more.
        """
        if self._is_compromised(key):
            return "is on record as compromised"
        ends = [row.before for row in self.of(principal) if row.key == key]
        if not ends or any(end is None or end > at_ms for end in ends):
            return ""  # one that is not known is another matter
        return "has ended"

    def _demand(self, principal: str, key: PublicKey) -> None:
        if not any(signer.key == key for signer in self.of(principal)):
            raise BenchrunError(f"{shown(principal, 80)} has no key {key.fingerprint}")

    def trusted(self, principal: str, key: PublicKey, namespace: str, at_ms: int) -> SignerVerdict:
        """Judge whether a key stands for a principal, for one purpose, at one time.

        Args:
            principal: Who is said to have signed.
            key: What the signature was made with.
            namespace: What the signature is for.
            at_ms: When it was made, milliseconds since 1970.
        """
        if self._is_compromised(key):
            return SignerVerdict(False, "is on record as compromised", compromised=True)
        mine = [signer for signer in self.of(principal) if signer.key == key]
        if not mine:
            return SignerVerdict(False, "is not one of theirs", known=False)
        fit = [row for row in mine if not row.namespaces or namespace in row.namespaces]
        if not fit:
            return SignerVerdict(False, f"may not sign for {namespace}")
        if any(row.covers(at_ms) for row in fit):
            return SignerVerdict(True)
        begins = [row.after for row in fit if row.after is not None and row.after > at_ms]
        if begins:
            return SignerVerdict(False, f"is good only from {_utc(min(begins))}", early=True)
        ends = [row.before for row in fit if row.before is not None]
        return SignerVerdict(False, f"was good only until {_utc(max(ends))}")


def principal_of(name: str, shop: str) -> str:
    """Make the principal of a person or of the `station`: `name@shop` in plain letters."""
    return f"{slug(name)}@{slug(shop, 'shop')}"


def _check(signer: Signer) -> None:
    if _PRINCIPAL.fullmatch(signer.principal) is None:
        raise BenchrunError(
            f"{shown(signer.principal, 80)!r} is no plain name@shop; patterns are not accepted"
        )
    for namespace in signer.namespaces:
        if _NAMESPACE.fullmatch(namespace) is None:
            raise BenchrunError(f"the namespace {shown(namespace, 80)!r} is no plain word")
    if (found := unfit(signer.comment)) is not None:
        raise BenchrunError(f"the comment of {signer.principal} holds {found}")


def parse_signers(text: str, name: str = "signers") -> Signers:
    """Read a file of signers.

    Args:
        text: The file.
        name: What it is called in messages.

    Raises:
        BenchrunError: A line is not sound; says which.
    """
    rows: list[Row] = []
    for number, line in enumerate(text.split("\n")[: -1 if text.endswith("\n") else None], 1):
        try:
            rows.append(_row(line))
        except BenchrunError as error:
            raise BenchrunError(f"{shown(name, 200)} line {number}: {error.message}") from None
    return Signers(tuple(rows) if text else ())


def _row(line: str) -> Row:
    if line.startswith("# compromised"):
        noted = _FINGERPRINT.fullmatch(line)
        if noted is not None:
            return Compromised(noted[1], noted[2], None, noted[4] or "", noted[3])
        matched = _COMPROMISED.fullmatch(line)
        if matched is None:
            raise BenchrunError(
                "a compromised key is noted as: # compromised TIME WHO KIND KEY, or with "
                "SHA256:... in place of kind and key"
            )
        key = PublicKey.from_text(matched[3])
        return Compromised(matched[1], matched[2], key, matched[4] or "")
    if not line.strip() or line.startswith("#"):
        return line
    who, _, rest = line.strip().partition(" ")
    options: dict[str, str] = {}
    if not rest.lstrip().startswith(("ssh-", "sk-", "ecdsa-")):
        given, rest = _split_options(rest.lstrip())
        options = _options(given)
    signer = Signer(
        who,
        PublicKey.from_text(rest),
        tuple(part for part in options.get("namespaces", "").split(",") if part),
        _time(options.get("valid-after")),
        _time(options.get("valid-before")),
        " ".join(rest.split(None, 2)[2:]),
    )
    _check(signer)
    return signer


def _split_options(text: str) -> tuple[str, str]:
    """Cut at the first space that is not inside quotes."""
    quoted = False
    for at, char in enumerate(text):
        if char == '"':
            quoted = not quoted
        elif char == " " and not quoted:
            return text[:at], text[at + 1 :]
    raise BenchrunError("there is no key")


def _options(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    at = 0
    while at < len(text):
        matched = _OPTION.match(text, at)
        if matched is None:
            raise BenchrunError(f"the options {shown(text, 80)!r} make no sense")
        name = matched[1].lower()
        if name not in {"namespaces", "valid-after", "valid-before"} or not matched[2]:
            raise BenchrunError(f"the option {shown(matched[0], 40)!r} is not accepted")
        if name in found:
            raise BenchrunError(f"the option {name} is given twice")
        found[name] = matched[2]
        at = matched.end()
    return found


def _time(stamp: str | None) -> int | None:
    """Read a time of the file, milliseconds since 1970."""
    if stamp is None:
        return None
    if _STAMP.fullmatch(stamp) is None:
        raise BenchrunError(f"{shown(stamp, 40)!r} must be a time in UTC like 20261125140218Z")
    form = {9: "%Y%m%dZ", 13: "%Y%m%d%H%MZ", 15: "%Y%m%d%H%M%SZ"}[len(stamp)]
    try:
        when = dt.datetime.strptime(stamp, form).replace(tzinfo=dt.UTC)
    except ValueError:
        raise BenchrunError(f"{stamp!r} is no time") from None
    return int(when.timestamp()) * 1000


def _second(at_ms: int | None) -> int | None:
    return None if at_ms is None else at_ms // 1000 * 1000


def _stamp(at_ms: int) -> str:
    return f"{dt.datetime.fromtimestamp(at_ms // 1000, dt.UTC):%Y%m%d%H%M%SZ}"


def _utc(at_ms: int) -> str:
    return f"{dt.datetime.fromtimestamp(at_ms // 1000, dt.UTC):%Y-%m-%dT%H:%M:%SZ}"


def read_signers(path: Path) -> Signers:
    """Read a file of signers; one that is not there is empty.

    Raises:
        BenchrunError: It cannot be read, or a line is not sound.
    """
    try:
        text = read_plain(path).decode("utf-8")
    except FileNotFoundError:
        return Signers()
    except (OSError, UnicodeDecodeError) as error:
        said = disk_said(error) if isinstance(error, OSError) else "it is not UTF-8"
        raise BenchrunError(f"{shown(str(path), 200)} cannot be read: {said}") from None
    return parse_signers(text, path.name)


def write_signers(path: Path, signers: Signers) -> None:
    """Write a file of signers in full or not at all.

    Raises:
        NotKept: The disk refused.
    """
    write_file(path, signers.text.encode())
