"""Checking the signatures and seals of a log: what each is over, and whose key it is."""

from collections.abc import Callable
from typing import Final

from benchrun.record.findings import KeepingReport
from benchrun.record.line import Line
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
    """

    def __init__(self, report: KeepingReport, kept: Signers, trusted: Signers | None) -> None:
        self._report = report
        self._kept = kept
        self._trusted = trusted
        self._doubted: set[str] = set()
        self._latest_ms = 0

    def line(self, line: Line, digest_of: DigestOf) -> None:
        """Judge a line that signs all bytes before it.

        Args:
            line: A line of kind `sign` or `seal`.
            digest_of: Digests of those bytes.
        """
        place = line.n
        armoured, who = line.data.get("sshsig"), line.data.get("who", line.by)
        if not isinstance(armoured, str) or not isinstance(who, str):
            self._report.fault("it should hold a signature and whose it is", place)
            return
        if line.kind == "sign" and line.data.get("of") != line.n - 1:
            self._report.fault(f"it should sign entry {line.n - 1} and names another", place)
            return
        namespace = NAMESPACES[line.kind]
        try:
            key = verify_signature(armoured, namespace, digest_of)
        except BadSignature as error:
            self._report.fault(f"the signature does not hold: {error.message}", place)
            return
        if not self._judge(who, key, namespace, line):
            return
        self._report.covered = line.n
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
        elif self._judge(who, key, SEAL, last):
            self._report.covered = self._report.entries
            self._report.seals += 1

    def _judge(self, who: str, key: PublicKey, namespace: str, line: Line) -> bool:
        """Whether the key stands for that signer at that line's time."""
        place, name = line.n, f"{shown(who, 80)}'s key {key.fingerprint}"
        files = [(self._kept, "run's own"), (self._trusted, "shop's")]
        for signers, whose in files:
            if signers is None:
                continue
            verdict = signers.trusted(who, key, namespace, line.utc_ms)
            if verdict.trusted:
                continue
            if verdict.early and (not line.when["sync"] or line.utc_ms < self._latest_ms):
                # A clock that lost its time, or was set back, says nothing against the key: an
                # earlier line of the chain was made within its time.
                self._doubt_once(f"{name} {verdict.why}, but the clock was not in step", place)
            elif verdict.known or signers is self._kept or signers.of(who):
                self._report.fault(f"{name} {verdict.why} by the {whose} signers", place)
                return False
            else:
                self._doubt_once(
                    f"{name} is unknown to the shop's own signers: it proves that the log was not "
                    "changed, not who made it",
                    place,
                )
        self._report.signers[who] = key.fingerprint
        self._latest_ms = max(self._latest_ms, line.utc_ms)
        return True

    def _doubt_once(self, text: str, place: int) -> None:
        if text not in self._doubted:
            self._doubted.add(text)
            self._report.doubt(text, place)
