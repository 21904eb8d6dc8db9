"""The shop's register: a chained list of the runs that were opened and closed, with their heads.

Kept apart from the runs, it shows a run that vanished or was rolled back. Its lines have the form
of a log's lines, with the kinds `opened`, `marked` (the head of a run that goes on) and `closed`.
"""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrun.moment import Moment
from benchrun.record.chain import ReadLog, read_log
from benchrun.record.line import ZEROS, Line
from benchrun.record.trouble import NotKept, RecordBroken
from benchrun.record.writer import RECOVERED, LogWriter
from benchrun.text import shown

REGISTER_NAME: Final = "register.jsonl"
_KINDS: Final = frozenset({"opened", "marked", "closed"})
# Another window holds the register for as long as one line takes.
_WAIT_MS: Final = 5000


@dataclass(frozen=True, slots=True)
class RunState:
    """How far a run has come.

    Attributes:
        run: The run's id.
        n: The number of its last entry.
        head: SHA-256 (hex) of that entry's line.
    """

    run: str
    n: int
    head: str


@dataclass(frozen=True, slots=True)
class Mention:
    """The state of a run in one entry of the register.

    Attributes:
        n: Its number in the register.
        kind: `opened`, `marked` or `closed`.
        state: The run and its last entry then.
    """

    n: int
    kind: str
    state: RunState


class Register:
    """A shop's register.

    Args:
        shop: The shop's folder.
    """

    def __init__(self, shop: Path) -> None:
        self.path = shop / REGISTER_NAME

    def read(self) -> ReadLog:
        """Read it and prove its chain; one that is not there is empty.

        Raises:
            RecordBroken: It is damaged.
        """
        if not self.path.exists():
            return ReadLog(self.path.name, ())
        return read_log(self.path)

    def head(self) -> str:
        """SHA-256 (hex) of its last line, 64 zeros when it is empty."""
        return self.read().head

    def mentions(self) -> tuple[Mention, ...]:
        """The states of runs, in order.

        Raises:
            RecordBroken: It is damaged.
        """
        return tuple(mentions(self.read()))

    def enter(self, at: Moment, by: str, kind: str, state: RunState) -> str:
        """Enter a run's state.

        Args:
            at: When.
            by: Who.
            kind: `opened`, `marked` or `closed`.
            state: The run and its last line.

        Returns:
            The register's own head after it.

        Raises:
            Locked: Another window holds it for longer than a few seconds.
            NotKept: The disk refused.
            RecordBroken: It is damaged.
        """
        if kind not in _KINDS:
            raise ValueError(f"{kind} is not one of {', '.join(sorted(_KINDS))}")
        with self._writer() as writer:
            if writer.set_aside:
                files = [aside.as_data() for aside in writer.set_aside]
                writer.append(at, by, RECOVERED, {"files": files})
            data = {"run": state.run, "head": state.head, "n": state.n}
            writer.append(at, by, kind, data)
            return writer.head

    def _writer(self) -> LogWriter:
        if not self.path.exists():
            # Another window may start it at this moment; then it is opened below.
            with suppress(NotKept):
                return LogWriter.create(self.path.parent, self.path.name)
        if not self.path.exists():
            raise NotKept(
                f"{shown(str(self.path), 200)} cannot be started: can its folder be written?",
                retry=False,
            )
        return LogWriter.open(self.path.parent, self.path.name, wait_ms=_WAIT_MS)


def mentions(register: ReadLog) -> Iterator[Mention]:
    """The states of runs in a register that was read.

    Raises:
        RecordBroken: A line lacks something.
    """
    for line in register.lines:
        if line.kind in _KINDS:
            yield _mention(line, register.name)


def _mention(line: Line, name: str) -> Mention:
    run, head, n = (line.data.get(key) for key in ("run", "head", "n"))
    if not isinstance(run, str) or not isinstance(head, str) or type(n) is not int:
        raise RecordBroken.at(name, line.n, "it must hold run, head and n")
    return Mention(line.n, line.kind, RunState(run, n, head))


def disagreements(
    register: ReadLog, run: str, heads: Mapping[int, str], *, to_the_end: bool = True
) -> list[str]:
    """Where the register and a run's log do not agree, in plain words.

    Args:
        register: The register.
        run: The run's id.
        heads: The digest of each of the log's lines by its number.
        to_the_end: Whether these are all that it has; what lies behind damage may still be there.

    Returns:
        One line for each; empty when they agree or the register does not know the run.
    """
    found = []
    for mention in mentions(register):
        if mention.state.run != run:
            continue
        n = mention.state.n
        head = heads.get(n)
        where = f"entry {mention.n} of the shop's register says it was {mention.kind}"
        if head is None and not to_the_end:
            continue
        if head is None:
            found.append(f"{where} with entry {n}, which the log no longer has")
        elif head != mention.state.head:
            found.append(f"{where} with another entry {n} than the log has")
    return found


def knows_head(register: ReadLog, head: str) -> bool:
    """Whether the register ever ended with that head."""
    return head == ZEROS or any(line.head == head for line in register.lines)
