"""The shop's register: a chained, sealed list of its runs with their heads, its keys and people.

Kept apart from the runs, it shows a run that vanished or was rolled back, and a key that came from
nowhere. Its lines have the form of a log's lines, with the kinds `opened`, `marked` (the head of a
run that goes on), `closed`, `keys` and `people`. Each holds the station's seal over itself, and
with `prev` over all before it: a line that is there is sealed, whatever the moment of a kill.
"""

import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from benchrun.errors import disk_said
from benchrun.moment import Moment
from benchrun.plain_file import open_regular
from benchrun.record.anchor import Anchor, keep_anchor, read_anchor
from benchrun.record.chain import FORMAT, ReadLog, read_log
from benchrun.record.earlier_register import EarlierRegisters, set_aside
from benchrun.record.findings import CheckFinding, Grade
from benchrun.record.glimpse import LOG_NAME, run_paths
from benchrun.record.line import MOST_BYTES, ZEROS, Line, encode
from benchrun.record.roster import KEYS, PEOPLE, Roster, key_changes, keys_found
from benchrun.record.signers import Signer, Signers, read_signers
from benchrun.record.sshsig import SEAL, sign_digest, verify_signature
from benchrun.record.trouble import BadSignature, NotKept, RecordBroken
from benchrun.record.wire import SigningKey
from benchrun.record.writer import RECOVERED, LogWriter
from benchrun.text import shown

REGISTER_NAME: Final = "register.jsonl"
_KINDS: Final = frozenset({"opened", "marked", "closed"})
DOUBT: Final = "doubt"
"""The kind of entry that tells what does not hold in what came before it."""

# Another window holds the register for as long as one line takes.
_WAIT_MS: Final = 5000
HEAD_DIGITS: Final = 16
"""How many digits a short head has."""

_GROUP: Final = 4


@dataclass(frozen=True, slots=True)
class RunState:
    """How far a run has come.

    Attributes:
        run: The run's id.
        n: The number of its last entry.
        head: SHA-256 (hex) of that entry's line.
    """

    run: str
    n: int
    head: str


@dataclass(frozen=True, slots=True)
class Mention:
    """The state of a run in one entry of the register.

    Attributes:
        n: Its number in the register.
        kind: `opened`, `marked` or `closed`.
        state: The run and its last entry then.
        file: The register that was set aside and says so; empty for this one.
    """

    n: int
    kind: str
    state: RunState
    file: str = ""

    @property
    def where(self) -> str:
        """The place of the mention, in words."""
        name = shown(self.file, 80) or "the shop's register"
        return f"entry {self.n} of {name}"


@dataclass(frozen=True, slots=True)
class RegisterDoubt:
    """An entry of the register that tells what does not hold in what came before it.

    Attributes:
        n: Its number.
        by: Who decided to go on, or the station where nobody did yet.
        utc: When.
        findings: What does not hold.
        reason: Why it was gone on with all the same; empty where nobody decided yet.
    """

    n: int
    by: str
    utc: str
    findings: tuple[str, ...]
    reason: str

    @property
    def words(self) -> str:
        """The doubt in one line."""
        what = shown("; ".join(self.findings), 600)
        where = f"entry {self.n} of the shop's register, of {shown(self.utc[:10], 20)}"
        if not self.reason:
            return f"{where}: {what}"
        return f"{where}: {shown(self.by, 80)} went on although {what}: {shown(self.reason, 200)}"


@dataclass(frozen=True, slots=True)
class StationSeal:
    """The seal of the lines of a register.

    Attributes:
        key: The station's key.
        who: The station's principal.
    """

    key: SigningKey
    who: str


