"""The facts of one run from its folder: its log, and whether the pictures beside it are there."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from benchrun.account.facts import DrawingFacts, PhotoFacts, RunFacts
from benchrun.account.walk import facts_of
from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.procedure.route import Procedure
from benchrun.record.drawings import KeptDrawing, drawing_path, named_drawings
from benchrun.record.folder import RunFolder
from benchrun.record.trouble import RecordBroken

_STRIDE: Final = 1 << 20


def gather(folder: Path, verdict: Mapping[str, Any] | None = None) -> RunFacts:
    """The facts of a run.

    Args:
        folder: The run's folder.
        verdict: What verifying it came to, in the form that `benchrun verify --json` prints; None
            when nobody has verified it, which the report then says.

    Raises:
        BenchrunError: The log or the copy of the procedure is damaged, or they do not fit.
    """
    kept = RunFolder(Path(folder).absolute())
    try:
        log = kept.read()
    except RecordBroken as error:
        raise BenchrunError(
            f"{kept.run}: {error}: no record is written from a damaged log; "
            "benchrun verify tells all that is wrong",
            exit_code=1,
        ) from None
    procedure = kept_procedure(kept, log.lines[0].data if log.lines else {})
    try:
        facts = facts_of(procedure, (entry_of(line) for line in log.lines))
    except ValueError as error:
        raise BenchrunError(f"{kept.run}: the log does not fit its procedure: {error}") from None
    facts.run = facts.run or kept.run
    facts.head, facts.log_sha256 = log.head, _digest(kept.log) or ""
    facts.sealed = kept.seal.is_file()
    facts.photos = [replace(photo, state=_state(kept, photo)) for photo in facts.photos]
    opened = log.lines[0].data if log.lines else {}
    drawings = (_drawing(kept, procedure, one) for one in named_drawings(opened).values())
    facts.drawings = sorted(drawings, key=lambda one: one.steps)
    facts.verdict = dict(verdict) if verdict is not None else None
    return facts


def _drawing(kept: RunFolder, procedure: Procedure, one: KeptDrawing) -> DrawingFacts:
    steps = procedure.route.steps.values()
    named = tuple((step.number, step.text) for step in steps if step.drawing == one.name)
    state = _agrees(drawing_path(kept.path, one.file), one.sha256)
    return DrawingFacts(one.name, one.file, one.sha256, one.size, named, state)


def _state(kept: RunFolder, photo: PhotoFacts) -> str:
    return _agrees(photo_path(kept.path, photo.file), photo.sha256)


def _agrees(path: Path | None, sha256: str) -> str:
    if path is None:
        return "outside"
    digest = _digest(path)
    if digest is None:
        return "missing"
    return "agrees" if digest == sha256 else "differs"


def photo_path(run: Path, file: str) -> Path | None:
    """Where a picture of a run lies; None for a name that does not lead into its photos/."""
    parts = file.split("/")
    if len(parts) != 2 or parts[0] != "photos" or parts[1] in ("", ".", "..") or "\0" in file:
        return None
    path = run / "photos" / parts[1]
    return None if path.is_symlink() else path


def _digest(path: Path) -> str | None:
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while chunk := file.read(_STRIDE):
                digest.update(chunk)
    except OSError:
        return None
    return digest.hexdigest()
