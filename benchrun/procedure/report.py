"""The text of `check` about procedure files, for people and for editors."""

import json
import os
from collections.abc import Sequence
from itertools import groupby
from operator import itemgetter
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.load import examine
from benchrun.procedure.problems import Problem
from benchrun.text import shown

_MOST_TOLD: Final = 50  # of one file; what follows from a few mistakes fills no screen
ADVICE: Final = ("show", "count", "hide")


def check_files(
    paths: Sequence[str | os.PathLike[str]], advice: str = "show", as_json: bool = False
) -> tuple[str, int]:
    """Check procedure files and say what was found.

    Args:
        paths: The files.
        advice: `show` it, let it `count` like errors, or `hide` it.
        as_json: A JSON list for editors instead of lines for people.

    Returns:
        The text, and the exit code: 0 clean, 1 errors, 2 a file that cannot be read.

    Raises:
        BenchrunError: `advice` is none of the three.
    """
    if advice not in ADVICE:
        raise BenchrunError(f"advice is {advice!r}: write show, count or hide")
    found: list[tuple[str, Problem]] = []
    unread: list[str] = []
    for path in paths:
        name = os.fspath(path)
        try:
            problems = examine(path).problems
        except BenchrunError as error:
            unread.append(error.message)
            found.append((name, Problem(1, 1, error.message)))
            continue
        found.extend((name, one) for one in problems if advice != "hide" or not one.advice)
    counted = any(not one.advice or advice == "count" for _, one in found)
    code = 2 if unread else 1 if counted else 0
    if as_json:
        return _as_json(found), code
    return _as_lines(found, unread, len(paths)), code


def _as_json(found: Sequence[tuple[str, Problem]]) -> str:
    entries = [
        {
            "file": name,
            "line": one.line,
            "column": one.column,
            "text": one.text,
            "kind": "advice" if one.advice else "error",
        }
        for name, one in found
    ]
    return json.dumps(entries, indent=2) + "\n"


def _as_lines(found: Sequence[tuple[str, Problem]], unread: Sequence[str], files: int) -> str:
    lines = []
    for name, problems in groupby(found, key=itemgetter(0)):
        texts = [one for _, one in problems]
        told = texts[:_MOST_TOLD]
        lines += [one.text if one.text in unread else one.at(name) for one in told]
        if len(texts) > len(told):
            lines.append(f"{shown(name)}: {len(texts) - len(told)} more, put these right first")
    errors = sum(1 for _, one in found if not one.advice)
    advice = len(found) - errors
    lines.append(
        f"{_counted(files, 'file')}: {_counted(errors, 'error')}, "
        f"{advice or 'no'} {'piece' if advice == 1 else 'pieces'} of advice"
    )
    return "\n".join(lines) + "\n"


def _counted(count: int, thing: str) -> str:
    return f"{count or 'no'} {thing}{'' if count == 1 else 's'}"
