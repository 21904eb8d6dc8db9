"""The shop's register as it is read: its runs and their heads, its keys and people, its seals.

Kept apart from the runs, it shows a run that vanished or was rolled back, and a key that came from
nowhere. Its lines have the form of a log's lines, with the kinds `opened`, `marked` (the head of a
run that goes on), `closed`, `keys` and `people`.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.record.anchor import Anchor, keep_anchor
from benchrun.record.chain import ReadLog
from benchrun.record.earlier_register import EarlierRegisters
from benchrun.record.findings import CheckFinding, Grade
from benchrun.record.glimpse import LOG_NAME, run_paths
from benchrun.record.line import MOST_BYTES, ZEROS, Line, encode
from benchrun.record.roster import Roster
from benchrun.record.signers import Signers
from benchrun.record.sshsig import SEAL, verify_signature
from benchrun.record.trouble import BadSignature, RecordBroken
from benchrun.text import shown

REGISTER_NAME: Final = "register.jsonl"
RUN_KINDS: Final = frozenset({"opened", "marked", "closed"})
"""The kinds of entry that say how far a run has come."""

DOUBT: Final = "doubt"
"""The kind of entry that tells what does not hold in what came before it."""

HEAD_DIGITS: Final = 16
"""How many digits a short head has."""

_GROUP: Final = 4


@lean_dataclass(frozen=True, slots=True)
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


@lean_dataclass(frozen=True, slots=True)
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


@lean_dataclass(frozen=True, slots=True)
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
        self._sealed: tuple[Signers | None, list[CheckFinding]] | None = None
        self.name = log.name
        self.lines: Sequence[Line] = log.lines
        self.head = log.head
        self.roster = Roster(log.lines, log.name)
        self._earlier = EarlierRegisters()
        for line in log.lines:
            if line.kind == DOUBT and "file" in line.data:
                self._earlier.add(shop, line.data)
        own = [_mention(line, log.name) for line in log.lines if line.kind in RUN_KINDS]
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
        return set_back_words(seen)

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
        if self._sealed is None or self._sealed[0] is not trusted:  # asked again for every run
            self._sealed = (trusted, self._judge_seals(trusted))
        return list(self._sealed[1])

    def _judge_seals(self, trusted: Signers | None) -> list[CheckFinding]:
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
        key = verify_signature(armoured, SEAL, lambda algorithm: digest_of(raw, algorithm))
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


def digest_of(raw: bytes, algorithm: str) -> bytes:
    """The digest of a line without its seal, which is what the seal signs."""
    return hashlib.new(algorithm, raw).digest()


def short_head(head: str) -> str:
    """The first digits of a register's head, in groups that go on a job card."""
    digits = head[:HEAD_DIGITS]
    return "-".join(digits[at : at + _GROUP] for at in range(0, HEAD_DIGITS, _GROUP))


def set_back_words(seen: Anchor) -> str:
    """Words for an entry that this machine saw and that is not there now."""
    return (
        f"this machine saw entry {seen.n} of the shop's register, head {short_head(seen.head)}, of "
        f"{shown(seen.utc[:10], 20)}, and the register does not have it now: it was cut or "
        "rebuilt, or an older copy of the shop was put back"
    )


def _earlier_mentions(earlier: EarlierRegisters) -> Iterator[Mention]:
    for file, row in earlier.rows:
        run, head, n = (row["data"].get(key) for key in ("run", "head", "n"))
        whole = isinstance(run, str) and isinstance(head, str) and type(n) is int
        if row["kind"] in RUN_KINDS and whole and type(row.get("n")) is int:
            yield Mention(row["n"], row["kind"], RunState(run, n, head), file)


def _earlier_doubts(earlier: EarlierRegisters) -> Iterator[RegisterDoubt]:
    for _, row in earlier.rows:
        findings, reason = row["data"].get("findings"), row["data"].get("reason")
        at = row.get("at")
        if row["kind"] == DOUBT and isinstance(findings, list) and isinstance(at, dict):
            utc, texts = str(at.get("utc", "")), tuple(map(str, findings))
            yield RegisterDoubt(int(row.get("n", 0)), str(row.get("by")), utc, texts, str(reason))


def _doubt(line: Line, name: str) -> RegisterDoubt:
    findings, reason = line.data.get("findings"), line.data.get("reason")
    if not isinstance(findings, list) or not isinstance(reason, str):
        raise RecordBroken.at(name, line.n, "it must hold findings and reason")
    return RegisterDoubt(line.n, line.by, line.at.utc, tuple(map(str, findings)), reason)


def _mention(line: Line, name: str) -> Mention:
    data = line.data
    run, head, n = data.get("run"), data.get("head"), data.get("n")
    if not isinstance(run, str) or not isinstance(head, str) or type(n) is not int:
        raise RecordBroken.at(name, line.n, "it must hold run, head and n")
    return Mention(line.n, line.kind, RunState(run, n, head))
