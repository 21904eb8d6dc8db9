"""Verifying a run: how it was kept, and whether the rules could have made it.

Keeping (chain, signatures, seals, files) is checked by record/; here every entry is decided again
from the state before it, by the copy of the procedure, and compared.
"""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from benchrun.account.deviations import correction_in, deviations_in
from benchrun.account.facts import RemarkFacts
from benchrun.account.questions import AskedFacts, asked_in
from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.record.chain import PRINTED_BY, WHERE
from benchrun.record.check import check_run
from benchrun.record.findings import Grade, KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.identity import Identities
from benchrun.record.line import Line
from benchrun.record.register import HEAD_DIGITS, REGISTER_NAME, Register, RegisterLog, short_head
from benchrun.record.roster import Roster
from benchrun.record.signers import Signers, read_signers
from benchrun.record.trouble import RecordBroken
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.effects import Unfit
from benchrun.run.fold import fold
from benchrun.run.replay import command_of, same_outcome
from benchrun.run.state import Run
from benchrun.shop.folder import open_shop
from benchrun.shop.people import people_sheet
from benchrun.text import count, listed, shown

WHOLE, NOT_WHOLE, COULD_NOT_TELL = 0, 1, 2

_KNOWN: Final = {True: ", known to the shop", False: ", NOT known to the shop", None: ""}
_AS_THEY_ARE: Final = (e.Recovered, e.Sealed, e.Signed)


@dataclass(slots=True)
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
            "shop_head": self.shop_head,
        }

    def text(self) -> str:
        """The form that is printed for a person."""
        kept = self.keeping
        rows = [self.headline]
        rows += [f"  fault  {shown(text, 400)}" for text in self.faults]
        rows += [f"  doubt  {shown(text, 400)}" for text in self.doubts]
        rows += [
            f"  signed by {shown(who, 80)}, key {key}{_KNOWN[kept.known.get(who)]}"
            for who, key in kept.signers.items()
        ]
        rows.append(f"  head {kept.head}")
        rows += [] if self.whole else _what_now(kept.sound)
        return "\n".join(rows)

    def brief(self) -> str:
        """The form that is printed where it is one run of many: faults in full, doubts counted."""
        doubts = f"; {count(len(self.doubts), 'doubt')}" if self.doubts else ""
        rows = [f"{self.headline}{doubts}"]
        rows += [f"  fault  {shown(text, 400)}" for text in self.faults]
        return "\n".join(rows)

    @property
    def headline(self) -> str:
        """The run, whether it is whole, and its counts."""
        kept = self.keeping
        counts = ", ".join(
            (
                count(kept.entries, "entry", "entries"),
                count(kept.signatures, "signature"),
                count(kept.seals, "seal"),
                count(kept.photos, "photo"),
                "closed" if kept.closed else "not closed",
            )
        )
        state = "whole" if self.whole else "NOT WHOLE"
        return f"{shown(self.run, 100)}: {state} ({counts})"


@dataclass(frozen=True, slots=True)
class Trust:
    """A shop's trust, read once for any number of its runs.

    Attributes:
        signers: Its signers; None where no shop is at hand.
        register: Its register; None where it is not at hand or damaged.
        fault: Why the register cannot be relied on, or empty.
    """

    signers: Signers | None = None
    register: RegisterLog | None = None
    fault: str = ""

    @property
    def head(self) -> str:
        """The short head of the register, empty where there is none."""
        return self.register.short_head if self.register else ""


def trust_of(shop: Path | None) -> Trust:
    """Read the signers and the register of a shop.

    Raises:
        BenchrunError: The signers cannot be read.
    """
    signers = _trusted(shop)
    try:
        return Trust(signers, _register(shop))
    except RecordBroken as error:
        return Trust(signers, None, f"the shop's own register cannot be relied on: {error}")


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
    trust = trust or trust_of(_shop_of(folder, shop))
    register = trust.register
    replaying = _Replaying(RunFolder(folder), register.roster if register else None)
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


