"""Checks what a procedure names beside its own file: figures, and other procedures."""

from collections.abc import Iterator
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.procedure.compile import Compiled
from benchrun.procedure.files import read_file
from benchrun.procedure.marked import Map, Unreadable
from benchrun.procedure.problems import Problems
from benchrun.procedure.yamlread import read_yaml

_MOST_FOLLOWED = 30


def check_beside(compiled: Compiled, folder: Path, problems: Problems) -> None:
    """Add what is wrong with the figures and procedures that a procedure names.

    Args:
        compiled: The procedure.
        folder: Its folder.
        problems: Takes what is wrong.
    """
    for step in compiled.procedure.route.steps.values():
        path = compiled.layout.paths[step.id]
        if step.figure:
            said = _figure(step.figure, folder)
            if said:
                problems.error((*path, "figure"), said)
        if step.carries_out:
            said = _other(compiled.procedure.id, step.carries_out, step.carries_revision, folder)
            if said:
                problems.error((*path, "carry out"), said)


def _figure(name: str, folder: Path) -> str:
    """What is wrong with a figure that is named, or nothing."""
    try:
        home, file = folder.resolve(), (folder / name).resolve()
        if not file.is_relative_to(home):
            return f"figure {name!r} lies outside the procedure's own folder: move it there"
        if not file.is_file():
            return f"figure {name!r} is not there: put it beside the procedure, or delete the key"
    except (OSError, RuntimeError, ValueError):
        return f"figure {name!r} cannot be looked at"
    return ""


def _other(own: str, name: str, revision: int, folder: Path) -> str:
    """What is wrong with another procedure that is named, or nothing."""
    if name == own:
        return f"procedure {name!r} would carry out itself: name another"
    data = _header(folder, name)
    if data is None:
        return f"procedure {name!r} is not there: put {name}.yaml beside this one"
    if data.get("revision") != str(revision):
        found = data.get("revision")
        return f"procedure {name!r} is at revision {found}, not {revision}: look what changed"
    seen, waiting = {name}, [name]
    while waiting and len(seen) <= _MOST_FOLLOWED:
        for further in _carried_out(_header(folder, waiting.pop())):
            if further == own:
                return f"procedure {name!r} leads back to this one: one would carry out the other"
            if further not in seen:
                seen.add(further)
                waiting.append(further)
    return ""


def _header(folder: Path, name: str) -> Map | None:
    try:
        return read_yaml(read_file(folder / f"{name}.yaml"))
    except (BenchrunError, Unreadable):
        return None


def _carried_out(data: object) -> Iterator[str]:
    """The ids that stand behind `carry out` anywhere in a file."""
    waiting = [data]
    while waiting:
        here = waiting.pop()
        if isinstance(here, dict):
            name = here.get("carry out")
            if isinstance(name, str):
                yield name
            waiting.extend(here.values())
        elif isinstance(here, list):
            waiting.extend(here)
