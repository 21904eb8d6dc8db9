"""Verifying a run: how it was kept, and whether the rules could have made it.

Keeping (chain, signatures, seals, files) is checked by record/; here every entry is decided again
from the state before it, by the copy of the procedure, and compared.
"""

import os
from collections.abc import Callable
from dataclasses import field
from pathlib import Path
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.gc_pause import no_collecting
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.chain import PRINTED_BY, WHERE
from benchrun.record.check import check_run
from benchrun.record.findings import KeepingReport
from benchrun.record.folder import RunFolder
from benchrun.text import count, shown
from benchrun.verify.replay import Replay
from benchrun.verify.trust import Trust, trust_of

WHOLE, NOT_WHOLE, COULD_NOT_TELL = 0, 1, 2

_KNOWN: Final = {True: ", known to the shop", False: ", NOT known to the shop", None: ""}


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
    replay = Replay(RunFolder(folder), register.roster if register else None)
    with no_collecting():
        keeping = check_run(
            folder, trusted=trust.signers, register=register, each=replay.take, progress=progress
        )
        replay.catch_up()
    verdict = RecordVerdict(keeping.run, keeping, shop_head=trust.head)
    verdict.faults += [trust.fault] if trust.fault else []
    verdict.faults += [finding.placed for finding in keeping.faults]
    verdict.faults += replay.faults
    verdict.doubts += [finding.placed for finding in keeping.doubts]
    verdict.doubts += replay.doubts
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
