"""Verifying a run: how it was kept, and whether the rules could have made it.

Keeping (chain, signatures, seals, files) is checked by record/; here every entry is decided again
from the state before it, by the copy of the procedure, and compared.
"""

import os
from collections.abc import Callable
from dataclasses import field, replace
from pathlib import Path
from typing import Any, Final

from benchrun.account.deviations import correction_in
from benchrun.account.facts import RemarkFacts
from benchrun.account.papers import remark_words
from benchrun.account.signing_list import lacking_remarks
from benchrun.account.walk import AccountWalk
from benchrun.carried_runs import carried_by
from benchrun.errors import BenchrunError
from benchrun.gc_pause import no_collecting
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import entry_of, kept_procedure
from benchrun.part_names import part_names
from benchrun.record.chain import FORMAT, PRINTED_BY, WHERE
from benchrun.record.check import check_run
from benchrun.record.findings import KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.glimpse import run_paths
from benchrun.record.identity import Identities
from benchrun.record.line import Line
from benchrun.record.roster import Roster
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.decide import decide
from benchrun.run.effects import Unfit
from benchrun.run.replay import command_of, same_outcome
from benchrun.run.state import Run
from benchrun.text import count, shown
from benchrun.verify.trust import Trust, trust_of

WHOLE, NOT_WHOLE, COULD_NOT_TELL = 0, 1, 2

_KNOWN: Final = {True: ", known to the shop", False: ", NOT known to the shop", None: ""}
_REMARKS_SINCE: Final = 2
"""The number of the format since which a statement names what was signed over."""

_AS_THEY_ARE: Final = (e.Recovered, e.Sealed, e.Signed)


@lean_dataclass(slots=True)
class RecordVerdict:
    """The verdict on one run's record.

    Attributes:
        faults, doubts: Lines of text, each with its place in the log where it has one.
        shop_head: The short head of the shop's register; empty where it is not at hand.
    """

    run: str
    keeping: KeepingReport
    faults: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    shop_head: str = ""

    @property
    def whole(self) -> bool:
        """Whether nothing was found that makes it not whole."""
        return not self.faults

    def as_data(self) -> dict[str, Any]:
        """The form that `--json` prints."""
        kept = self.keeping
        return {
            "run": self.run,
            "whole": self.whole,
            "faults": self.faults,
            "doubts": self.doubts,
            "entries": kept.entries,
            "signatures": kept.signatures,
            "seals": kept.seals,
            "photos": kept.photos,
            "closed": kept.closed,
            "head": kept.head,
            "signers": kept.signers,
            "known": kept.known,
            "approval": kept.approval.as_data() if kept.approval else None,
            "shop_head": self.shop_head,
        }

    def text(self) -> str:
        """The form that is printed for a person."""
        parted = {"fault": "  ", "doubt": "  ", "procedure": ": ", "": ""}
        rows = [f"  {label}{parted.get(label, ' ')}{words}" for label, words in self.told]
        return "\n".join([self.headline, *rows])

    @property
    def told(self) -> list[tuple[str, str]]:
        """All that there is to say of it, each with its label; what to do now has none."""
        kept = self.keeping
        rows = [("fault", shown(text, 400)) for text in self.faults]
        rows += [("doubt", shown(text, 400)) for text in self.doubts]
        rows += [
            ("signed by", f"{shown(who, 80)}, key {key}{_KNOWN[kept.known.get(who)]}")
            for who, key in kept.signers.items()
        ]
        if kept.approval is not None and kept.approval.words and not kept.approval.calls:
            rows.append(("procedure", shown(kept.approval.words, 400)))
        rows.append(("head", kept.head))
        return rows + ([] if self.whole else [("", words) for words in _what_now(kept.sound)])

    def brief(self) -> str:
        """The form that is printed where it is one run of many: faults in full, doubts counted."""
        doubts = f"; {count(len(self.doubts), 'doubt')}" if self.doubts else ""
        rows = [f"{self.headline}{doubts}"]
        rows += [f"  fault  {shown(text, 400)}" for text in self.faults]
        return "\n".join(rows)

    @property
    def headline(self) -> str:
        """The run, whether it is whole, and its counts."""
        state = "intact" if self.whole else "DAMAGED"
        return f"{shown(self.run, 100)}: {state} ({self.counts})"

    @property
    def counts(self) -> str:
        """How much there is of it, in words."""
        kept = self.keeping
        return ", ".join(
            (
                count(kept.entries, "entry", "entries"),
                count(kept.signatures, "signature"),
                count(kept.seals, "seal"),
                count(kept.photos, "photo"),
                "closed" if kept.closed else "not closed",
            )
        )


