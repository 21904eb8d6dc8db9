"""Findings of a check of how a run was kept: graded, with counts."""

from dataclasses import field
from enum import StrEnum

from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.approval import ApprovalState


class Grade(StrEnum):
    """How much a finding weighs.

    FAULT makes a record not whole: nobody goes on with it unless a person decides so. DOUBT is
    something that a whole record does not prove, or that a reader should know. FINE is what an
    honest run may hold at any moment, such as a tail that is not sealed yet.
    """

    FAULT = "fault"
    DOUBT = "doubt"
    FINE = "fine"


@lean_dataclass(frozen=True, slots=True)
class CheckFinding:
    """Something that was found.

    Attributes:
        n: The number of the entry it is about; None when it is about another file or the whole.
        text: What was found, in plain words.
        grade: How much it weighs.
    """

    n: int | None
    text: str
    grade: Grade

    @property
    def placed(self) -> str:
        """The text with its place in the log, where it has one."""
        return self.text if self.n is None else f"entry {self.n}: {self.text}"


@lean_dataclass(slots=True)
class KeepingReport:
    """The outcome of checking the keeping of one run.

    Attributes:
        run: The run's id as the log gives it, the folder's name where it gives none.
        findings: What was found, in the order in which it was met.
        entries: How many entries were read and follow from each other.
        signatures: How many people's signatures hold.
        seals: How many of the station's seals hold, the one over the whole file included.
        photos: How many pictures agree with their digests.
        head: SHA-256 (hex) of the line of the last of them.
        closed: Whether the log has an entry that closes the run.
        covered: How many entries lie under a signature or seal that holds.
        sound: How many entries lie under a signature or seal that holds with no fault before it.
        signers: Principals and fingerprints of the keys of all signatures and seals that hold.
        known: Of each of these principals, whether the shop knows the key as theirs; None where
            the shop's signers were not at hand.
        approval: Whether somebody stands for the procedure; None in older logs.
    """

    run: str
    findings: list[CheckFinding] = field(default_factory=list)
    entries: int = 0
    signatures: int = 0
    seals: int = 0
    photos: int = 0
    head: str = ""
    closed: bool = False
    covered: int = 0
    sound: int = 0
    signers: dict[str, str] = field(default_factory=dict)
    known: dict[str, bool | None] = field(default_factory=dict)
    approval: ApprovalState | None = None

    @property
    def whole(self) -> bool:
        """Whether nothing was found that makes it not whole."""
        return all(finding.grade is not Grade.FAULT for finding in self.findings)

    @property
    def faults(self) -> tuple[CheckFinding, ...]:
        """All that makes it not whole."""
        return self._of(Grade.FAULT)

    @property
    def doubts(self) -> tuple[CheckFinding, ...]:
        """All that it does not prove."""
        return self._of(Grade.DOUBT)

    @property
    def fine(self) -> tuple[CheckFinding, ...]:
        """All that an honest run may hold as well."""
        return self._of(Grade.FINE)

    def _of(self, grade: Grade) -> tuple[CheckFinding, ...]:
        return tuple(finding for finding in self.findings if finding.grade is grade)

    def signed(self, who: str, fingerprint: str, known: bool | None) -> None:
        """Add the key of a signature that holds; of two keys of one principal both are named."""
        before = self.signers.get(who, "")
        if fingerprint not in before.split(", "):
            self.signers[who] = f"{before}, {fingerprint}" if before else fingerprint
        self.known[who] = known and self.known.get(who, True)

    def fault(self, text: str, n: int | None = None) -> None:
        """Add a fault."""
        self.findings.append(CheckFinding(n, text, Grade.FAULT))

    def doubt(self, text: str, n: int | None = None) -> None:
        """Add a doubt."""
        self.findings.append(CheckFinding(n, text, Grade.DOUBT))

    def note(self, text: str, n: int | None = None) -> None:
        """Add what is fine and yet worth saying."""
        self.findings.append(CheckFinding(n, text, Grade.FINE))
