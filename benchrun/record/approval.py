"""The approval of a procedure: a statement and an approver's signature, in one file beside it.

The first line is the statement, in the canonical form of a line of a log; behind it stands an
armoured SSHSIG over that line, in a namespace of its own. The statement holds the digest of the
procedure's file, so that it is of these bytes and no others. FORMAT.md describes both.
"""

import hashlib
from collections.abc import Mapping
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment, utc_ms
from benchrun.record.line import LineError, decode, encode
from benchrun.record.signers import Signers
from benchrun.record.sshsig import SIGN, sign_digest, verify_signature
from benchrun.record.trouble import BadSignature
from benchrun.record.wire import PublicKey, SigningKey
from benchrun.text import count, shown

APPROVE: Final = "approve@benchrun"
"""The namespace of approvals."""

APPROVALS_SINCE: Final = 4
"""The number of the log's format from which on a run carries the approval of its procedure."""

APPROVED: Final = "approved"
"""The status of a procedure that somebody signs for."""

_FORM: Final = 1


@lean_dataclass(frozen=True, slots=True)
class PassedRehearsal:
    """A rehearsal that passed before the approval: its path, and its script with the digest."""

    path: str
    file: str
    sha256: str


@lean_dataclass(frozen=True, slots=True)
class Approval:
    """An approval as its file states it; whether it holds is another question.

    Attributes:
        by, name, who: The approver's id, full name and principal.
        utc: When.
        sha256: Of the procedure's file.
        rehearsals: Those that passed just before.
        closed, deviated: How many runs of this revision were closed in the shop, and how many of
            them held a deviation.
        statement: The line that is signed, LF included.
        sshsig: The signature.
    """

    by: str
    name: str
    who: str
    utc: str
    procedure: str
    revision: int
    sha256: str
    rehearsals: tuple[PassedRehearsal, ...]
    closed: int
    deviated: int
    statement: bytes
    sshsig: str

    @property
    def content(self) -> bytes:
        """The bytes of its file."""
        return self.statement + self.sshsig.encode("ascii")

    @property
    def behind(self) -> str:
        """The rehearsals and runs that stand behind it, in words."""
        passed = len(self.rehearsals)
        rehearsed = f"{count(passed, 'rehearsal')} passed" if passed else "no rehearsal"
        runs = f"{count(self.closed, 'run')} of this revision closed"
        return f"{rehearsed}; {runs}, {self.deviated} with deviations" if self.closed else rehearsed


@lean_dataclass(frozen=True, slots=True)
class ApprovalState:
    """All that is said of the approval of a procedure, wherever it is said.

    Attributes:
        status: The procedure's status.
        approval: The approval beside it; None where there is none, or none that can be read.
        fault: Why it does not hold; empty where it does, or where there is none.
        known: Whether the shop knows the key; None where its signers are not at hand.
        key: The fingerprint of the key; empty where nothing holds.
    """

    status: str
    approval: Approval | None = None
    fault: str = ""
    known: bool | None = None
    key: str = ""

    @property
    def holds(self) -> bool:
        """Whether somebody's signature stands for the file as it is."""
        return self.approval is not None and not self.fault

    @property
    def calls(self) -> bool:
        """Whether a reader must be warned."""
        lacking = self.status == APPROVED and self.approval is None
        return bool(self.fault) or lacking or (self.holds and self.known is False)

    @property
    def brief(self) -> str:
        """The approver in few words, behind the status; empty where nothing is to be said."""
        if self.fault:
            return "APPROVAL DOES NOT HOLD"
        if self.approval is None:
            return "by nobody" if self.status == APPROVED else ""
        return f"by {self.approval.name}" + (", key NOT known" if self.known is False else "")

    @property
    def words(self) -> str:
        """The whole of it in words; empty where nothing is to be said."""
        approval = self.approval
        if self.fault:
            return f"Its approval does NOT hold: {self.fault}."
        if approval is None:
            if self.status != APPROVED:
                return ""
            return "It says approved, but nobody has signed for that: no approval lies beside it."
        known = {True: ", key known to the shop", False: ", key NOT known to the shop", None: ""}
        who = f"{approval.name} ({approval.who}{known[self.known]})"
        return f"Approved by {who} on {approval.utc[:10]}; {approval.behind}."

    def as_data(self) -> dict[str, Any]:
        """The form that is printed with --json."""
        approval = self.approval
        return {
            "status": self.status,
            "holds": self.holds,
            "calls": self.calls,
            "known": self.known,
            "fault": self.fault,
            "name": approval.name if approval else "",
            "who": approval.who if approval else "",
            "utc": approval.utc if approval else "",
            "key": self.key,
            "words": self.words,
        }


