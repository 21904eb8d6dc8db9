"""The look at a run before it is taken up: whether all that it holds may be added to and sealed."""

from dataclasses import field

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.chain import FORMAT, ReadLog
from benchrun.record.folder import RunFolder
from benchrun.record.register import Register
from benchrun.record.signers import read_signers
from benchrun.record.soundness import is_registered, unsound
from benchrun.record.trouble import Unsound
from benchrun.shop.folder import Shop, pasteable
from benchrun.shop_use.supplies import entries_booked
from benchrun.text import count

LEFT = ("suspend", "close")
"""The words of the last seal of a log that was not broken off."""


@lean_dataclass(slots=True)
class Inspection:
    """Looks at a run's log before anything is written, and keeps what it came to.

    Args:
        shop: Where.
        folder: The run.
        reason: Why somebody goes on although something does not hold; empty for nobody does.

    Attributes:
        findings: What does not hold.
        notes: What was broken off and is put right when the run is taken up.
        unknown: Whether the register does not know the run yet, its beginning having been cut.
        raised: The number of the format from here on, 0 where it stays.
        set_back: An entry of the register that this machine saw and that is gone, or empty.
    """

    shop: Shop
    folder: RunFolder
    reason: str
    findings: tuple[str, ...] = ()
    notes: list[str] = field(default_factory=list)
    unknown: bool = False
    raised: int = 0
    set_back: str = ""

    def __call__(self, log: ReadLog) -> None:
        """Look at a log.

        Raises:
            Unsound: Something does not hold, and there is no reason to go on all the same.
            BenchrunError: The shop's signers or its register cannot be read.
        """
        if not log.lines:
            return
        if self.folder.seal.is_file():
            raise closed_error(self.folder)
        register = Register(self.shop.path).read()
        trusted = read_signers(self.shop.signers)
        holds_not = unsound(self.folder, log, trusted, register)
        self.findings = (*holds_not, *self._books_ahead(log))
        if self.findings and not self.reason:
            raise Unsound(self.folder.run, self.findings)
        if not self.findings:
            register.keep_seen()
        self.set_back = register.set_back()
        self.raised = FORMAT if log.format < FORMAT else 0
        self.unknown = not is_registered(log, register)
        self._note(log)

    def _books_ahead(self, log: ReadLog) -> tuple[str, ...]:
        try:
            booked = entries_booked(self.shop, self.folder.run)
        except BenchrunError:
            return ()  # a book that cannot be read is told when it is to follow
        lacking = sorted(n for n in booked if n >= len(log.lines))
        if not lacking:
            return ()
        return (
            f"the stock book took entry {lacking[-1]} of this run, and the log ends "
            f"with entry {len(log.lines) - 1}: it was set back, or cut",
        )

    def _note(self, log: ReadLog) -> None:
        last = log.lines[-1]
        if last.kind != "seal" or last.data.get("why") not in LEFT:
            sealed = max(
                (line.n for line in log.lines if line.kind in ("seal", "sign")), default=-1
            )
            bare = count(last.n - sealed, "entry", "entries")
            self.notes.append(
                f"nothing was suspended: the run was broken off after entry {last.n}"
                + (f", with {bare} under no seal" if last.n > sealed else "")
            )
        if last.kind in ("close", "do") and last.data.get("says"):
            self.notes.append(f"nobody signed entry {last.n}: it counts for nothing")
        if self.unknown:
            self.notes.append("the shop's register did not know the run yet, and does now")


def closed_error(folder: RunFolder) -> BenchrunError:
    """The refusal to take up a run that is closed."""
    prints = pasteable(folder.path.parent.parent, "show", folder.run)
    return BenchrunError(f"the run {folder.run} is closed; this prints it: {prints}")