class RegisterLog:
    """A register that was read and whose chain is whole.

    Args:
        log: Its lines.
        shop: The shop's folder.
        anchor: How far this machine had seen it before it was read; None where nothing says.

    Raises:
        RecordBroken: A line lacks something.
    """

    def __init__(self, log: ReadLog, shop: Path, anchor: Anchor | None = None) -> None:
        self.shop = shop
        self._anchor = anchor
        self._lost: tuple[str, ...] | None = None
        self.name = log.name
        self.lines: Sequence[Line] = log.lines
        self.head = log.head
        self.roster = Roster(log.lines, log.name)
        self._earlier = EarlierRegisters()
        for line in log.lines:
            if line.kind == DOUBT and "file" in line.data:
                self._earlier.add(shop, line.data)
        own = [_mention(line, log.name) for line in log.lines if line.kind in _KINDS]
        self.mentions = (*_earlier_mentions(self._earlier), *own)
        doubts = [_doubt(line, log.name) for line in log.lines if line.kind == DOUBT]
        self.doubts = (*_earlier_doubts(self._earlier), *doubts)
        self._of: dict[str, list[Mention]] = {}
        for mention in self.mentions:
            self._of.setdefault(mention.state.run, []).append(mention)
        self._places = {line.head: line.n for line in log.lines}

    @property
    def runs(self) -> tuple[str, ...]:
        """The runs that it names, in the order in which they were opened."""
        return tuple(self._of)

    @property
    def short_head(self) -> str:
        """The first digits of its head, in groups that go on a job card; empty without entries."""
        return short_head(self.head) if self.lines else ""

    def of(self, run: str) -> tuple[Mention, ...]:
        """Its mentions of a run, in order."""
        return tuple(self._of.get(run, ()))

    def knows_head(self, head: str) -> bool:
        """Whether the register ever ended with that head."""
        return head == ZEROS or head in self._places or head in self._earlier.heads

    def set_back(self) -> str:
        """Words for an entry that this machine saw and that is not there now; empty for none."""
        seen = self._anchor
        if seen is None or self._places.get(seen.head) == seen.n:
            return ""
        if seen.head in self._earlier.heads:
            return ""
        return _set_back_words(seen)

    def tells(self, finding: str) -> bool:
        """Whether a doubt of the register tells that already."""
        return any(finding in doubt.findings for doubt in self.doubts)

    def keep_seen(self, *, decided: bool = False) -> None:
        """Keep outside the shop how far it was seen, once all that it holds was found intact.

        Args:
            decided: Whether somebody decided to go on although this machine had seen more.
        """
        seen = self._anchor
        if not self.lines or (self.set_back() and not decided):
            return
        last = self.lines[-1]
        if seen is None or seen.head != last.head:
            self._anchor = Anchor(last.n, last.head, last.at.utc)
            keep_anchor(self.shop, self._anchor)

    def openings_lost(self, runs: Path) -> tuple[str, ...]:
        """Runs beside this register that were opened under a head that it no longer has.

        Args:
            runs: The folder of the runs; one that is not this shop's has none.
        """
        if runs.parent.resolve() != self.shop.resolve():
            return ()
        if self._lost is None:
            heads = {path.name: opening_head(path) for path in run_paths(runs)}
            self._lost = tuple(run for run, head in heads.items() if not self.knows_head(head))
        return self._lost

    def entry_of_head(self, text: str) -> Line | None:
        """The line whose short head was noted down; None where there is none.

        Args:
            text: The groups of a short head, or more of the digits, as somebody typed them.
        """
        digits = "".join(char for char in text.lower() if char.isalnum())
        if len(digits) < HEAD_DIGITS:
            return None
        return next((line for line in self.lines if line.head.startswith(digits)), None)

    def disagreements(
        self, run: str, heads: Mapping[int, str], *, to_the_end: bool = True
    ) -> list[str]:
        """Where the register and a run's log do not agree, in plain words.

        Args:
            run: The run's id.
            heads: The digest of each of the log's lines by its number.
            to_the_end: Whether these are all that it has; what lies behind damage may still be
                there.

        Returns:
            One line for each; empty when they agree or the register does not know the run.
        """
        told = []
        for mention in self._of.get(run, ()):
            n = mention.state.n
            head = heads.get(n)
            where = f"{mention.where} says it was {mention.kind}"
            if head is None and not to_the_end:
                continue
            if head is None:
                told.append(f"{where} with entry {n}, which the log no longer has")
            elif head != mention.state.head:
                told.append(f"{where} with another entry {n} than the log has")
        return told

    def findings(self, trusted: Signers | None) -> list[CheckFinding]:
        """Faults and doubts of the register itself: its seals, and what this machine saw of it."""
        set_back = self.set_back()
        told = [CheckFinding(None, set_back, Grade.FAULT)] if set_back else []
        told += [CheckFinding(None, text, Grade.FAULT) for text in self._earlier.faults]
        return self.seal_findings(trusted) + told

    def seal_findings(self, trusted: Signers | None) -> list[CheckFinding]:
        """Faults and doubts of its seals; a last seal that holds speaks for all before it."""
        first = next((line.n for line in self.lines if "sshsig" in line.data), None)
        if first is None:
            if not self.lines:
                return []
            return [
                CheckFinding(
                    None,
                    "the shop's register is not sealed, as an earlier program left it: nobody can "
                    "tell whether it was changed",
                    Grade.DOUBT,
                )
            ]
        bare = next((line for line in self.lines[first:] if "sshsig" not in line.data), None)
        line = bare or self.lines[-1]
        why = _seal_fault(line, trusted)
        if not why:
            return []
        return [CheckFinding(None, f"entry {line.n} of the shop's register {why}", Grade.FAULT)]


