"""Reads, checks and compiles the bytes of a procedure file in one pass."""

from collections.abc import Collection
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.compile import Compiled, compile_shape
from benchrun.procedure.linked_files import check_beside
from benchrun.procedure.marked import Map, Unreadable
from benchrun.procedure.problems import Problem, Problems
from benchrun.procedure.route import Procedure
from benchrun.procedure.salvage import take_out
from benchrun.procedure.shape_errors import add_shape_errors
from benchrun.procedure.shapes import ProcedureShape
from benchrun.procedure.yamlread import read_yaml

_MOST_SALVAGES: Final = 5


@lean_dataclass(frozen=True, slots=True)
class Examined:
    """The outcome of reading a file.

    Attributes:
        procedure: The procedure, or None where there are errors.
        problems: Errors first, then advice, each in the order of the file.
    """

    procedure: Procedure | None
    problems: list[Problem]


def examined(
    content: bytes, file: Path | None, *, advise: bool, verbs: Collection[str] = ()
) -> Examined:
    """Read, check and compile a procedure.

    Args:
        content: The bytes of its file.
        file: Where it lies, for what it names beside itself; None for the copy that a run keeps,
            of which nothing is asked that was not asked when the run was begun.
        advise: Whether advice is wanted as well.
        verbs: The verbs of the shop, which a step may begin with beside those that come along.
    """
    try:
        data = read_yaml(content)
    except Unreadable as error:
        return Examined(None, [Problem(error.at.line, error.at.column, error.text)])
    problems = Problems(data)
    compiled = _compiled(data, content, problems)
    if compiled is not None:
        if file is not None:
            check_beside(compiled, file, problems)
            if not problems.errors:
                from benchrun.procedure.paths import add_path_faults

                add_path_faults(compiled, problems, advise=advise)
        if advise:
            from benchrun.procedure.advice import advise_on
            from benchrun.procedure.verbs import VerbList

            advise_on(compiled, problems, VerbList(verbs))
    errors = problems.errors
    procedure = compiled.procedure if compiled is not None and not errors else None
    return Examined(procedure, errors + (problems.advice if advise else []))


def _compiled(data: Map, content: bytes, problems: Problems) -> Compiled | None:
    lost: set[str] = set()
    for count in range(_MOST_SALVAGES):
        try:
            shape = ProcedureShape.model_validate(data)
        except ValidationError as error:
            if count == 0:
                add_shape_errors(problems, error)
            gone = take_out(data, error.errors(include_url=False, include_input=False))
            if gone is None:
                return None
            lost |= gone
            problems.take_partly()
        else:
            return compile_shape(shape, content, problems, frozenset(lost))
    return None
