"""Checking how a run was kept: chain, bytes, signatures, seals, files beside the log, register.

The rules of a run are another matter: whoever replays the entries passes `each` and sees every
line in the same pass. Nothing here writes.
"""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import IO, Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.plain_file import open_regular, read_plain
from benchrun.record.approval import APPROVALS_SINCE, approval_state
from benchrun.record.chain import FORMAT, Chain, ReadLog, raw_lines
from benchrun.record.checkfiles import FileCheck
from benchrun.record.checksigs import NAMESPACES, SignatureCheck
from benchrun.record.checktimes import TimeCheck
from benchrun.record.digests import RunningDigests
from benchrun.record.findings import KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.line import Line
from benchrun.record.register_log import RegisterLog
from benchrun.record.roster import Roster
from benchrun.record.signers import Signers, read_signers
from benchrun.record.trouble import RecordBroken
from benchrun.text import shown

_FILE_KINDS: Final = frozenset({"photo", "recovered"})
_KEEPING: Final = frozenset({*NAMESPACES, *_FILE_KINDS, "close"})
_MOST_STRAYS: Final = 50
_STRIDE: Final = 256  # lines between two updates of the digests and the progress


def check_run(
    folder: Path,
    *,
    trusted: Signers | None = None,
    register: RegisterLog | None = None,
    each: Callable[[Line], None] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> KeepingReport:
    """Check one run.

    Args:
        folder: The run's folder.
        trusted: The signers that the shop itself trusts, None when they are not at hand.
        register: The shop's register as it was read, None when it is not at hand.
        each: Called with every line that follows from those before it.
        progress: Called now and then with the bytes read and the bytes in all.

    Returns:
        What was found. Faults make the run not whole; doubts are what it does not prove.

    Raises:
        BenchrunError: It could not be told: a file cannot be read, or the log is of a later format.
    """
    run = RunFolder(folder)
    report = KeepingReport(run.run)
    reading = _Reading(run, report, trusted, register.roster if register else None, each, progress)
    if run.log.is_symlink():
        report.doubt(
            "log.jsonl is a link: the log lies elsewhere, and this folder does not keep it"
        )
    _read(run, reading)
    reading.finish()
    if trusted is None:
        report.doubt(
            "the shop's own signers were not at hand: the run's copy says whose keys they are"
        )
    _check_register(report, register, reading)
    return report


def check_found(
    run: RunFolder, log: ReadLog, *, trusted: Signers | None, register: RegisterLog | None
) -> KeepingReport:
    """Check everything that a log holds before a line, a seal or a signature is added to it.

    The chain was proven when the log was read. Judged here are all signatures and seals with
    their key, principal, namespace, time and person, both files of signers, the copy of the
    procedure, the pictures, what was set aside, and the register's heads.

    Args:
        run: The run's folder.
        log: The log as its writer found it.
        trusted: The signers that the shop itself trusts.
        register: The shop's register as it was read.

    Returns:
        What was found, by entry. A fault is something that a forger or damage left: nothing may
        be written over it unless a person decides so. A doubt is said by `verify` as well. An
        open run and entries that no seal covers yet, as a kill leaves them, are fine.

    Raises:
        BenchrunError: A file beside the log cannot be read.
    """
    report = KeepingReport(run.run)
    reading = _Reading(run, report, trusted, register.roster if register else None, None, None)
    reading.goes_on = True
    reading.lines(log)
    reading.finish()
    _check_register(report, register, reading)
    return report


def _read(run: RunFolder, reading: "_Reading") -> None:
    try:
        with open_regular(run.log) as file:
            reading.read(file)
    except FileNotFoundError:
        raise BenchrunError(f"{shown(str(run.log), 200)} is missing: is this a run?") from None
    except OSError as error:
        raise BenchrunError(
            f"{shown(str(run.log), 200)} cannot be read: {disk_said(error)}"
        ) from None


class _Reading:
    """One pass over a log."""

    def __init__(
        self,
        run: RunFolder,
        report: KeepingReport,
        trusted: Signers | None,
        roster: Roster | None,
        each: Callable[[Line], None] | None,
        progress: Callable[[int, int], None] | None,
    ) -> None:
        self._run = self.run = run
        self._report = report
        self.trusted = trusted
        self._each = each
        self._progress = progress
        self._chain: Chain | None = Chain(run.log.name)
        self._digests = RunningDigests("sha512")
        self._waiting: list[bytes] = []
        self._signatures = SignatureCheck(report, _kept_signers(run, report), trusted, roster)
        self._files = FileCheck(report, run.path)
        self._times = TimeCheck(report)
        self._last: Line | None = None
        self._hands: set[str] = set()
        self.heads: list[str] = []
        self.register_head: str | None = None
        self.goes_on = False

    def lines(self, log: ReadLog) -> None:
        """Take the lines of a log whose chain is proven."""
        for line in log.lines:
            self._judge(line)
            self._waiting.append(line.raw)
        self._catch_up()

    def read(self, file: IO[bytes]) -> None:
        total = os.fstat(file.fileno()).st_size
        try:
            for number, raw in enumerate(raw_lines(file, self._run.log.name), 1):
                if self._chain is not None:
                    self._take(self._chain, raw)
                self._waiting.append(raw)
                if not number % _STRIDE:
                    self._catch_up()
                    if self._progress is not None:
                        self._progress(self._digests.size, total)
        except RecordBroken as error:  # a line without an end
            self._report.fault(error.found, error.n)
            self._chain = None
        self._catch_up()

    def _take(self, chain: Chain, raw: bytes) -> None:
        if raw[-1] != 10:  # LF
            self._report.doubt(
                f"the file ends in a torn fragment of {len(raw)} bytes, which was never "
                "acknowledged: it will be set aside when the run is opened",
                chain.n,
            )
            return
        try:
            line = chain.take(raw)
        except BenchrunError as error:
            if not isinstance(error, RecordBroken) and self._report.whole:
                raise  # of a later format, so that nobody here can tell
            found = error.found if isinstance(error, RecordBroken) else error.message
            self._report.fault(found, chain.n)
            self._report.doubt(f"nothing from entry {chain.n} on was judged")
            self._chain = None  # the rest is only read for the seal over the whole file
            return
        self._judge(line)

    def _judge(self, line: Line) -> None:
        if line.n == 0:
            self._open(line)
            self._signatures.opened(line)
        if line.by not in self._hands:
            self._hands.add(line.by)
            self._signatures.person(line)
        self._times.line(line)
        if line.kind in _KEEPING:
            self._judge_keeping(line)
        self.heads.append(line.head)
        self._last = line
        if self._each is not None:
            self._each(line)

    def _judge_keeping(self, line: Line) -> None:
        if line.kind in NAMESPACES:
            self._catch_up()
            self._signatures.line(line, self._digest, self._last)
            if "files" in line.data:
                self._files.line(line)
            if line.kind == "sign" and self._last is not None and self._last.kind == "close":
                self._report.closed = True
        elif line.kind in _FILE_KINDS:
            self._files.line(line)
        elif not line.data.get("says"):
            self._report.closed = True  # a close that states something is none until it is signed

    def _open(self, line: Line) -> None:
        if line.kind != "open":
            self._report.fault("a log begins with an entry of kind open", 0)
            return
        version = line.data.get("format")
        if type(version) is not int or version < 1:
            self._report.fault(f"the entry open gives no format, 1 to {FORMAT} is due", 0)
        run, head = line.data.get("run"), line.data.get("register_head")
        if not isinstance(run, str) or not run:
            self._report.fault("the entry open names no run", 0)
        else:
            if run != self._run.run:
                self._report.doubt(
                    f"the folder is called {shown(self._run.run, 80)}, the run {shown(run, 80)}: "
                    "it was renamed, or is a copy",
                    0,
                )
            self._report.run = run
        self.register_head = head if isinstance(head, str) else None
        self._files.procedure(line)
        self._files.drawings(line)
        self._approval(line)

    def _approval(self, line: Line) -> None:
        """Judge whether somebody stands for the procedure; older logs keep no approval."""
        of, number = line.data.get("procedure"), line.data.get("format")
        if not isinstance(number, int) or number < APPROVALS_SINCE or not isinstance(of, dict):
            return
        state = approval_state(
            self._files.approval(line),
            str(of.get("status")),
            str(line.data.get("procedure_sha256")),
            self.trusted,
        )
        self._report.approval = state
        if state.calls:
            self._report.doubt(f"of the procedure: {state.words.removesuffix('.')}", 0)

    def _catch_up(self) -> None:
        self._digests.add_all(self._waiting)
        self._waiting.clear()

    def _digest(self, algorithm: str) -> bytes:
        """Digest all bytes up to here; sha256 is seldom asked for, so it is not kept up."""
        if algorithm == "sha512":
            return self._digests.digest(algorithm)
        running = hashlib.new(algorithm)
        left = self._digests.size
        with open_regular(self._run.log) as file:
            while left and (piece := file.read(min(left, 1 << 18))):
                running.update(piece)
                left -= len(piece)
        return running.digest()

    @property
    def to_the_end(self) -> bool:
        """Whether every line follows from the one before, so that nothing was left unjudged."""
        return self._chain is not None

    def finish(self) -> None:
        """Judge what only the whole file shows."""
        report = self._report
        report.entries = len(self.heads)
        if self._last is None:
            if report.whole:
                report.fault("the log has no entries")
            return
        report.head = self._last.head
        self._whole_file(self._last)
        self._extras()
        self._times.finish(report.entries)
        open_still = report.note if self.goes_on else report.doubt
        if not report.closed and self.to_the_end:
            open_still("the run is not closed")
        # The line after the covered ones is the seal itself.
        bare = report.covered + 1 if report.covered else 0
        if bare < report.entries:
            open_still(
                f"{_from_to(bare, report.entries - 1)} no signature or seal: nobody can tell "
                "whether anything was changed or dropped here"
            )

    def _extras(self) -> None:
        """Tell what lies in the folder and nothing names; in an open run a kill leaves such."""
        report = self._report
        tell = report.doubt if report.closed else report.note
        strays = self._files.strays()
        for name in strays[:_MOST_STRAYS]:
            tell(f"{shown(name, 120)} lies in the folder, and no entry names it")
        if len(strays) > _MOST_STRAYS:
            tell(f"{len(strays) - _MOST_STRAYS} more files lie there that no entry names")
        if report.closed and self.to_the_end:
            for who, key in self._signatures.unused():
                name = f"{shown(who, 80)}'s key {key}"
                report.doubt(f"signers holds {name}, which signed nothing here")

    def _whole_file(self, last: Line) -> None:
        try:
            armoured = read_plain(self._run.seal).decode("ascii")
        except FileNotFoundError:
            if self._report.closed:
                self._report.doubt("log.jsonl.sig is missing: nothing seals the whole file")
            return
        except UnicodeDecodeError:
            self._report.fault("log.jsonl.sig does not hold: this is not an SSH signature")
            return
        except OSError as error:
            raise BenchrunError(f"log.jsonl.sig cannot be read: {disk_said(error)}") from None
        self._signatures.whole_file(armoured, self._digest, last)


def _from_to(first: int, last: int) -> str:
    return f"entry {first} lies under" if first == last else f"entries {first} to {last} lie under"


def _kept_signers(run: RunFolder, report: KeepingReport) -> Signers:
    try:
        return read_signers(run.signers)
    except BenchrunError as error:
        report.fault(error.message)
        return Signers()


def _check_register(report: KeepingReport, register: RegisterLog | None, reading: _Reading) -> None:
    if register is None:
        report.doubt("the shop's register could not be asked: a run rolled back would not show")
        return
    states = register.of(report.run)
    heads = dict(enumerate(reading.heads))
    for text in register.disagreements(report.run, heads, to_the_end=reading.to_the_end):
        report.fault(text)
    report.findings += register.findings(reading.trusted)
    for other in register.openings_lost(reading.run.path.parent):
        if other != report.run:
            report.fault(
                f"the run {shown(other, 100)} was opened under a register that says more than the "
                "shop's register does now: it was cut, or rebuilt"
            )
    if not reading.heads:
        return
    kinds = {mention.kind for mention in states}
    if "opened" not in kinds:
        report.doubt("the shop's register does not know this run")
    if report.closed and "closed" not in kinds and states:
        report.doubt("the shop's register does not say that this run was closed")
    if reading.register_head is None:
        report.fault("the entry open does not give the head of the shop's register", 0)
    elif not register.knows_head(reading.register_head):
        report.fault("the register that this run was opened under is not the shop's register", 0)
