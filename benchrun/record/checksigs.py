"""Checking the signatures and seals of a log: what each is over, and whose key it is."""

from collections.abc import Callable
from typing import Final

from benchrun.record.findings import KeepingReport
from benchrun.record.line import Line
from benchrun.record.signers import Signers
from benchrun.record.sshsig import SEAL, SIGN, verify
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
        self._doubted: set[tuple[str, PublicKey]] = set()

    def line(self, line: Line, digest_of: DigestOf) -> None:
        """Judge a line that signs all bytes before it.

        Args:
            line: A line of kind `sign` or `seal`.
            digest_of: Digests of those bytes.
        """
        place = line.n + 1
        armoured, who = line.data.get("sshsig"), line.data.get("who", line.by)
        if not isinstance(armoured, str) or not isinstance(who, str):
            self._report.fault("it should hold a signature and whose it is", place)
            return
        if line.kind == "sign" and line.data.get("of") != line.n - 1:
            self._report.fault(f"it should sign entry {line.n - 1} and names another", place)
            return
        namespace = NAMESPACES[line.kind]
        try:
            key = verify(armoured, namespace, digest_of)
        except BadSignature as error:
            self._report.fault(f"the signature does not hold: {error.message}", place)
            return
        if not self._judge(who, key, namespace, line.utc_ms, place):
            return
        self._report.covered = line.n
        if line.kind == "sign":
            self._report.signatures += 1
        else:
            self._report.seals += 1

    def whole_file(self, armoured: str, digest_of: DigestOf, at_ms: int) -> None:
        """Judge the seal over the whole file, made at the time of its last line."""
        try:
            key = verify(armoured, SEAL, digest_of)
        except BadSignature as error:
            self._report.fault(f"log.jsonl.sig does not hold: {error.message}")
            return
        who = next((row.principal for row in self._kept.signers if row.key == key), None)
        if who is None:
            self._report.fault(
                f"log.jsonl.sig was made with the key {key.fingerprint}, which the run's signers "
                "do not name"
            )
        elif self._judge(who, key, SEAL, at_ms, None):
            self._report.covered = self._report.lines
            self._report.seals += 1

    def _judge(
        self, who: str, key: PublicKey, namespace: str, at_ms: int, place: int | None
    ) -> bool:
        """Whether the key stands for that signer at that time."""
        name = f"{shown(who, 80)}'s key {key.fingerprint}"
        verdict = self._kept.trusted(who, key, namespace, at_ms)
        if not verdict.trusted:
            self._report.fault(f"{name} {verdict.why} by the run's own signers", place)
            return False
        if self._trusted is not None:
            verdict = self._trusted.trusted(who, key, namespace, at_ms)
            if not verdict.trusted and verdict.known:
                self._report.fault(f"{name} {verdict.why} by the shop's signers", place)
                return False
            if not verdict.known and (who, key) not in self._doubted:
                self._doubted.add((who, key))
                self._report.doubt(
                    f"{name} is unknown to the shop's own signers: it proves that the log was not "
                    "changed, not who made it",
                    place,
                )
        self._report.signers[who] = key.fingerprint
        return True
