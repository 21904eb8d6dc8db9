"""Loads procedure files, with every problem in one pass.

What reads YAML and checks shapes is imported when the first file is loaded, not before.
"""

import hashlib
import os
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from benchrun.errors import BenchrunError
from benchrun.procedure.files import read_approval_beside, read_file
from benchrun.procedure.problems import Problem
from benchrun.procedure.route import Procedure
from benchrun.text import shown

if TYPE_CHECKING:
    from benchrun.procedure.examine import Examined


class ProcedureError(BenchrunError):
    """A procedure that cannot be run as it stands.

    Args:
        name: The file's name as shown.
        problems: What is wrong; the message is the first, and says how many more there are.
    """

    def __init__(self, name: str, problems: list[Problem]) -> None:
        more = len(problems) - 1
        rest = f" ({more} more: `benchrun check {shown(quote(name))}` says all)" if more else ""
        super().__init__(problems[0].at(name) + rest)
        self.problems = problems


def load(path: str | os.PathLike[str]) -> Procedure:
    """Load a procedure file.

    Raises:
        ProcedureError: The file holds errors.
        BenchrunError: The file cannot be read.
    """
    name = os.fspath(path)
    procedure = _sound(_examined(read_file(path), Path(name), advise=False), name)
    beside = Path(name)
    return replace(procedure, approval=read_approval_beside(beside), home=str(beside.parent))


def look_at(path: str | os.PathLike[str]) -> Procedure:
    """A procedure file as `load` gives it, to be looked at alone: as it is read soonest.

    It may come from a form of it that lies outside the shop; nothing may be begun by it but what is
    thrown away.

    Raises:
        ProcedureError: The file holds errors.
        BenchrunError: The file cannot be read.
    """
    from benchrun.procedure.linked_files import is_sound_beside
    from benchrun.procedure.plain_form import compiled

    content, file = read_file(path), Path(path)
    digest = hashlib.sha256(content).hexdigest()
    procedure = compiled(content, digest, lambda: load(path), walked=True)
    if not is_sound_beside(procedure, file.parent):
        return load(path)  # it says what is wrong
    return replace(procedure, approval=read_approval_beside(file), home=str(file.parent))


def load_bytes(content: bytes, name: str) -> Procedure:
    """Load a procedure from bytes, such as the copy that a run keeps.

    Files beside it (figures, other procedures) are not looked at.

    Args:
        content: The bytes of the file.
        name: What messages call it.

    Raises:
        ProcedureError: It holds errors.
    """
    return _sound(_examined(content, None, advise=False), name)


def examine(path: str | os.PathLike[str], verbs: Collection[str] = ()) -> "Examined":
    """Read and check a procedure file, advice included.

    Args:
        path: The file.
        verbs: The verbs of the shop, which a step may begin with beside those that come along.

    Raises:
        BenchrunError: The file cannot be read.
    """
    return _examined(read_file(path), Path(path), advise=True, verbs=verbs)


def _examined(
    content: bytes, file: Path | None, *, advise: bool, verbs: Collection[str] = ()
) -> "Examined":
    from benchrun.procedure.examine import examined

    return examined(content, file, advise=advise, verbs=verbs)


def _sound(loaded: "Examined", name: str) -> Procedure:
    if loaded.procedure is None:
        raise ProcedureError(name, loaded.problems)
    return loaded.procedure
