"""Whether everything that a log holds may be sealed or signed by a program that did not write it.

The program holds the station's key. Whoever can write a run's folder must not be able to make it
sign, so all that came before is checked first: every signature and seal, whose key it is and since
when, the signers, and what the shop's register says. That each line follows from the one before
was proven when the log was read.
"""

from collections.abc import Callable, Sequence
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.record.chain import ReadLog
from benchrun.record.checksigs import NAMESPACES, SignatureCheck
from benchrun.record.digests import RunningDigests
from benchrun.record.findings import Fault, KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.line import Line
from benchrun.record.register import disagreements, knows_head, mentions
from benchrun.record.signers import Signers
from benchrun.record.trouble import RecordBroken
from benchrun.text import shown, span

SEAL_MS: Final = 15 * 60_000
"""How long a run that goes on is left without a seal at most."""

DOUBT: Final = "doubt"
"""The kind of entry by which a person goes on although something does not hold."""

_SLACK_MS: Final = 60_000
_BEGUN: Final = ("open", "seal")


def checked_before_writing(
    folder: RunFolder, log: ReadLog, trusted: Signers, register: ReadLog
) -> KeepingReport:
    """Check what was kept before this program adds to it.

    Args:
        folder: The run's folder.
        log: Its log as it was read.
        trusted: The signers that the shop trusts.
        register: The shop's register.

    Returns:
        What was found: a fault for each thing that does not hold and that nobody decided to go on
        with yet.
    """
    report = KeepingReport(folder.run, entries=len(log.lines), head=log.head)
    try:
        _check_signatures(report, folder, log, trusted)
    except BenchrunError as error:
        report.fault(error.message)
    _check_tail(report, log.lines[report.covered + 1 if report.covered else 0 :])
    _check_register(report, folder, log, register)
    decided = _decided(log, report.covered)
    report.faults = [fault for fault in report.faults if placed(fault) not in decided]
    return report


def placed(fault: Fault) -> str:
    """A fault in words, with its entry where it has one."""
    return fault.text if fault.n is None else f"entry {fault.n}: {fault.text}"


def only_begun(log: ReadLog) -> bool:
    """Whether a log holds what beginning a run writes and nothing more."""
    return tuple(line.kind for line in log.lines) == _BEGUN


def known(log: ReadLog, register: ReadLog) -> bool:
    """Whether the register says that a run was opened."""
    run = log.lines[0].data.get("run")
    said = mentions(register)
    return any(mention.kind == "opened" and mention.state.run == run for mention in said)


def _check_signatures(
    report: KeepingReport, folder: RunFolder, log: ReadLog, trusted: Signers
) -> None:
    check, digests, done = (
        SignatureCheck(report, folder.read_signers(), trusted),
        RunningDigests("sha512"),
        0,
    )
    for line in log.lines:
        if line.kind in NAMESPACES:
            digests.add_all(before.raw for before in log.lines[done : line.n])
            done = line.n
            check.line(line, _digest_of(log, digests, line.n))


def _digest_of(log: ReadLog, digests: RunningDigests, n: int) -> Callable[[str], bytes]:
    def digest(algorithm: str) -> bytes:
        """SHA-512 is kept up; anything else is seldom asked for."""
        known = algorithm == "sha512"
        return digests.digest(algorithm) if known else log.prefix_digest(n, algorithm)

    return digest


def _check_tail(report: KeepingReport, tail: Sequence[Line]) -> None:
    """Tell of entries without a seal that this program would have sealed."""
    worked = [line for line in tail if line.kind != "beat"]
    if not worked:
        return
    first, last = worked[0], worked[-1]
    apart = last.at.up_ms - first.at.up_ms
    if first.at.boot != last.at.boot:
        why = "although the machine was restarted between them"
    elif apart > SEAL_MS + _SLACK_MS:
        why = f"although they lie {span(apart)} apart"
    else:
        return
    report.fault(
        f"entries {first.n} to {last.n} lie under no seal {why}: the program seals every "
        f"{span(SEAL_MS)} and whenever a run is taken up, so seals were taken away",
        first.n,
    )


def _check_register(
    report: KeepingReport, folder: RunFolder, log: ReadLog, register: ReadLog
) -> None:
    data = log.lines[0].data if log.lines else {}
    run, head = str(data.get("run")), data.get("register_head")
    if run != folder.run:
        report.fault(
            f"the folder is called {shown(folder.run, 80)}, the run {shown(run, 80)}: it was "
            "renamed, or is a copy"
        )
    heads = {line.n: line.head for line in log.lines}
    try:
        for text in disagreements(register, run, heads):
            report.fault(text)
        if not only_begun(log) and not known(log, register):
            report.fault("the shop's register does not know this run")
    except RecordBroken as error:
        report.fault(error.message)
    if not isinstance(head, str) or not knows_head(register, head):
        report.fault("the register that this run was opened under is not the shop's register", 0)


def _decided(log: ReadLog, covered: int) -> set[str]:
    """What people decided to go on with, in entries that lie under a seal."""
    decided: set[str] = set()
    for line in log.lines[:covered]:
        findings = line.data.get("findings") if line.kind == DOUBT else None
        decided.update(map(str, findings if isinstance(findings, list) else ()))
    return decided
