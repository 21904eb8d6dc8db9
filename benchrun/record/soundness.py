"""Whether everything that a log holds may be sealed or signed by a program that did not write it.

The program holds the station's key. Whoever can write a run's folder must not be able to make it
sign, so all that came before is checked first, and what does not hold is for a person to decide.
"""

from collections.abc import Sequence
from typing import Final

from benchrun.record.chain import ReadLog
from benchrun.record.check import check_found
from benchrun.record.findings import KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.line import Line
from benchrun.record.register_log import RegisterLog
from benchrun.record.signers import Signers
from benchrun.text import span

SEAL_MS: Final = 15 * 60_000
"""How long a run that goes on is left without a seal at most."""

DOUBT: Final = "doubt"
"""The kind of entry by which a person goes on although something does not hold."""

_SLACK_MS: Final = 60_000
_BEGUN: Final = ("open", "seal")


def unsound(
    folder: RunFolder, log: ReadLog, trusted: Signers, register: RegisterLog
) -> tuple[str, ...]:
    """The faults of a log that nobody decided to go on with, before this program adds to it.

    Args:
        folder: The run's folder.
        log: Its log as its writer read it; its chain is proven.
        trusted: The signers that the shop trusts.
        register: The shop's register.

    Returns:
        Each with its entry; empty when all holds, or when somebody decided to go on with it.
    """
    report = check_found(folder, log, trusted=trusted, register=register)
    _check_tail(report, log.lines[report.covered + 1 if report.covered else 0 :])
    if report.run != folder.run:
        report.fault("this folder is not the one that the run was begun in")
    if not only_begun(log) and not is_registered(log, register):
        report.fault("the shop's register does not know this run, which was gone on with")
    decided = _decided(log, report.covered)
    return tuple(one.placed for one in report.faults if one.placed not in decided)


def only_begun(log: ReadLog) -> bool:
    """Whether a log holds what beginning a run writes and nothing more."""
    return tuple(line.kind for line in log.lines) == _BEGUN


def is_registered(log: ReadLog, register: RegisterLog) -> bool:
    """Whether the register says that a run was opened."""
    run = log.lines[0].data.get("run")
    return any(mention.kind == "opened" for mention in register.of(str(run)))


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
        f"{span(SEAL_MS)} and whenever a run is resumed, so seals were taken away",
        first.n,
    )


def _decided(log: ReadLog, covered: int) -> set[str]:
    """The findings that people decided to go on with, in entries that lie under a seal."""
    decided: set[str] = set()
    for line in log.lines[:covered]:
        findings = line.data.get("findings") if line.kind == DOUBT else None
        decided.update(map(str, findings if isinstance(findings, list) else ()))
    return decided
