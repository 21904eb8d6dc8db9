"""Reading a run as it is kept: the copy of its procedure, its entries, the state they fold to."""

import hashlib
from collections.abc import Mapping
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.gc_pause import no_collecting
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import read_plain
from benchrun.procedure.route import Procedure
from benchrun.record.folder import RunFolder
from benchrun.record.follow import START, ReadOn, ReadTo
from benchrun.record.line import Line
from benchrun.run.course import Course
from benchrun.run.entries import Entry, read_data
from benchrun.run.fold import fold
from benchrun.run.state import Run

_COMPILED: dict[str, Procedure] = {}
_LOOKED_AT: dict[str, Procedure] = {}
_MOST_COMPILED: Final = 1024


def kept_procedure(folder: RunFolder, opened: Mapping[str, object]) -> Procedure:
    """Load the copy of the procedure that a run keeps.

    Raises:
        BenchrunError: It is missing, or not the one that the run began with.
    """
    if not opened:
        raise BenchrunError(f"the run {folder.run} has no first entry: it was never begun")
    procedure = compiled_copy(folder)
    if procedure.sha256 != opened.get("procedure_sha256"):
        raise BenchrunError(f"{folder.run}: procedure.yaml is not the one that the run began with")
    return procedure


def compiled_copy(folder: RunFolder, digest: str = "") -> Procedure:
    """The copy of the procedure in a run's folder, compiled once in a process for one content.

    Args:
        folder: The run's folder.
        digest: The content's SHA-256 as the log gives it: what is compiled is not read again.

    Raises:
        BenchrunError: It cannot be read, or is none.
    """
    if digest in _COMPILED:
        return _COMPILED[digest]
    content = _content(folder)
    digest = hashlib.sha256(content).hexdigest()
    known = _COMPILED.get(digest)
    if known is None:
        known = _loaded(folder, content)
        if len(_COMPILED) >= _MOST_COMPILED:
            _COMPILED.pop(next(iter(_COMPILED)))
        _COMPILED[digest] = known
    return known


def _content(folder: RunFolder) -> bytes:
    try:
        return read_plain(folder.procedure)
    except OSError as error:
        raise BenchrunError(
            f"procedure.yaml of {folder.run} cannot be read: {disk_said(error)}"
        ) from None


def _loaded(folder: RunFolder, content: bytes) -> Procedure:
    from benchrun.procedure.load import load_bytes

    return load_bytes(content, f"{folder.run}/procedure.yaml")


@lean_dataclass(frozen=True, slots=True)
class LookedAt:
    """A run as it was looked at.

    Attributes:
        run: The run.
        procedure: The digest of the copy of its procedure.
        read_to: How far its log was read; None where the next look has to read all of it again.
    """

    run: Run
    procedure: str
    read_to: ReadTo | None


def look_at_kept(folder: RunFolder, before: LookedAt | None = None) -> LookedAt:
    """The run that a folder holds, to be looked at alone: as it is read soonest.

    Its procedure may come from a form of it that lies outside the shop; nothing may be decided,
    kept or verified by it. No entry is held once it is folded: a long log fills no memory.

    Args:
        folder: The run.
        before: What an earlier look found: what came since is folded into it.

    Raises:
        BenchrunError: The log is damaged, or the copy of the procedure is.
        ValueError: They do not fit each other.
    """
    content = _content(folder)
    digest = hashlib.sha256(content).hexdigest()
    known = before if before is not None and before.procedure == digest else None
    try:
        found = _looked_on(folder, content, digest, known)
    except (BenchrunError, ValueError):
        found = None
    # Where anything is amiss, reading all of it at once says what.
    return found or LookedAt(folded(*read_kept(folder)), digest, None)


def procedure_looked_at(looked: LookedAt) -> Procedure:
    """The procedure of a run that was looked at in this process, to be looked at as well."""
    return _COMPILED.get(looked.procedure) or _LOOKED_AT[looked.procedure]


def _looked_on(
    folder: RunFolder, content: bytes, digest: str, before: LookedAt | None
) -> LookedAt | None:
    """Fold what came since a look; None where the log begins with another procedure."""
    run, read_to = None, START
    if before is not None and before.read_to is not None:
        run, read_to = before.run, before.read_to
    reading = ReadOn(folder.log, read_to)
    with no_collecting():
        for line in reading.lines():
            if run is None:
                if line.data.get("procedure_sha256") != digest:
                    return None
                run = Run(Course(_looked_at(folder, content, digest).route))
            run = fold(run, entry_of(line))
    return None if run is None else LookedAt(run, digest, reading.read_to)


def _looked_at(folder: RunFolder, content: bytes, digest: str) -> Procedure:
    from benchrun.procedure.plain_form import compiled

    procedure = _COMPILED.get(digest) or _LOOKED_AT.get(digest)
    if procedure is None:
        procedure = compiled(content, digest, lambda: _loaded(folder, content))
        _LOOKED_AT[digest] = procedure
    return procedure


def entry_of(line: Line) -> Entry:
    """A line of a log as the rules see it.

    Raises:
        ValueError: It has not the form of an entry.
    """
    return Entry(line.n, line.at, line.by, read_data(line.kind, line.data))


def read_kept(folder: RunFolder) -> tuple[Procedure, tuple[Entry, ...]]:
    """The procedure and the entries of a run as they lie on the disk, without taking it up.

    Raises:
        BenchrunError: The log is damaged, or the copy of the procedure is.
        ValueError: An entry has not its form.
    """
    log = folder.read()
    procedure = kept_procedure(folder, log.lines[0].data if log.lines else {})
    with no_collecting():
        return procedure, tuple(entry_of(line) for line in log.lines)


def folded(procedure: Procedure, entries: tuple[Entry, ...]) -> Run:
    """The run that entries fold to.

    Raises:
        ValueError: They do not fit the procedure.
    """
    run = Run(Course(procedure.route))
    with no_collecting():
        for entry in entries:
            run = fold(run, entry)
    return run
