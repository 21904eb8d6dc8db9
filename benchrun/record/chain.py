"""Reading a log: every line must follow from the one before it.

The last bytes may lack their LF: that is a torn fragment of a line that was never acknowledged,
and is reported apart. Any other damage is refused with the number of the entry that should stand
there.
"""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import field
from pathlib import Path
from typing import IO, Final

from benchrun.errors import disk_said
from benchrun.gc_pause import no_collecting
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.record.line import MOST_BYTES, ZEROS, Line, LineError, read_log_line
from benchrun.record.trouble import RecordBroken
from benchrun.text import shown
from benchrun.version import newer

FORMAT: Final = 5
"""The number of the format that this program writes, and the latest that it reads."""

WHERE: Final = 'Entry N is the line of log.jsonl that holds "n":N'
"""Where an entry stands that is named by its number."""

PRINTED_BY: Final = 'sed -n "$((N + 1))p" log.jsonl'
"""The stock command that prints entry N, whether its number can be read or not."""

_NUMBERED: Final = frozenset({"open", "seal"})
_LF: Final = 10


class Chain:
    """Takes line after line and proves that each is canonical and follows from the one before.

    Args:
        name: What the file is called in messages.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.n = 0
        self.head = ZEROS

    def take(self, raw: bytes) -> Line:
        """Read the next line.

        Raises:
            RecordBroken: It is not a line, or does not follow.
            BenchrunError: From here on the log is of a later format than this program knows.
        """
        try:
            line = read_log_line(raw)
        except LineError as error:
            raise self.broken(str(error)) from None
        if line.n != self.n:
            raise self.broken(f"its number is {line.n}, should be {self.n}")
        if line.prev != self.head:
            raise self.broken("it does not follow from the line before: a line was changed")
        if "format" in line.data:
            self._refuse_later(line)
        self.n += 1
        self.head = line.head
        return line

    def pass_proven(self, line: Line) -> Line:
        """Go past the next line, which was proven before and has the same bytes."""
        self.n += 1
        self.head = line.head
        return line

    def _refuse_later(self, line: Line) -> None:
        """Never judge, or go on with, what a later program may have meant otherwise."""
        number = line.data.get("format")
        if type(number) is int and number > FORMAT:
            raise newer(f"{shown(self.name, 200)} from entry {line.n} on", number, FORMAT)

    def broken(self, found: str) -> RecordBroken:
        """The refusal of the line that is due, with its place."""
        return RecordBroken.at(self.name, self.n, found)


@lean_dataclass(frozen=True, slots=True)
class ReadLog:
    """A log that was read and whose chain is whole.

    Attributes:
        name: The file's name, for messages.
        lines: All whole lines.
        torn_tail: The fragment after the last LF, None when there is none.
    """

    name: str
    lines: Sequence[Line]
    torn_tail: bytes | None = None
    _digests: dict[tuple[int, str], bytes] = field(default_factory=dict, repr=False, compare=False)

    @property
    def head(self) -> str:
        """SHA-256 (hex) of the last line, 64 zeros for a log without lines."""
        return self.lines[-1].head if self.lines else ZEROS

    @property
    def format(self) -> int:
        """The number of the format that holds at its end, 0 where it gives none."""
        stated = (line.data.get("format") for line in self.lines if line.kind in _NUMBERED)
        return max((one for one in stated if type(one) is int), default=0)

    def prefix_digest(self, n: int, algorithm: str = "sha512") -> bytes:
        """Digest all bytes of the file before line `n` (`len(lines)` for the whole file).

        Args:
            n: The number of the line that the digest stops before.
            algorithm: `sha256` or `sha512`.
        """
        known = self._digests.get((n, algorithm))
        if known is None:
            running = hashlib.new(algorithm)
            for line in self.lines[:n]:
                running.update(line.raw)
            known = self._digests[n, algorithm] = running.digest()
        return known


def raw_lines(file: IO[bytes], name: str, before: int = 0) -> Iterator[bytes]:
    """Yield the lines of a file as bytes; only the last may lack its LF.

    Args:
        file: The file, from where it stands.
        name: What it is called in messages.
        before: How many lines come before those.

    Raises:
        RecordBroken: A line does not end within the most bytes a line may have.
    """
    n = before
    while raw := file.readline(MOST_BYTES + 1):
        if len(raw) > MOST_BYTES:
            raise RecordBroken.at(name, n, f"it does not end within {MOST_BYTES} bytes")
        yield raw
        n += 1


def read_open(file: IO[bytes], name: str, known: ReadLog | None = None) -> ReadLog:
    """Read a log from an open file, from where it stands to its end.

    Args:
        file: The file.
        name: What it is called in messages.
        known: The same log as it was read before. As far as it has the same bytes now, they are
            proven already.

    Raises:
        RecordBroken: Anything is damaged except a torn last fragment.
        BenchrunError: It is of a later format than this program knows.
    """
    chain = Chain(name)
    lines: list[Line] = []
    torn: bytes | None = None
    proven = iter(known.lines if known is not None else ())
    with no_collecting():
        for raw in raw_lines(file, name):
            before = next(proven, None)
            if raw[-1] != _LF:
                torn = raw
            elif before is not None and before.raw == raw:
                lines.append(chain.pass_proven(before))
            else:
                proven = iter(())
                lines.append(chain.take(raw))
    return ReadLog(name, lines, torn)


def read_log(path: Path, known: ReadLog | None = None) -> ReadLog:
    """Read a log file and prove its chain.

    Args:
        path: The file.
        known: The same log as it was read before, see `read_open`.

    Raises:
        RecordBroken: Anything is damaged except a torn last fragment; says which entry.
        BenchrunError: It is of a later format than this program knows.
    """
    try:
        with open_regular(path) as file:
            return read_open(file, path.name, known)
    except OSError as error:
        broken = RecordBroken(f"{shown(str(path), 200)} cannot be read: {disk_said(error)}")
        broken.exit_code = 2
        raise broken from None
