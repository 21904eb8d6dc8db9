"""The paths of a procedure that scripts reach: each choice, finding, lateness and rework.

A path has the name by which a person finds it in the file: `cracks: crack`, `rinse: window late`,
`film: rework from dull`, `coats: again`, `bore_mean > 25.01 mm: yes`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.checks import ways_of
from benchrun.procedure.load import load
from benchrun.procedure.phrases import id_from_words
from benchrun.procedure.route import (
    Act,
    Detour,
    Dwell,
    Guard,
    Inspect,
    Procedure,
    Step,
    Tail,
)
from benchrun.rehearse.play import played, script_for
from benchrun.run import entries as e
from benchrun.run.effects import FIRST
from benchrun.run.questions import code_of
from benchrun.run.state import Ask
from benchrun.text import shown

_MADE_UP: Final = re.compile(r"if-[0-9]+(?:-more)*")
_LATE: Final = frozenset({Ask.LATE, Ask.EARLY_OR_LATE})


@lean_dataclass(frozen=True, slots=True)
class Coverage:
    """The paths of a procedure and those that were gone.

    Attributes:
        name: The procedure's id.
        scripts: How many scripts were played.
        paths: Every path, in the order of the route.
        reached: Those that some script went.
        reasons: Why others are not reached, as the scripts say.
    """

    name: str
    scripts: int
    paths: tuple[str, ...]
    reached: frozenset[str]
    reasons: Mapping[str, str] = field(default_factory=dict)

    @property
    def missing(self) -> tuple[str, ...]:
        """Paths that no script went and that none gives a reason for."""
        return tuple(p for p in self.paths if p not in self.reached and p not in self.reasons)

    def text(self) -> str:
        """The count of paths reached, then those that were not, a line each."""
        gone = sum(path in self.reached for path in self.paths)
        told = "1 script reaches" if self.scripts == 1 else f"{self.scripts} scripts reach"
        lines = [f"{self.name}: {told} {gone} of {len(self.paths)} paths"]
        for path in self.paths:
            if path not in self.reached:
                why = self.reasons.get(path, "")
                lines.append(f"  not reached: {shown(path)}{f' - {shown(why)}' if why else ''}")
        return "\n".join(lines)


def coverage(procedure: Path, scripts: Sequence[Path]) -> Coverage:
    """Play scripts and say which paths of a procedure they went.

    Raises:
        BenchrunError: A script cannot be read or played, or gives a reason for what is no path.
    """
    loaded = load(procedure)
    reached: set[str] = set()
    reasons: dict[str, str] = {}
    for file in scripts:
        script = script_for(loaded, file)
        reasons |= script.unreached
        reached |= paths_gone(loaded, played(loaded, script, None).entries)
    paths = tuple(dict.fromkeys(paths_of(loaded)))
    for path in reasons:
        if path not in paths:
            said = f"{loaded.id} has no path {shown(path, 80)!r}: delete it under `not reached`"
            raise BenchrunError(said)
    return Coverage(loaded.id, len(scripts), paths, frozenset(reached), reasons)


def paths_of(procedure: Procedure) -> Iterator[str]:
    """Every path of a procedure, in the order of the route."""
    route = procedure.route
    ways = _ways_of_choices(procedure)
    told: set[str] = set()
    for op in route.ops:
        if isinstance(op, Guard) and op.key not in ways and not op.key.endswith("-otherwise"):
            yield from (f"{_fork(op)}: yes", f"{_fork(op)}: no")
        elif isinstance(op, Tail) and op.until is not None and op.most != op.least:
            yield from (f"{op.key}: again", f"{op.key}: leave")
        elif isinstance(op, Detour):
            yield f"{op.step}: made good first"
        step = getattr(op, "step", None)
        if isinstance(step, Step) and step.id not in told:
            told.add(step.id)
            yield from _of_step(step)


def _of_step(step: Step) -> Iterator[str]:
    detail = step.detail
    if isinstance(detail, Inspect):
        yield from (f"{step.id}: {finding.name}" for finding in detail.findings)
    if isinstance(detail, Dwell) and detail.late:
        yield f"{step.id}: late"
    if step.window is not None and step.window.late:
        yield f"{step.id}: window late"
    for _, ways in ways_of(step):
        for way in ways:
            if way.act is Act.REWORK:
                yield _rework(step.id, code_of(way))


def paths_gone(procedure: Procedure, entries: Iterable[e.Entry]) -> set[str]:
    """The paths that the entries of a run went."""
    forks = {op.key: op for op in procedure.route.ops if isinstance(op, Guard | Tail | Detour)}
    asked: dict[tuple[str, str], str] = {}
    gone: set[str] = set()
    for entry in entries:
        data = entry.data
        each: Mapping[str, e.Outcome] = getattr(data, "each", {})
        for part, outcome in each.items():
            if isinstance(data, e.Did) and outcome.value is not None and outcome.value.word:
                gone.add(f"{data.step}: {outcome.value.word}")
            for question in outcome.asks:
                asked[part, question.id] = question.step
                if question.ask in _LATE:
                    gone.add(f"{question.step}: late")
                elif question.ask is Ask.WINDOW:
                    gone.add(f"{question.step}: window late")
            for fall in outcome.falls:
                key, _, way = fall.rpartition("=")
                if key in forks:
                    gone.add(_fallen(forks[key], way))
            if isinstance(data, e.Answered) and outcome.settles:
                gone.add(_answered(asked.get((part, outcome.settles), ""), data.code))
    return gone


def _answered(step: str, code: str) -> str:
    """The path of an answer: also a window that closed while the part stood at its step."""
    return f"{step}: made good first" if code == FIRST else _rework(step, code)


def _rework(step: str, code: str) -> str:
    return f"{step}: rework from {code.removeprefix('rework ')}"


def _fork(op: Guard) -> str:
    """The name of a choice: its own, or else its condition."""
    return op.condition.text if _MADE_UP.fullmatch(op.key) else op.key


def _fallen(op: Guard | Tail | Detour, way: str) -> str:
    if isinstance(op, Guard):
        return f"{_fork(op)}: {'yes' if way == 'true' else 'no'}"
    if isinstance(op, Tail):
        return f"{op.key}: {way}"
    return f"{op.step}: made good first" if way == FIRST else ""


def _ways_of_choices(procedure: Procedure) -> set[str]:
    """The keys of the guards that stand for the ways of a choice: its findings are its paths."""
    return {
        f"{step.id}-{id_from_words(finding.name) or 'way'}"
        for step in procedure.route.steps.values()
        if isinstance(step.detail, Inspect)
        for finding in step.detail.findings
    }
