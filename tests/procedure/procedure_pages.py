"""Pages of procedures for tests; all of them are invented."""

import re
from pathlib import Path

from benchrun.procedure.load import examine, load, load_bytes
from benchrun.procedure.problems import Problem
from benchrun.procedure.route import Procedure

HEAD = """\
procedure: bench-trial
title: Try the bench
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
"""


def page(steps: str, more: str = "") -> str:
    """A whole file with these steps (lists of YAML, at any indent) in one stage."""
    lines = steps.strip("\n").split("\n")
    shift = len(lines[0]) - len(lines[0].lstrip())
    body = "\n".join("      " + line[shift:] for line in lines)
    return f"{HEAD}{more}stages:\n  - stage: Only\n    steps:\n{body}\n"


def loaded(steps: str, more: str = "") -> Procedure:
    """The procedure of a page, which must be sound."""
    return load_bytes(page(steps, more).encode(), "trial.yaml")


def problems(folder: Path, text: str) -> list[Problem]:
    """What check says of a file with this text."""
    named = re.search(r"^procedure: ([a-z-]+)$", text, re.MULTILINE)
    file = folder / f"{named[1] if named else 'trial'}.yaml"
    file.write_text(text, encoding="utf-8")
    return examine(file).problems


def errors(folder: Path, steps: str, more: str = "") -> list[str]:
    """The errors of a page, without their places."""
    return [one.text for one in problems(folder, page(steps, more)) if not one.advice]


def advice(folder: Path, steps: str, more: str = "") -> list[str]:
    """The advice on a page, which must have no errors; ids are not asked for in these tests."""
    found = problems(folder, page(steps, more))
    assert all(one.advice for one in found), found
    return [one.text for one in found if "without an `id`" not in one.text]


def written(folder: Path, text: str) -> Procedure:
    """The procedure of a file with this text."""
    file = folder / "trial.yaml"
    file.write_text(text, encoding="utf-8")
    return load(file)
