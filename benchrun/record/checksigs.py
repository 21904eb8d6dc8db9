"""Checking the signatures and seals of a log: what each is over, and whose key it is."""

from collections.abc import Callable
from typing import Final

from benchrun.record.findings import Grade, KeepingReport
from benchrun.record.identity import Claim, Identities, key_findings, one_person
from benchrun.record.line import Line
from benchrun.record.roster import Roster
from benchrun.record.signers import Signers
from benchrun.record.sshsig import SEAL, SIGN, verify_signature
from benchrun.record.trouble import BadSignature
from benchrun.record.wire import PublicKey
from benchrun.text import shown

NAMESPACES: Final = {"sign": SIGN, "seal": SEAL}
"""The kinds of line that hold a signature, and what each is for."""

DigestOf = Callable[[str], bytes]


class SignatureCheck:
    """Judges signatures one after the other and enters what it finds in a report.

    Args:
        report: Where findings go.
        kept: The signers in the run's folder.
        trusted: The signers that the shop itself trusts; None when they are not at hand.
        roster: What the shop's register says of keys and people; None when it is not at hand.
    """

    def __init__(
        self,
        report: KeepingReport,
        kept: Signers,
        trusted: Signers | None,
        roster: Roster | None = None,
    ) -> None:
        self._report = report
        self._kept = kept
        self._trusted = trusted
        self._roster = roster
        self._people = Identities({}, roster)
        self._doubted: set[str] = set()
        self._used: set[PublicKey] = set()
        self._latest_ms = 0

    def opened(self, line: Line) -> None:
        """Learn from entry 0 who people are."""
        self._people = Identities(line.data, self._roster)

    def person(self, line: Line) -> None:
        """Judge whether a line was entered by somebody known; it is asked once for each of them."""
        if not self._people.asked or self._people.knows(line.by):
            return
        text = f"{shown(line.by, 80)} entered this, whom neither entry 0 nor the register names"
        if self._people.complete:
            self._report.fault(text, line.n)
        else:
            self._report.doubt(text, line.n)

    def line(self, line: Line, digest_of: DigestOf, before: Line | None = None) -> None:
        """Judge a line that signs all bytes before it.

        Args:
            line: A line of kind `sign` or `seal`.
            digest_of: Digests of those bytes.
            before: The line before it, which a signature of a person is about.
        """
        place = line.n
        armoured, who = line.data.get("sshsig"), line.data.get("who", line.by)
        if not isinstance(armoured, str) or not isinstance(who, str):
            self._report.fault("it should hold a signature and whose it is", place)
            return
        if line.kind == "sign" and line.data.get("of") != line.n - 1:
            self._report.fault(
                f"the signature names the wrong entry (should be {line.n - 1})", place
            )
            return
        namespace = NAMESPACES[line.kind]
        try:
            key = verify_signature(armoured, namespace, digest_of)
            self._used.add(key)
        except BadSignature as error:
            self._report.fault(f"the signature does not hold: {error.message}", place)
            return
        stated = before if line.kind == "sign" else None
        if not self._judge(who, key, namespace, line, stated):
            return
        self._report.covered = line.n
        if self._report.whole:
            self._report.sound = line.n
        if line.kind == "sign":
            self._report.signatures += 1
        else:
            self._report.seals += 1

    def whole_file(self, armoured: str, digest_of: DigestOf, last: Line) -> None:
        """Judge the seal over the whole file, taken to be made when its last line was."""
        try:
            key = verify_signature(armoured, SEAL, digest_of)
        except BadSignature as error:
            self._report.fault(f"log.jsonl.sig does not hold: {error.message}")
            return
        who = next((row.principal for row in self._kept.signers if row.key == key), None)
        if who is None:
            self._report.fault(
                f"log.jsonl.sig was made with the key {key.fingerprint}, which the run's signers "
                "do not name"
            )
        elif self._judge(who, key, SEAL, last, None, by=who):
            self._report.covered = self._report.entries
            self._report.seals += 1

    def _judge(
        self,
        who: str,
        key: PublicKey,
        namespace: str,
        line: Line,
        stated: Line | None,
        by: str = "",
    ) -> bool:
        """Whether key, principal and person are one, and stand for each other at that time."""
        lost = not line.when["sync"] or line.utc_ms < self._latest_ms
        says = stated.data.get("says") if stated else ""
        claim = Claim(
            line.n,
            by or line.by,
            who,
            key,
            namespace,
            line.utc_ms,
            stated.by if stated else "",
            says if isinstance(says, str) else "",
            lost,
        )
        told = one_person(claim, self._people)
        told += key_findings(claim, kept=self._kept, trusted=self._trusted, roster=self._roster)
        for finding in told:
            if finding.grade is Grade.FAULT:
                self._report.fault(finding.text, finding.n)
            elif finding.text not in self._doubted:
                self._doubted.add(finding.text)
                self._report.doubt(finding.text, finding.n)
        if any(finding.grade is Grade.FAULT for finding in told):
            return False
        self._report.signed(who, key.fingerprint, self._known_key(who, key))
        self._latest_ms = max(self._latest_ms, line.utc_ms)
        return True

    def unused(self) -> list[tuple[str, str]]:
        """Principals and fingerprints of the run's signers that signed nothing in it."""
        return [
            (row.principal, row.key.fingerprint)
            for row in self._kept.signers
            if row.key not in self._used
        ]

    def _known_key(self, who: str, key: PublicKey) -> bool | None:
        """Whether the shop knows a key as somebody's; None when it could not be asked."""
        if self._trusted is None:
            return None
        return any(row.key == key for row in self._trusted.of(who))
