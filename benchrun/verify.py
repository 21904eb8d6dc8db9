"""Verifying a run: how it was kept, and whether the rules could have made it.

Keeping (chain, signatures, seals, files) is checked by record/; here every entry is decided again
from the state before it, by the copy of the procedure, and compared.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from benchrun.account.deviations import correction_in, deviations_in
from benchrun.account.facts import RemarkFacts
from benchrun.account.questions import AskedFacts, asked_in
from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.record.chain import PRINTED_BY, WHERE, ReadLog
from benchrun.record.check import check_run
from benchrun.record.findings import KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.record.line import Line
from benchrun.record.register import REGISTER_NAME, Register
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
from benchrun.text import count, listed, shown

WHOLE, NOT_WHOLE, COULD_NOT_TELL = 0, 1, 2

_AS_THEY_ARE: Final = (e.Recovered, e.Sealed, e.Signed)


@dataclass(slots=True)
class RecordVerdict:
    """The verdict on one run's record.

    Attributes:
        faults, doubts: Lines of text, each with its place in the log where it has one.
    """

    run: str
    keeping: KeepingReport
    faults: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

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
        }

    def text(self) -> str:
        """The form that is printed for a person."""
        kept = self.keeping
        head = f"{shown(self.run, 100)}: {'whole' if self.whole else 'NOT WHOLE'}"
        counts = ", ".join(
            (
                count(kept.entries, "entry", "entries"),
                count(kept.signatures, "signature"),
                count(kept.seals, "seal"),
                count(kept.photos, "photo"),
                "closed" if kept.closed else "not closed",
            )
        )
        rows = [f"{head} ({counts})"]
        rows += [f"  fault  {shown(text, 400)}" for text in self.faults]
        rows += [f"  doubt  {shown(text, 400)}" for text in self.doubts]
        rows += [f"  signed by {shown(who, 80)}, key {key}" for who, key in kept.signers.items()]
        rows.append(f"  head {kept.head}")
        rows += [] if self.whole else _what_now(kept.covered)
        return "\n".join(rows)


def verify(
    folder: Path,
    *,
    shop: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> RecordVerdict:
    """Verify one run.

    Args:
        folder: The run's folder.
        shop: The shop whose signers and register are trusted; None to look above the run for one.
        progress: Called now and then with the bytes read and the bytes in all.

    Raises:
        BenchrunError: It could not be told: a file is missing or cannot be read.
    """
    place = _shop_of(folder, shop)
    trusted, register, unfit = _trusted(place), None, ""
    try:
        register = _register(place)
    except RecordBroken as error:
        unfit = f"the shop's own register cannot be relied on: {error}"
    replaying = _Replaying(RunFolder(folder))
    keeping = check_run(
        folder, trusted=trusted, register=register, each=replaying.take, progress=progress
    )
    verdict = RecordVerdict(keeping.run, keeping)
    verdict.faults += [unfit] if unfit else []
    verdict.faults += [_placed(one.n, one.text) for one in keeping.faults]
    verdict.faults += replaying.faults
    verdict.doubts += [_placed(one.n, one.text) for one in keeping.doubts]
    verdict.doubts += replaying.doubts
    return verdict


def _what_now(covered: int) -> tuple[str, ...]:
    """Advice for somebody who reads that a run is not whole."""
    held = "entry 0 is" if covered == 1 else f"entries 0 to {covered - 1} are"
    still = f"{held} as they were signed or sealed" if covered else "no signature or seal holds"
    return (
        f"  {WHERE}; {PRINTED_BY} prints it.",
        f"  Leave the folder as it is: {still}. Look for a copy that verifies whole.",
    )


def _placed(n: int | None, text: str) -> str:
    return text if n is None else f"entry {n}: {text}"


def _shop_of(folder: Path, shop: Path | None) -> Path | None:
    path = shop or folder.absolute().parent.parent
    if (path / "signers").is_file():
        return path
    if shop is not None:
        raise BenchrunError(f"there are no signers in {shown(str(path), 200)}")
    return None


def _trusted(shop: Path | None) -> Signers | None:
    try:
        return read_signers(shop / "signers") if shop else None
    except BenchrunError as error:
        raise BenchrunError(f"the shop's own {error}") from None


def _register(shop: Path | None) -> ReadLog | None:
    return Register(shop).read() if shop and (shop / REGISTER_NAME).is_file() else None


class _Replaying:
    """Decides every entry again as it is read."""

    def __init__(self, folder: RunFolder) -> None:
        self._folder = folder
        self._run: Run | None = None
        self._people: Mapping[str, Any] = {}
        self._broken = False
        self.faults: list[str] = []
        self._heads: list[str] = []
        self._remarks: list[RemarkFacts] = []
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
        people = line.data.get("people")
        self._people = people if isinstance(people, dict) else {}
        if line.data.get("rehearsal"):
            said = shown(str(line.data["rehearsal"]), 100)
            self._heads.append(f"this is a rehearsal in virtual time: {said}")
        try:
            procedure = kept_procedure(self._folder, line.data)
        except BenchrunError as error:
            self._broken = True
            self.faults.append(f"no entry could be decided again by the rules: {error}")
            return None
        return Run(Course(procedure.route))

    def _hand(self, entry: e.Entry) -> Hand:
        known = self._people.get(entry.by)
        name, roles = "", frozenset[str]()
        if isinstance(known, dict):
            name, roles = str(known.get("name", "")), frozenset(known.get("roles", ()))
        return Hand(entry.by, name, roles)

    def _compare(self, run: Run, entry: e.Entry) -> None:
        if isinstance(entry.data, _AS_THEY_ARE):
            return
        hand = self._hand(entry)
        if hand.name == "" and isinstance(entry.data, e.Did) and entry.data.says:
            # Somebody who joined the shop after the run began: the signed words give the name.
            hand = replace(hand, name=entry.data.says.split(": ", 1)[0], roles=_every_role(run))
        decided = decide(run, command_of(entry.n, entry.data), entry.at, hand)
        if isinstance(decided, Refusal):
            self.faults.append(
                f"entry {entry.n}: the rules refuse this {entry.kind}: {decided.text}"
            )
        elif not same_outcome(decided, entry.data):
            self.faults.append(
                f"entry {entry.n}: the rules come to another outcome of this {entry.kind}"
            )

    def _note(self, run: Run, entry: e.Entry) -> None:
        """List what a reader should know though it makes nothing less whole."""
        step_of = run.route.steps.get
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
        return self._heads + [_remark_words(one) for one in self._remarks]


def _remark_words(remark: RemarkFacts) -> str:
    who = f"{shown(listed(remark.parts), 200)}: " if remark.parts else ""
    reason = f", {shown(remark.reason, 200)}" if remark.reason else ""
    return f"entry {remark.n}: {who}{shown(remark.words, 300)}{reason}"


def _every_role(run: Run) -> frozenset[str]:
    steps = run.route.steps.values()
    return frozenset(
        {step.who for step in steps} | {getattr(step.detail, "role", "") for step in steps}
    )