def _seal_fault(line: Line, trusted: Signers | None) -> str:
    """Why the seal of a register's line does not hold; empty when it does."""
    armoured, who = line.data.get("sshsig"), line.data.get("who")
    if not isinstance(armoured, str) or not isinstance(who, str):
        return "has no seal"
    data = {key: value for key, value in line.data.items() if key != "sshsig"}
    raw = encode(json.loads(line.raw) | {"data": data})
    try:
        key = verify_signature(armoured, SEAL, lambda algorithm: _digest(raw, algorithm))
    except BadSignature as error:
        return f"has a seal that does not hold: {error.message}"
    if trusted is None:
        return ""
    verdict = trusted.trusted(who, key, SEAL, line.utc_ms)
    if verdict.trusted or verdict.early:  # a clock that was set back says nothing against a key
        return ""
    return f"is sealed by {shown(who, 80)}'s key {key.fingerprint}, which {verdict.why}"


def opening_head(run: Path) -> str:
    """The register's head that the first line of a run gives; 64 zeros where none can be read."""
    try:
        with open_regular(run / LOG_NAME) as file:
            opened = json.loads(file.readline(MOST_BYTES))
        return str(opened["data"]["register_head"])
    except (OSError, ValueError, KeyError, TypeError):
        return ZEROS  # told where that run itself is checked


def _digest(raw: bytes, algorithm: str) -> bytes:
    return hashlib.new(algorithm, raw).digest()


def short_head(head: str) -> str:
    """The first digits of a register's head, in groups that go on a job card."""
    digits = head[:HEAD_DIGITS]
    return "-".join(digits[at : at + _GROUP] for at in range(0, HEAD_DIGITS, _GROUP))


