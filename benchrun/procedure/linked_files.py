"""Checks what a procedure names beside its own file: figures, and other procedures."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.procedure.files import read_file
from benchrun.procedure.marked import Unreadable
from benchrun.procedure.phrases import FINDING_WORD, id_from_words, name_of
from benchrun.procedure.route import Procedure, Step, Successor
from benchrun.quantity import canonical, dimension
from benchrun.quantity import known as known_unit
from benchrun.text import meant

if TYPE_CHECKING:
    from benchrun.procedure.compile import Compiled
    from benchrun.procedure.problems import Problems

_GIVE_VALUES: Final = ("reading", "inspect", "work out", "one of")
_MOST_FOLLOWED: Final = 30
_REVISION: Final = re.compile(r"^revision: *[\"']?([0-9]{1,6})\b", re.MULTILINE)
_CARRIES_OUT: Final = re.compile(r"^[^#\n]*\bcarry out: *[\"']?([a-z][a-z0-9-]*)", re.MULTILINE)


def check_beside(compiled: "Compiled", file: Path, problems: "Problems") -> None:
    """Add what is wrong with the name of its file, and with the drawings and procedures it names.

    Args:
        compiled: The procedure.
        file: Its file.
        problems: Takes what is wrong.
    """
    folder, own = file.parent, compiled.procedure.id
    if file.name != f"{own}.yaml":
        said = f"procedure {own!r} is looked for in {own}.yaml: rename this file, or the procedure"
        problems.advise(("procedure",), said)
    for count, following in enumerate(compiled.procedure.successors):
        said = _next(own, following, folder)
        if said:
            problems.advise(("close", "follow on", count), said)
    for step in compiled.procedure.route.steps.values():
        for keys, said in _wrong_beside(step, own, folder):
            problems.error((*compiled.layout.paths[step.id], *keys), said)


def is_sound_beside(procedure: Procedure, folder: Path) -> bool:
    """Whether a folder holds the drawings and procedures that a procedure names, as it names them.

    Args:
        procedure: The procedure, which is sound in itself.
        folder: The folder in which its file lies.
    """
    steps = procedure.route.steps.values()
    return not any(True for step in steps for _ in _wrong_beside(step, procedure.id, folder))


def _wrong_beside(step: Step, own: str, folder: Path) -> Iterator[tuple[tuple[str, ...], str]]:
    """The faults in what a step names beside its file, each with the keys that name it."""
    if step.drawing:
        said = _drawing(step.drawing, folder)
        if said:
            yield ("drawing",), said
    if step.carries_out:
        said = _other(own, step.carries_out, step.carries_revision, folder)
        if said:
            yield ("carry out",), said
            return
        for name, said in _lacking(step, folder):
            yield ("values", name), said


def _drawing(name: str, folder: Path) -> str:
    """The fault in a drawing that is named, or nothing."""
    try:
        home, file = folder.resolve(), (folder / name).resolve()
        if not file.is_relative_to(home):
            return f"drawing {name!r} lies outside the procedure's own folder: move it there"
        if not file.is_file():
            return f"drawing {name!r} is not there: put it beside the procedure, or delete the key"
    except (OSError, RuntimeError, ValueError):
        return f"drawing {name!r} cannot be looked at"
    return ""


def _lacking(step: Step, folder: Path) -> Iterator[tuple[str, str]]:
    """The values that a procedure is said to give and does not, with what it gives."""
    text = _text(folder, step.carries_out)
    if not step.carries_values or text is None:
        return
    from benchrun.procedure.yamlread import read_yaml

    try:
        known = dict(_named(read_yaml(text.encode())))
    except Unreadable:
        return  # what is wrong inside it is for its own check to say
    for name, unit in step.carries_values:
        if name not in known:
            would = meant(name, known)
            yield name, f"procedure {step.carries_out!r} has nothing called {name!r}: {would}"
        elif (unit == FINDING_WORD) is not (known[name] == FINDING_WORD) or (
            unit != FINDING_WORD and dimension(unit) != dimension(known[name])
        ):
            yield name, f"{name!r} of procedure {step.carries_out!r} is {_sort(known[name])}"


def _named(part: object) -> Iterator[tuple[str, str]]:
    """The names that the steps of a file give to values, with their units."""
    if isinstance(part, dict):
        key = next((key for key in _GIVE_VALUES if key in part), None)
        if key is not None:
            own = str(part.get("id") or id_from_words(str(part[key])) or "")
            yield str(part.get("as") or name_of(own)), str(part.get("unit", FINDING_WORD))
        for inner in part.values():
            yield from _named(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _named(inner)


def _sort(unit: str) -> str:
    return "a finding: write finding" if unit == FINDING_WORD else f"in {unit or 'no unit'}"


def _measured(unit: str) -> str:
    """The dimension of a unit of a file; empty for one that is not known."""
    name = "" if unit == "none" else canonical(unit) or unit
    return dimension(name) if known_unit(name) else ""


def _next(own: str, following: Successor, folder: Path) -> str:
    """The fault in a procedure that is said to come next, or nothing."""
    name, revision = following.procedure, following.revision
    if name == own:
        return f"procedure {name!r} would follow itself: name another"
    text = _text(folder, name)
    if text is None:
        return f"procedure {name!r} is not there: put {name}.yaml beside this one"
    match = _REVISION.search(text)
    if revision is not None and (match is None or int(match[1]) != revision):
        at = match[1] if match else "none"
        return f"procedure {name!r} is at revision {at}, not {revision}: look what changed"
    return ""


def _other(own: str, name: str, revision: int, folder: Path) -> str:
    """The fault in another procedure that is named, or nothing."""
    if name == own:
        return f"procedure {name!r} would carry out itself: name another"
    text = _text(folder, name)
    if text is None:
        return f"procedure {name!r} is not there: put {name}.yaml beside this one"
    match = _REVISION.search(text)
    if match is None or int(match[1]) != revision:
        at = match[1] if match else "none"
        return f"procedure {name!r} is at revision {at}, not {revision}: look what changed"
    seen, waiting = {name}, [name]
    while waiting and len(seen) <= _MOST_FOLLOWED:
        for further in _CARRIES_OUT.findall(_text(folder, waiting.pop()) or ""):
            if further == own:
                return f"procedure {name!r} leads back to this one: one would carry out the other"
            if further not in seen:
                seen.add(further)
                waiting.append(further)
    return ""


def _text(folder: Path, name: str) -> str | None:
    """The text of another procedure; what is wrong inside it is for its own check to say."""
    try:
        return read_file(folder / f"{name}.yaml").decode("utf-8", "replace")
    except BenchrunError:
        return None
