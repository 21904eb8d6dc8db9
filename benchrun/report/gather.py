"""Gathers the facts of one run from its folder, in one walk through its log."""

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.procedure.route import Procedure
from benchrun.record.chain import ReadLog
from benchrun.record.folder import RunFolder
from benchrun.record.reading import open_plain
from benchrun.record.trouble import RecordBroken
from benchrun.report.acts import ActWalk
from benchrun.report.asked import QuestionWalk
from benchrun.report.clocked import DwellWalk
from benchrun.report.facts import PartFacts, PhotoFacts, RunFacts, SignFacts, Who, WordFacts
from benchrun.report.odd import OddWalk
from benchrun.report.rounds import RoundWalk
from benchrun.report.supplied import supplies_of
from benchrun.report.values import ValueWalk
from benchrun.run import entries as e
from benchrun.run.course import Course
from benchrun.run.fold import fold
from benchrun.run.state import Marker, Run, Status

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
        entries = tuple(entry_of(line) for line in log.lines)
        facts, run = _walk(procedure, entries)
    except ValueError as error:
        raise BenchrunError(f"{kept.run}: the log does not fit its procedure: {error}") from None
    _finish(facts, run, entries, log, kept)
    facts.photos = list(_photos(kept, procedure, entries))
    facts.verdict = dict(verdict) if verdict is not None else None
    return facts


def _walk(procedure: Procedure, entries: tuple[e.Entry, ...]) -> tuple[RunFacts, Run]:
    facts = _head(procedure, entries[0])
    values = ValueWalk(procedure, facts)
    walks = (
        values,
        ActWalk(procedure, facts),
        DwellWalk(procedure, facts),
        RoundWalk(procedure),
        QuestionWalk(procedure, facts),
        OddWalk(procedure, facts),
    )
    run = Run(Course(procedure.route))
    for entry in entries:
        after = fold(run, entry)
        for walk in walks:
            walk.take(run, entry, after)
        run = after
    values.finish()
    facts.repeats = list(walks[3].told())
    facts.supplies = list(supplies_of(procedure, entries, run))
    facts.signatures = list(_signatures(procedure, entries))
    for word in _words(procedure, entries):
        (facts.lessons if word.kind == "lesson" else facts.notes).append(word)
    return facts, run


def _head(procedure: Procedure, first: e.Entry) -> RunFacts:
    about: Mapping[str, Any] = first.data.about if isinstance(first.data, e.Opened) else {}
    return RunFacts(
        run=str(about.get("run", "")),
        title=procedure.title,
        procedure=procedure.id,
        revision=procedure.revision,
        status=procedure.status,
        scope=procedure.scope,
        applies_to=procedure.applies_to,
        procedure_sha256=procedure.sha256,
        sources=dict(procedure.sources),
        shop=str(about.get("shop", "")),
        program=str(about.get("program", "")),
        rehearsal=str(about.get("rehearsal") or ""),
        register_head=str(about.get("register_head", "")),
        began=first.at.utc,
        last=first.at.utc,
        closed=False,
        stopped="",
        entries=0,
        head="",
        log_sha256="",
        sealed=False,
        seals=0,
        people=tuple(_people(about.get("people"))),
        conditions=tuple(str(one) for one in _list(about.get("conditions"))),
    )


