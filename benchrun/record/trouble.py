"""Troubles with the keeping, as messages for a person."""

from benchrun.errors import BenchrunError
from benchrun.text import shown


class RecordBroken(BenchrunError):
    """A file of the record is damaged or was changed.

    Args:
        message: One line: the file, the entry, what was found.
        n: The number of the entry that should stand there; None for the whole file.
        found: What was found, without its place.
    """

    def __init__(self, message: str, *, n: int | None = None, found: str = "") -> None:
        super().__init__(message, exit_code=1)
        self.n = n
        self.found = found or message

    @classmethod
    def at(cls, name: str, n: int, found: str) -> "RecordBroken":
        """Damage where an entry should stand."""
        return cls(f"{shown(name, 200)} entry {n}: {found}", n=n, found=found)


class NotKept(BenchrunError):
    """An entry did not reach the disk and is not part of the log.

    Args:
        message: One line: what the disk said and what would do.
        retry: Whether the same entry may be tried again on this writer.
    """

    def __init__(self, message: str, *, retry: bool) -> None:
        super().__init__(message)
        self.retry = retry


class Locked(BenchrunError):
    """Another process holds the log; it may be read but not written."""


class BadSignature(BenchrunError):
    """A signature is malformed, does not fit the bytes, or is of a kind not accepted."""

    def __init__(self, message: str) -> None:
        super().__init__(message, exit_code=1)


class WrongPassphrase(BenchrunError):
    """The passphrase does not open the key file."""


class Unsound(BenchrunError):
    """A run whose record does not hold, so that nothing was added: going on is for a person.

    Args:
        run: The run's id.
        findings: What does not hold, each with its entry.
    """

    def __init__(self, run: str, findings: tuple[str, ...]) -> None:
        more = f", and {len(findings) - 1} more" if len(findings) > 1 else ""
        super().__init__(
            f"{shown(run, 100)} does not hold: {shown(findings[0], 300)}{more}. Nothing was "
            "written; benchrun verify tells all, and going on takes a reason",
            exit_code=1,
        )
        self.findings = findings