def approved(
    key: SigningKey,
    at: Moment,
    *,
    by: str,
    name: str,
    who: str,
    procedure: Mapping[str, object],
    rehearsals: tuple[PassedRehearsal, ...],
    runs: tuple[int, int],
) -> Approval:
    """Sign for a procedure.

    Args:
        key: The approver's key, unlocked.
        at: When.
        by: The approver's id.
        name: The full name.
        who: The principal.
        procedure: Its `id`, `title`, `revision`, `status`, and the `sha256` of its file.
        rehearsals: Those that passed.
        runs: How many runs of this revision were closed, and how many of them held a deviation.
    """
    said = f"{name}: I approve revision {procedure['revision']} of {procedure['id']} for work."
    statement = encode(
        {
            "approval": _FORM,
            "at": at.as_data(),
            "by": by,
            "name": name,
            "procedure": dict(procedure),
            "rehearsals": [
                {"file": one.file, "path": one.path, "sha256": one.sha256} for one in rehearsals
            ],
            "runs": {"closed": runs[0], "with_deviations": runs[1]},
            "says": said,
            "who": who,
        }
    )
    digest = hashlib.sha512(statement).digest()
    return read_approval(statement + sign_digest(key, APPROVE, digest).encode("ascii"))


def read_approval(content: bytes) -> Approval:
    """Take the bytes of an approval apart.

    Raises:
        BenchrunError: They are none.
    """
    statement, line_end, armoured = content.partition(b"\n")
    try:
        value = decode(statement + line_end)
        if value.get("approval") != _FORM:
            raise BenchrunError("it is of a form that this benchrun does not know")
        of, runs = value["procedure"], value["runs"]
        utc_ms(value["at"]["utc"])
        return Approval(
            by=_text(value["by"]),
            name=_text(value["name"]),
            who=_text(value["who"]),
            utc=value["at"]["utc"],
            procedure=_text(of["id"]),
            revision=_number(of["revision"]),
            sha256=_text(of["sha256"]),
            rehearsals=tuple(map(_rehearsal, value["rehearsals"])),
            closed=_number(runs["closed"]),
            deviated=_number(runs["with_deviations"]),
            statement=statement + line_end,
            sshsig=armoured.decode("ascii"),
        )
    except (LineError, ValueError, KeyError, TypeError) as error:
        said = str(error) if isinstance(error, LineError) else "it is malformed"
        raise BenchrunError(f"it is no approval: {said}") from None


def _rehearsal(value: Mapping[str, object]) -> PassedRehearsal:
    return PassedRehearsal(_text(value["path"]), _text(value["file"]), _text(value["sha256"]))


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError
    return value


def _number(value: object) -> int:
    if type(value) is not int or value < 0:
        raise TypeError
    return value


def approval_state(
    content: bytes | None, status: str, sha256: str, trusted: Signers | None
) -> ApprovalState:
    """Judge the approval of a procedure.

    Args:
        content: The bytes of its file; None where there is none.
        status: The procedure's status.
        sha256: The digest of the procedure's file as it is now.
        trusted: The signers that the shop trusts; None where they are not at hand.
    """
    if content is None:
        return ApprovalState(status)
    try:
        approval = read_approval(content)
    except BenchrunError as error:
        return ApprovalState(status, None, error.message)
    try:
        key = verify_signature(
            approval.sshsig,
            APPROVE,
            lambda algorithm: hashlib.new(algorithm, approval.statement).digest(),
        )
    except BadSignature as error:
        return ApprovalState(status, approval, f"{shown(approval.name, 60)}'s signature: {error}")
    who, day = shown(approval.name, 60), approval.utc[:10]
    known, fault = _trusted(approval, key, trusted)
    if not fault and approval.sha256 != sha256:
        fault = f"the file was CHANGED after {who} approved it on {day}"
    return ApprovalState(status, approval, fault, known, key.fingerprint)


def _trusted(
    approval: Approval, key: PublicKey, trusted: Signers | None
) -> tuple[bool | None, str]:
    """Whether the shop knows the key, and why it does not count although it does."""
    if trusted is None:
        return None, ""
    # Who may sign may approve: the namespace keeps one signature from being taken for the other.
    verdict = trusted.trusted(approval.who, key, SIGN, utc_ms(approval.utc))
    if verdict.trusted or (not verdict.known and not verdict.compromised):
        return verdict.trusted, ""
    return verdict.known, f"the key of {shown(approval.name, 60)} {verdict.why}"
