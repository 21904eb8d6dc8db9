"""The text of `check` about procedure files, for people and for editors."""

import json
import os
from collections.abc import Collection, Mapping, Sequence
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
    paths: Sequence[str | os.PathLike[str]],
    advice: str = "show",
    as_json: bool = False,
    more: Mapping[str, Sequence[Problem]] | None = None,
    verbs: Collection[str] = (),
) -> tuple[str, int]:
    """Check procedure files and say what was found.

    Args:
        paths: The files.
        advice: `show` it, let it `count` like errors, or `hide` it.
        as_json: A JSON list for editors instead of lines for people.
        more: By file what else was found, such as an approval that does not hold.
        verbs: The verbs of the shop, which a step may begin with beside those that come along.

    Returns:
        The text, and the exit code: 0 clean, 1 errors, 2 a file that cannot be read.

    Raises:
        BenchrunError: `advice` is none of the three.
    """
    if advice not in ADVICE:
        raise BenchrunError(f"advice is {advice!r}: write show, count or hide")
    problems_by_file: list[tuple[str, Problem]] = []
    unread: list[str] = []
    for path in paths:
        name = os.fspath(path)
        try:
            problems = [*examine(path, verbs).problems, *(more or {}).get(name, ())]
        except BenchrunError as error:
            unread.append(error.message)
            problems_by_file.append((name, Problem(1, 1, error.message)))
            continue
        problems_by_file.extend(
            (name, problem) for problem in problems if advice != "hide" or not problem.advice
        )
    counted = any(not problem.advice or advice == "count" for _, problem in problems_by_file)
    code = 2 if unread else 1 if counted else 0
    if as_json:
        return _as_json(problems_by_file), code
    return _as_lines(problems_by_file, unread, len(paths)), code


def _as_json(by_file: Sequence[tuple[str, Problem]]) -> str:
    entries = [
        {
            "file": name,
            "line": problem.line,
            "column": problem.column,
            "text": problem.text,
            "kind": "advice" if problem.advice else "error",
        }
        for name, problem in by_file
    ]
    return json.dumps(entries, indent=2) + "\n"


def _as_lines(by_file: Sequence[tuple[str, Problem]], unread: Sequence[str], files: int) -> str:
    lines = []
    for name, problems in groupby(by_file, key=itemgetter(0)):
        texts = [problem for _, problem in problems]
        first = texts[:_MOST_TOLD]
        lines += [problem.text if problem.text in unread else problem.at(name) for problem in first]
        if len(texts) > len(first):
            lines.append(f"{shown(name)}: {len(texts) - len(first)} more, put these right first")
    errors = sum(1 for _, problem in by_file if not problem.advice)
    advice = len(by_file) - errors
    lines.append(
        f"{_counted(files, 'file')}: {_counted(errors, 'error')}, "
        f"{advice or 'no'} {'piece' if advice == 1 else 'pieces'} of advice"
    )
    return "\n".join(lines) + "\n"


def _counted(count: int, thing: str) -> str:
    return f"{count or 'no'} {thing}{'' if count == 1 else 's'}"