def _list(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _people(people: object) -> Iterator[Who]:
    for who, person in people.items() if isinstance(people, dict) else ():
        known = person if isinstance(person, dict) else {}
        roles = tuple(str(role) for role in _list(known.get("roles")))
        yield Who(str(who), str(known.get("name", who)), roles)


def _finish(
    facts: RunFacts, run: Run, entries: tuple[e.Entry, ...], log: ReadLog, kept: RunFolder
) -> None:
    facts.run = facts.run or kept.run
    facts.last = entries[-1].at.utc
    facts.closed, facts.stopped = run.ended, run.stopped
    facts.entries, facts.head = len(entries), log.head
    facts.log_sha256 = _digest(kept.log) or ""
    facts.sealed = kept.seal.is_file()
    facts.seals = sum(isinstance(entry.data, e.Sealed) for entry in entries)
    reasons = _reasons(entries)
    identity = _identities(entries)
    facts.parts = tuple(
        _part(run, marker, identity.get(marker.part, ""), reasons.get(marker.part, ""))
        for marker in run.each()
    )


def _part(run: Run, marker: Marker, identity: str, reason: str) -> PartFacts:
    op = run.route.step_at(marker.index)
    ended = marker.status in (Status.DONE, Status.SCRAP)
    stands = f"stands at step {op.step.number}, {op.step.text}" if op and not ended else ""
    if marker.place:
        stands = f"at {marker.place}; {stands}"
    return PartFacts(
        marker.part,
        identity,
        marker.size,
        marker.status.value,
        stands,
        () if ended else tuple(question.says for question in marker.questions),
        "" if marker.status is Status.DONE else reason,
    )


def _identities(entries: tuple[e.Entry, ...]) -> dict[str, str]:
    found = {}
    for entry in entries:
        if isinstance(entry.data, e.Opened):
            found.update({spec.part: spec.identity for spec in entry.data.parts})
        elif isinstance(entry.data, e.Added):
            found[entry.data.part.part] = entry.data.part.identity
    return found


def _reasons(entries: tuple[e.Entry, ...]) -> dict[str, str]:
    """Why parts left the way: the last word on each, from moves, answers and the close."""
    found: dict[str, str] = {}
    asked: dict[tuple[str, str], str] = {}
    for entry in entries:
        data = entry.data
        for part, outcome in getattr(data, "each", {}).items():
            asked.update({(question.id, part): question.says for question in outcome.asks})
        if isinstance(data, e.Moved) and data.to in ("aside", "scrap"):
            found.update(dict.fromkeys(data.parts, data.reason))
        elif isinstance(data, e.Answered) and data.code in ("aside", "scrap"):
            for part in data.parts:
                settles = data.each[part].settles if part in data.each else ""
                words = (asked.get((settles, part), "").removesuffix("."), data.reason)
                found[part] = "; reason: ".join(word for word in words if word)
        elif isinstance(data, e.Closed):
            found.update(data.reasons)
    return found


def _signatures(procedure: Procedure, entries: tuple[e.Entry, ...]) -> Iterator[SignFacts]:
    for entry in entries:
        data = entry.data
        if not isinstance(data, e.Signed):
            continue
        stated = entries[data.of].data if 0 <= data.of < entry.n else None
        said = getattr(stated, "says", "")
        name, _, says = said.partition(": ")
        step = procedure.route.steps.get(getattr(stated, "step", ""))
        yield SignFacts(
            entry.n,
            entry.at.utc,
            data.who,
            name if says else data.who,
            says or said,
            step.number if step else None,
            tuple(getattr(stated, "parts", ())),
            entry.n,
            tuple(getattr(stated, "flags", ())),
        )


def _words(procedure: Procedure, entries: tuple[e.Entry, ...]) -> Iterator[WordFacts]:
    for entry in entries:
        data = entry.data
        if isinstance(data, e.Note | e.Lesson):
            step = procedure.route.steps.get(data.step)
            yield WordFacts(
                entry.n,
                entry.at.utc,
                entry.by,
                entry.kind,
                data.text,
                step.number if step else None,
                data.step,
                tuple(getattr(data, "parts", ())),
            )


def _photos(
    kept: RunFolder, procedure: Procedure, entries: tuple[e.Entry, ...]
) -> Iterator[PhotoFacts]:
    for entry in entries:
        data = entry.data
        if isinstance(data, e.Photo):
            step = procedure.route.steps.get(data.step)
            yield PhotoFacts(
                entry.n,
                entry.at.utc,
                entry.by,
                data.file,
                data.sha256,
                data.bytes,
                step.number if step else None,
                data.text,
                data.parts,
                _state(kept, data),
                data.position.value,
            )


def _state(kept: RunFolder, photo: e.Photo) -> str:
    path = photo_path(kept.path, photo.file)
    if path is None:
        return "outside"
    digest = _digest(path)
    if digest is None:
        return "missing"
    return "agrees" if digest == photo.sha256 else "differs"


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
        with open_plain(path) as file:
            while chunk := file.read(_STRIDE):
                digest.update(chunk)
    except OSError:
        return None
    return digest.hexdigest()
