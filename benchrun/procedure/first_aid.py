"""The first aid of a procedure, read from its file at once, without compiling it."""

import os
import re
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.files import read_file
from benchrun.procedure.marked import Items, Unreadable
from benchrun.procedure.yamlread import read_yaml

KEY: Final = "first aid"
_BLOCK: Final = re.compile(rb"^first aid:.*\n?(?:[ \t-].*\n?|[ \t]*\n)*", re.MULTILINE)


def first_aid_in(path: str | os.PathLike[str]) -> tuple[str, ...]:
    """The lines of first aid in a file; none where it has none or cannot be read."""
    try:
        found = _BLOCK.search(read_file(path).replace(b"\r\n", b"\n"))
        said = read_yaml(found[0]).get(KEY, "") if found else ""
    except (BenchrunError, Unreadable):
        return ()  # whoever opens or checks the file is told what is wrong with it
    lines = list(said) if isinstance(said, Items) else [said]
    return tuple(str(line) for line in lines if isinstance(line, str) and line)