def verify(
    folder: Path,
    *,
    shop: Path | None = None,
    trust: Trust | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> RecordVerdict:
    """Verify one run.

    Args:
        folder: The run's folder.
        shop: The shop whose signers and register are trusted; None to look above the run for one.
        trust: The same where it was read already.
        progress: Called now and then with the bytes read and the bytes in all.

    Raises:
        BenchrunError: It could not be told: a file is missing or cannot be read.
    """
    trust = trust or trust_of(shop_of(folder, shop))
    register = trust.register
    replaying = _Replaying(RunFolder(folder), register.roster if register else None)
    with no_collecting():
        keeping = check_run(
            folder, trusted=trust.signers, register=register, each=replaying.take, progress=progress
        )
    verdict = RecordVerdict(keeping.run, keeping, shop_head=trust.head)
    verdict.faults += [trust.fault] if trust.fault else []
    verdict.faults += [finding.placed for finding in keeping.faults]
    verdict.faults += replaying.faults
    verdict.doubts += [finding.placed for finding in keeping.doubts]
    verdict.doubts += replaying.doubts
    return verdict


def checked_keys(folder: Path, shop: Path | None = None) -> dict[str, Any]:
    """The findings about the signatures of a run: `faults`, `signers`, `known`, `approval`.

    No entry is decided again, which is what takes the time.

    Raises:
        BenchrunError: It could not be told.
    """
    trust = trust_of(shop_of(folder, shop))
    kept = check_run(folder, trusted=trust.signers, register=trust.register)
    faults = [*([trust.fault] if trust.fault else []), *(one.placed for one in kept.faults)]
    approval = kept.approval.words if kept.approval else ""
    return {
        "faults": faults,
        "signers": kept.signers,
        "known": kept.known,
        "approval": approval,
    }


def _what_now(sound: int) -> tuple[str, ...]:
    """Advice for somebody who reads that a run is not whole."""
    held = "entry 0 is" if sound == 1 else f"entries 0 to {sound - 1} are"
    still = (
        f"{held} as they were signed or sealed"
        if sound
        else "no seal or signature before the first fault speaks for any of it"
    )
    return (
        f"{WHERE}; {PRINTED_BY} prints it.",
        f"Leave the folder as it is: {still}. Look for a copy that verifies whole.",
    )


def shop_of(folder: Path, shop: Path | None) -> Path | None:
    """The shop whose trust holds for a run: the one named, or the one above it; None without one.

    Raises:
        BenchrunError: The shop named has no signers.
    """
    path = shop or folder.absolute().parent.parent
    if os.path.lexists(path / "signers"):
        return path
    if shop is not None:
        raise BenchrunError(f"there are no signers in {shown(str(path), 200)}")
    return None


class _Replaying:
    """Decides every entry again as it is read."""

    def __init__(self, folder: RunFolder, roster: Roster | None) -> None:
        self._folder = folder
        self._walk: AccountWalk | None = None
        self._roster = roster
        self._people = Identities({}, roster)
        self._broken = False
        self._format = 0
        self._rehearsal = False
        self.faults: list[str] = []
        self._notes: list[str] = []
        self._corrections: list[RemarkFacts] = []

    def take(self, line: Line) -> None:
        """Take the next line."""
        if self._broken:
            return
        try:
            entry = entry_of(line)
            if self._walk is None:
                self._walk = self._begin(line, entry)
                if self._walk is None:
                    return
            self._compare(self._walk.run, entry)
            self._remarks(self._walk, entry)
            self._note(entry)
            self._walk.take(entry)
        except (BenchrunError, Unfit, ValueError, KeyError) as error:
            self._broken = True
            self.faults.append(f"entry {line.n}: the rules cannot follow it: {error}")

    def _begin(self, line: Line, entry: e.Entry) -> AccountWalk | None:
        self._people = Identities(line.data, self._roster)
        self._rehearsal = bool(line.data.get("rehearsal"))
        if self._rehearsal:
            said = shown(str(line.data["rehearsal"]), 100)
            self._notes.append(f"this is a rehearsal in virtual time: {said}")
        try:
            procedure = kept_procedure(self._folder, line.data)
        except BenchrunError as error:
            self._broken = True
            self.faults.append(f"no entry could be decided again by the rules: {error}")
            return None
        number = line.data.get("format")
        self._format = number if type(number) is int else 0
        return AccountWalk(procedure, entry, to_sign=True)

    def _hand(self, entry: e.Entry) -> Hand:
        people, by, at = self._people, entry.by, entry.at.utc_ms
        return Hand(by, people.name(by, at), people.roles(by, at))

    def _compare(self, run: Run, entry: e.Entry) -> None:
        if isinstance(entry.data, _AS_THEY_ARE):
            return
        hand = self._hand(entry)
        if isinstance(entry.data, e.Did) and entry.data.says:
            stated = entry.data.says.split(": ", 1)[0]
            if stated in self._people.names(entry.by, entry.at.utc_ms):
                hand = replace(hand, name=stated)  # a name may change while a run goes on
            elif hand.name == "":
                # Nothing says who this is, which is a doubt already: the words give a name.
                hand = replace(hand, name=stated, roles=_every_role(run))
        decided = decide(run, command_of(entry.n, entry.data), entry.at, hand)
        if isinstance(decided, Refusal):
            self.faults.append(
                f"entry {entry.n}: the rules refuse this {entry.kind}: {decided.text}"
            )
        elif not same_outcome(decided, entry.data):
            self.faults.append(
                f"entry {entry.n}: the rules come to another outcome of this {entry.kind}"
            )
        elif isinstance(entry.data, e.Did) and entry.data.says:
            self._role(run, entry, entry.data.step)
        elif isinstance(entry.data, e.Did) and entry.data.carried is not None:
            self._carried(run, entry.n, entry.data.step, entry.data.carried)

    def _carried(self, run: Run, n: int, step: str, carried: e.Carried) -> None:
        """Hold what another run came to against its own log, where that is at hand."""
        about = f"entry {n}: the run {shown(carried.run, 100)}, which carried a procedure out,"
        beside = self._folder.path.absolute().parent
        path = next((path for path in run_paths(beside) if path.name == carried.run), None)
        if path is None:
            if not self._rehearsal:
                self._notes.append(f"{about} is not at hand: its head was held against no log")
            return
        try:
            found = carried_by(RunFolder(path), run.route.steps[step], tuple(carried.parts))
        except (BenchrunError, ValueError) as error:
            self._notes.append(f"{about} cannot be read: {error}")
            return
        if found is None or found.head != carried.head:
            self.faults.append(f"{about} has another last line than this entry says")
        elif found != carried:
            self.faults.append(f"{about} came to something else than this entry says")

    def _role(self, run: Run, entry: e.Entry, step: str) -> None:
        """Say where a hold asks for a role that the register did not give at that time."""
        role = getattr(run.route.steps[step].detail, "role", "")
        roles = self._people.register_roles(entry.by, entry.at.utc_ms)
        if role and roles is not None and role not in roles:
            who = shown(entry.by, 80)
            self._notes.append(
                f"entry {entry.n}: {who} signed as {shown(role, 40)}, a role that the shop's "
                "register did not give then"
            )

    def _remarks(self, walk: AccountWalk, entry: e.Entry) -> None:
        """Say what a statement does not name of what was signed over.

        Another program may tell more than the one that wrote a log of an earlier number.
        """
        if isinstance(entry.data, e.Sealed) and entry.data.format:
            self._format = entry.data.format
        if self._format < _REMARKS_SINCE or not isinstance(entry.data, (e.Did, e.Closed)):
            return
        for remark in lacking_remarks(walk, entry.data):
            text = f"entry {entry.n}: what was signed over lacks {remark_words(remark)}"
            (self.faults if self._format == FORMAT else self._notes).append(text)

    def _note(self, entry: e.Entry) -> None:
        """List what a reader should know though it makes nothing less whole."""
        if isinstance(entry.data, e.Retracted):
            of = entry.data.of
            self._corrections = [one for one in self._corrections if one.n != of]
        elif isinstance(entry.data, e.Corrected):
            self._corrections.append(correction_in(entry, entry.data))

    @property
    def doubts(self) -> list[str]:
        """Notes for the reader, a line each."""
        deviations = self._walk.finish().deviations if self._walk else []
        remarks = sorted([*deviations, *self._corrections], key=lambda one: one.n)
        return self._notes + [_remark_words(one) for one in remarks]


def _remark_words(remark: RemarkFacts) -> str:
    who = f"{shown(part_names(remark.parts), 200)}: " if remark.parts else ""
    reason = f", {shown(remark.reason, 200)}" if remark.reason else ""
    return f"entry {remark.n}: {who}{shown(remark.words, 300)}{reason}"


def _every_role(run: Run) -> frozenset[str]:
    steps = run.route.steps.values()
    return frozenset(
        {step.who for step in steps} | {getattr(step.detail, "role", "") for step in steps}
    )
