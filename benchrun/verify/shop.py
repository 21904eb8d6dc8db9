"""Verifying a shop: its register against its runs, signers and people, and a head noted down."""

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.findings import Grade
from benchrun.record.register_log import HEAD_DIGITS, REGISTER_NAME, RegisterLog, short_head
from benchrun.record.roster import Roster
from benchrun.record.signers import Signers
from benchrun.shop.folder import open_shop
from benchrun.shop.people import people_sheet
from benchrun.text import count, listed, shown
from benchrun.verify.trust import Trust


@lean_dataclass(slots=True)
class ShopVerdict:
    """The outcome of holding a shop's register against its runs, signers and people.

    Attributes:
        head: The short head of the register, empty where it has no entry.
        entries: How many entries the register has.
        faults, doubts: Lines of text.
        notes: What was asked and holds.
    """

    head: str
    entries: int
    faults: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether nothing was found that makes it not whole."""
        return not self.faults

    def as_data(self) -> dict[str, Any]:
        """The form that `--json` prints."""
        return {
            "shop": True,
            "whole": self.whole,
            "faults": self.faults,
            "doubts": self.doubts,
            "notes": self.notes,
            "entries": self.entries,
            "head": self.head,
        }

    def text(self) -> str:
        """The form that is printed for a person."""
        state = "intact" if self.whole else "DAMAGED"
        rows = [f"the shop's register: {state} ({count(self.entries, 'entry', 'entries')})"]
        rows += [f"  fault  {shown(text, 400)}" for text in self.faults]
        rows += [f"  doubt  {shown(text, 400)}" for text in self.doubts]
        rows += [f"  {text}" for text in self.notes]
        rows.append(f"  head of the shop {self.head or 'none yet'}")
        return "\n".join(rows)


def verify_shop(
    shop: Path, trust: Trust, runs: Mapping[str, str] | None = None, *, head: str = ""
) -> ShopVerdict:
    """Hold a shop's register against its runs, its signers and people, and a head noted down.

    Args:
        shop: The shop's folder.
        trust: Its signers and register.
        runs: The runs that are there, by the name of their folder the id that their log gives;
            None where they are not to be looked at.
        head: A short head that somebody noted earlier; empty for none.

    Raises:
        BenchrunError: The head is too short, or the shop's people cannot be read.
    """
    register = trust.register
    if register is None:
        fault = trust.fault or f"there is no {REGISTER_NAME}: nothing says which runs there were"
        return ShopVerdict("", 0, [fault])
    verdict = ShopVerdict(trust.head, len(register.lines))
    for finding in register.findings(trust.signers):
        (verdict.faults if finding.grade is Grade.FAULT else verdict.doubts).append(finding.text)
    if verdict.whole:
        register.keep_seen()
    verdict.doubts += [doubt.words for doubt in register.doubts]
    _missing_runs(verdict, register, runs)
    now_ms = max((line.utc_ms for line in register.lines), default=0)
    verdict.doubts += register.roster.differences(trust.signers or Signers(), now_ms)
    _people(verdict, shop, register.roster)
    if head:
        _noted_head(verdict, register, head)
    return verdict


def _missing_runs(
    verdict: ShopVerdict, register: RegisterLog, runs: Mapping[str, str] | None
) -> None:
    if runs is None:
        return
    ids = list(runs.values())
    for run in register.runs:
        said = register.of(run)[-1]
        if run not in ids:
            verdict.faults.append(
                f"the run {shown(run, 100)} is missing: entry {said.n} of the register says that "
                f"it was {said.kind} with entry {said.state.n}"
            )
    for run in sorted({run for run in ids if ids.count(run) > 1}):
        folders = ", ".join(sorted(shown(one, 100) for one, own in runs.items() if own == run))
        verdict.doubts.append(f"the run {shown(run, 100)} is there more than once: {folders}")


def _people(verdict: ShopVerdict, shop: Path, roster: Roster) -> None:
    if not roster.keeps_people:
        if roster.keeps_keys:
            return
        verdict.doubts.append(
            "the register of an earlier program says nothing of keys and people: a key that came "
            "from nowhere, and a role that nobody gave, do not show"
        )
        return
    sheet = people_sheet(open_shop(shop))
    verdict.doubts += [fault.words for fault in sheet.faults]
    for person in sheet.rows:
        known = roster.people.get(person.id)
        if known is None:
            verdict.doubts.append(f"{person.id} is in people.yaml and not in the register")
        elif known.roles != frozenset(person.roles):
            verdict.doubts.append(
                f"people.yaml gives {person.id} the roles {listed(person.roles) or 'none'}, the "
                f"register {listed(sorted(known.roles)) or 'none'}: benchrun people set enters them"
            )


def _noted_head(verdict: ShopVerdict, register: RegisterLog, head: str) -> None:
    digits = "".join(char for char in head.lower() if char.isalnum())
    if len(digits) < HEAD_DIGITS:
        raise BenchrunError(
            f"{shown(head, 60)!r} is no head of a shop: it has {HEAD_DIGITS} digits and letters"
        )
    line = register.entry_of_head(digits)
    if line is None:
        verdict.faults.append(
            f"the register never had the head {shown(head, 60)}: it was set back, or rebuilt, "
            "since that was noted"
        )
        return
    verdict.notes.append(
        f"the head {short_head(line.head)} is that of entry {line.n}, of {line.at.utc[:10]}: all "
        "that the register said by then still stands"
    )
