"""Entering into the shop's register: each line is sealed as it is written.

A line holds the station's seal over itself, and with `prev` over all before it: a line that is
there is sealed, whatever the moment of a kill.
"""

import os
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from benchrun.errors import disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.record.anchor import Anchor, keep_anchor, read_anchor
from benchrun.record.chain import FORMAT, ReadLog, read_log
from benchrun.record.earlier_register import set_aside
from benchrun.record.findings import Grade
from benchrun.record.line import encode
from benchrun.record.register_log import (
    DOUBT,
    REGISTER_NAME,
    RUN_KINDS,
    RegisterLog,
    RunState,
    digest_of,
    set_back_words,
)
from benchrun.record.roster import KEYS, PEOPLE, key_changes, keys_found
from benchrun.record.signers import Signer, Signers, read_signers
from benchrun.record.sshsig import SEAL, sign_digest
from benchrun.record.trouble import NotKept, RecordBroken
from benchrun.record.wire import SigningKey
from benchrun.record.writer import RECOVERED, LogWriter
from benchrun.text import shown

# Another window holds the register for as long as one line takes.
_WAIT_MS: Final = 5000


@lean_dataclass(frozen=True, slots=True)
class StationSeal:
    """The seal of the lines of a register.

    Attributes:
        key: The station's key.
        who: The station's principal.
    """

    key: SigningKey
    who: str


class Register:
    """A shop's register.

    Args:
        shop: The shop's folder.
        seal: What seals the lines that are entered; None for one that is only read.
        read: The same register, read for the same act: what it holds still is proven already.
    """

    def __init__(
        self, shop: Path, seal: StationSeal | None = None, read: "Register | None" = None
    ) -> None:
        self.path = shop / REGISTER_NAME
        self._shop = shop
        self._seal = seal
        self._known: ReadLog | None = read._known if read is not None else None

    def read(self) -> RegisterLog:
        """Read it and prove its chain; one that is not there is empty.

        Raises:
            RecordBroken: It is damaged.
        """
        anchor = read_anchor(self._shop)  # first, as another window may enter more meanwhile
        if not self.path.exists():
            return RegisterLog(ReadLog(self.path.name, ()), self._shop, anchor)
        try:
            self._known = read_log(self.path, self._known)
            return RegisterLog(self._known, self._shop, anchor)
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
        if kind not in RUN_KINDS:
            raise ValueError(f"{kind} is not one of {', '.join(sorted(RUN_KINDS))}")
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
                gone = [set_back_words(seen)] if seen and seen.head not in old.heads else []
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
            self._known = writer.take_found()
            found = RegisterLog(self._known, self._shop, read_anchor(self._shop))
            set_back = found.set_back()
            signers = read_signers(self._shop / "signers")
            refuse_ended(signers, seal, at)
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
            folder, name = self.path.parent, self.path.name
            return LogWriter.open(folder, name, wait_ms=_WAIT_MS, known=self._known)
        except RecordBroken as error:
            raise _repairable(error) from None


def refuse_ended(signers: Signers, seal: StationSeal, at: Moment) -> None:
    """Refuse to seal with a key that was ended: a repair that was cut, or old keys put back.

    Raises:
        RecordBroken: It has ended, or is compromised; says what would do.
    """
    why = signers.seals_no_more(seal.who, seal.key.public, at.utc_ms)
    if why:
        raise RecordBroken(
            f"the station's key {seal.key.public.fingerprint} {why}: nothing is sealed with it. "
            "benchrun shop repair --why TEXT gives the station another"
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
    signature = sign_digest(seal.key, SEAL, digest_of(raw, "sha512"))
    writer.append(at, by, kind, {**data, "sshsig": signature})