class Register:
    """A shop's register.

    Args:
        shop: The shop's folder.
        seal: What seals the lines that are entered; None for one that is only read.
    """

    def __init__(self, shop: Path, seal: StationSeal | None = None) -> None:
        self.path = shop / REGISTER_NAME
        self._shop = shop
        self._seal = seal

    def read(self) -> RegisterLog:
        """Read it and prove its chain; one that is not there is empty.

        Raises:
            RecordBroken: It is damaged.
        """
        anchor = read_anchor(self._shop)  # first, as another window may enter more meanwhile
        if not self.path.exists():
            return RegisterLog(ReadLog(self.path.name, ()), self._shop, anchor)
        try:
            return RegisterLog(read_log(self.path), self._shop, anchor)
        except RecordBroken as error:
            raise _repairable(error) from None

    def head(self) -> str:
        """SHA-256 (hex) of its last line, 64 zeros when it is empty."""
        return self.read().head

    def enter(self, at: Moment, by: str, kind: str, state: RunState) -> str:
        """Enter a run's state.

        Args:
            at: When.
            by: Who.
            kind: `opened`, `marked` or `closed`.
            state: The run and its last line.

        Returns:
            The register's own head after it.

        Raises:
            Locked: Another window holds it for longer than a few seconds.
            NotKept: The disk refused.
            RecordBroken: It is damaged, or its last seal does not hold: nothing is sealed on it.
        """
        if kind not in _KINDS:
            raise ValueError(f"{kind} is not one of {', '.join(sorted(_KINDS))}")
        return self._enter(at, by, [(kind, {"run": state.run, "head": state.head, "n": state.n})])

    def enter_signers(self, at: Moment, by: str, before: Signers, after: Signers) -> None:
        """Enter what a change of the shop's signers changes, before the file is written.

        Raises:
            BenchrunError: As for `enter`.
        """
        changes = key_changes(before, after)
        self._enter(at, by, [(KEYS, {"changes": changes})] if changes else [])

    def enter_people(self, at: Moment, by: str, people: Iterable[Mapping[str, Any]]) -> None:
        """Enter people as they are from now on: `person`, `name`, `roles` and `left` of each.

        Raises:
            BenchrunError: As for `enter`.
        """
        self._enter(at, by, [(PEOPLE, {"people": [dict(person) for person in people]})])

    def enter_doubt(self, at: Moment, by: str, findings: Sequence[str], reason: str) -> None:
        """Enter somebody's decision to go on although something in the register does not hold.

        This machine takes the register from then on as it is.

        Raises:
            BenchrunError: As for `enter`.
        """
        doubt = {"findings": list(findings), "reason": reason}
        self._enter(at, by, [(DOUBT, doubt)], decided=True)

    def renew(
        self,
        at: Moment,
        by: str,
        findings: Sequence[str],
        reason: str,
        people: Iterable[Mapping[str, Any]],
    ) -> str:
        """Set a register aside that does not hold, and begin one that tells so.

        Args:
            at: When.
            by: Who decided it.
            findings: What does not hold.
            reason: What happened, in a few words.
            people: Everybody as `enter_people` takes them, as nobody is taken over.

        Returns:
            The name of the file that it was set aside as.

        Raises:
            BenchrunError: Another window writes it, or the disk refused; it is as it was.
        """
        seal = self._seal
        if seal is None:
            raise ValueError("a register that is only read takes no entries")
        old = set_aside(self.path)
        try:
            with old.draft() as writer:
                seen = read_anchor(self._shop)
                gone = [_set_back_words(seen)] if seen and seen.head not in old.heads else []
                doubt = {"findings": [*findings, *gone], "reason": reason, **old.as_data()}
                _append(writer, seal, at, by, DOUBT, doubt)
                keys = keys_found(read_signers(self._shop / "signers"))
                _append(writer, seal, at, by, KEYS, {"changes": keys})
                _append(writer, seal, at, by, PEOPLE, {"people": [dict(one) for one in people]})
                old.follow(writer)
                keep_anchor(self._shop, Anchor(writer.n - 1, writer.head, at.utc))
        except OSError as error:
            raise NotKept(
                f"another register cannot be begun: {disk_said(error)}", retry=True
            ) from None
        finally:
            os.close(old.lock)
        return old.file

    def _enter(
        self,
        at: Moment,
        by: str,
        rows: Iterable[tuple[str, dict[str, Any]]],
        *,
        decided: bool = False,
    ) -> str:
        seal = self._seal
        if seal is None:
            raise ValueError("a register that is only read takes no entries")
        with self._writer() as writer:
            found = RegisterLog(writer.take_found(), self._shop, read_anchor(self._shop))
            set_back = found.set_back()
            signers = read_signers(self._shop / "signers")
            for finding in found.seal_findings(_with_own(signers, seal)):
                if finding.grade is Grade.FAULT:
                    raise _repairable(RecordBroken(f"{finding.text}: nothing is sealed over it"))
            if writer.set_aside:
                files = [aside.as_data() for aside in writer.set_aside]
                _append(writer, seal, at, by, RECOVERED, {"files": files})
            if not found.roster.keeps_keys and signers.rows:
                _append(writer, seal, at, by, KEYS, {"changes": keys_found(signers)})
            if set_back and not decided and not found.tells(set_back):
                _append(writer, seal, at, by, DOUBT, {"findings": [set_back], "reason": ""})
            for kind, data in rows:
                _append(writer, seal, at, by, kind, data)
            if writer.n and (decided or not set_back):
                keep_anchor(self._shop, Anchor(writer.n - 1, writer.head, at.utc))
            return writer.head

    def _writer(self) -> LogWriter:
        if not self.path.exists():
            # Another window may start it at this moment; then it is opened below.
            with suppress(NotKept):
                return LogWriter.create(self.path.parent, self.path.name)
        if not self.path.exists():
            raise NotKept(
                f"{shown(str(self.path), 200)} cannot be started: can its folder be written?",
                retry=False,
            )
        try:
            return LogWriter.open(self.path.parent, self.path.name, wait_ms=_WAIT_MS)
        except RecordBroken as error:
            raise _repairable(error) from None