def _what_now(sound: int) -> tuple[str, ...]:
    """Advice for somebody who reads that a run is not whole."""
    held = "entry 0 is" if sound == 1 else f"entries 0 to {sound - 1} are"
    still = (
        f"{held} as they were signed or sealed"
        if sound
        else "no seal or signature before the first fault speaks for any of it"
    )
    return (
        f"  {WHERE}; {PRINTED_BY} prints it.",
        f"  Leave the folder as it is: {still}. Look for a copy that verifies whole.",
    )


@dataclass(slots=True)
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
        state = "whole" if self.whole else "NOT WHOLE"
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
            verdict.doubts.append(f"{person.id} stands in people.yaml and not in the register")
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
            f"the register never had the head {shown(head, 60)}: it was set back, or made anew, "
            "since that was noted"
        )
        return
    verdict.notes.append(
        f"the head {short_head(line.head)} is that of entry {line.n}, of {line.at.utc[:10]}: all "
        "that the register said by then still stands"
    )


def _shop_of(folder: Path, shop: Path | None) -> Path | None:
    path = shop or folder.absolute().parent.parent
    if os.path.lexists(path / "signers"):
        return path
    if shop is not None:
        raise BenchrunError(f"there are no signers in {shown(str(path), 200)}")
    return None


def _trusted(shop: Path | None) -> Signers | None:
    try:
        return read_signers(shop / "signers") if shop else None
    except BenchrunError as error:
        raise BenchrunError(f"the shop's own {error}") from None


def _register(shop: Path | None) -> RegisterLog | None:
    return Register(shop).read() if shop and os.path.lexists(shop / REGISTER_NAME) else None


class _Replaying:
    """Decides every entry again as it is read."""

    def __init__(self, folder: RunFolder, roster: Roster | None) -> None:
        self._folder = folder
        self._run: Run | None = None
        self._roster = roster
        self._people = Identities({}, roster)
        self._broken = False
        self.faults: list[str] = []
        self._notes: list[str] = []
        self._remarks: list[RemarkFacts] = []
        self._statements = e.Statements()
        self._asked: dict[str, AskedFacts] = {}

    def take(self, line: Line) -> None:
        """Take the next line."""
        if self._broken:
            return
        try:
            if self._run is None:
                self._run = self._begin(line)
                if self._run is None:
                    return
            entry = entry_of(line)
            self._compare(self._run, entry)
            self._note(self._run, entry)
            self._run = fold(self._run, entry)
        except (BenchrunError, Unfit, ValueError, KeyError) as error:
            self._broken = True
            self.faults.append(f"entry {line.n}: the rules cannot follow it: {error}")

    def _begin(self, line: Line) -> Run | None:
        self._people = Identities(line.data, self._roster)
        if line.data.get("rehearsal"):
            said = shown(str(line.data["rehearsal"]), 100)
            self._notes.append(f"this is a rehearsal in virtual time: {said}")
        try:
            procedure = kept_procedure(self._folder, line.data)
        except BenchrunError as error:
            self._broken = True
            self.faults.append(f"no entry could be decided again by the rules: {error}")
            return None
        return Run(Course(procedure.route))

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

    def _note(self, run: Run, entry: e.Entry) -> None:
        """List what a reader should know though it makes nothing less whole."""
        step_of = run.route.steps.get
        self._statements.take(entry)
        if isinstance(entry.data, e.Retracted):
            of = entry.data.of
            self._remarks = [one for one in self._remarks if one.n != of]
        self._remarks += deviations_in(entry, step_of, self._asked.get)
        if isinstance(entry.data, e.Corrected):
            self._remarks.append(correction_in(entry, entry.data))
        self._asked |= {one.id: one for one in asked_in(entry.data, step_of)}

    @property
    def doubts(self) -> list[str]:
        """Notes for the reader, a line each."""
        void = self._statements.unsigned
        return self._notes + [_remark_words(one) for one in self._remarks if one.n not in void]


def _remark_words(remark: RemarkFacts) -> str:
    who = f"{shown(listed(remark.parts), 200)}: " if remark.parts else ""
    reason = f", {shown(remark.reason, 200)}" if remark.reason else ""
    return f"entry {remark.n}: {who}{shown(remark.words, 300)}{reason}"


def _every_role(run: Run) -> frozenset[str]:
    steps = run.route.steps.values()
    return frozenset(
        {step.who for step in steps} | {getattr(step.detail, "role", "") for step in steps}
    )