def _set_back_words(seen: Anchor) -> str:
    return (
        f"this machine saw entry {seen.n} of the shop's register, head {short_head(seen.head)}, of "
        f"{shown(seen.utc[:10], 20)}, and the register does not have it now: it was cut or made "
        "anew, or an older copy of the shop was put back"
    )


def _repairable(error: RecordBroken) -> RecordBroken:
    """The same trouble with a register, and the way out of it."""
    told = RecordBroken(
        f"{error.message}. benchrun shop repair --why TEXT sets the register aside and begins "
        "another",
        n=error.n,
        found=error.found,
    )
    told.exit_code = error.exit_code
    return told


def _earlier_mentions(earlier: EarlierRegisters) -> Iterator[Mention]:
    for file, row in earlier.rows:
        run, head, n = (row["data"].get(key) for key in ("run", "head", "n"))
        whole = isinstance(run, str) and isinstance(head, str) and type(n) is int
        if row["kind"] in _KINDS and whole and type(row.get("n")) is int:
            yield Mention(row["n"], row["kind"], RunState(run, n, head), file)


def _earlier_doubts(earlier: EarlierRegisters) -> Iterator[RegisterDoubt]:
    for _, row in earlier.rows:
        findings, reason = row["data"].get("findings"), row["data"].get("reason")
        at = row.get("at")
        if row["kind"] == DOUBT and isinstance(findings, list) and isinstance(at, dict):
            utc, texts = str(at.get("utc", "")), tuple(map(str, findings))
            yield RegisterDoubt(int(row.get("n", 0)), str(row.get("by")), utc, texts, str(reason))


def _with_own(signers: Signers, seal: StationSeal) -> Signers:
    """The signers and this station's own key, which a shop that is being made lacks yet."""
    known = any(row.key == seal.key.public for row in signers.signers)
    if known or any(row.fingerprint == seal.key.public.fingerprint for row in signers.compromised):
        return signers
    return Signers((*signers.rows, Signer(seal.who, seal.key.public, (SEAL,))))


def _append(
    writer: LogWriter, seal: StationSeal, at: Moment, by: str, kind: str, data: dict[str, Any]
) -> None:
    """Write one line that holds the station's seal over itself."""
    data = {**data, "who": seal.who, **({} if writer.n else {"format": FORMAT})}
    line = {"n": writer.n, "at": at.as_data(), "by": by, "kind": kind, "data": data}
    raw = encode({**line, "prev": writer.head})
    signature = sign_digest(seal.key, SEAL, _digest(raw, "sha512"))
    writer.append(at, by, kind, {**data, "sshsig": signature})


def _doubt(line: Line, name: str) -> RegisterDoubt:
    findings, reason = line.data.get("findings"), line.data.get("reason")
    if not isinstance(findings, list) or not isinstance(reason, str):
        raise RecordBroken.at(name, line.n, "it must hold findings and reason")
    return RegisterDoubt(line.n, line.by, line.at.utc, tuple(map(str, findings)), reason)


def _mention(line: Line, name: str) -> Mention:
    run, head, n = (line.data.get(key) for key in ("run", "head", "n"))
    if not isinstance(run, str) or not isinstance(head, str) or type(n) is not int:
        raise RecordBroken.at(name, line.n, "it must hold run, head and n")
    return Mention(line.n, line.kind, RunState(run, n, head))
