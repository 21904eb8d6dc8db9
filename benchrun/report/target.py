"""The file that a report or calendar is written to: whole or not at all, and nobody else's."""

import os
import re
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.text import shown

_OWN: Final = {
    ".html": re.compile(rb'<meta name="generator" content="benchrun'),
    ".csv": re.compile(rb"\Arun,procedure,revision,"),
    ".json": re.compile(rb'\A\{\s*"format":\s*\d+,\s*"runs":'),
    ".txt": re.compile(rb"^Written by +benchrun |\A\w{3} \d+ \w{3} from ", re.MULTILINE),
    ".md": re.compile(rb"^- Written by: benchrun ", re.MULTILINE),
    ".ics": re.compile(rb"^PRODID:-//benchrun//", re.MULTILINE),
}
"""The mark of a file that benchrun wrote, by its ending."""


def put_report(to: Path, content: bytes, *, force: bool = False) -> None:
    """Write beside the file and put it in place, so that a half-written one never lies there.

    Args:
        to: The file; one that benchrun wrote is replaced.
        content: What to write.
        force: Whether to replace a file that benchrun did not write.

    Raises:
        BenchrunError: Something else lies there, or the disk refused.
    """
    name = shown(str(to), 200)
    beside = to.with_name(f".{to.name}.{os.getpid()}")
    try:
        if not force and os.path.lexists(to) and not _own(to):
            raise BenchrunError(
                f"{name} is there and was not written by benchrun: name another file, or add "
                "--force to replace it"
            )
        beside.write_bytes(content)
        beside.replace(to)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise BenchrunError(f"{name} cannot be written: {error.strerror or error}") from None


def _own(path: Path) -> bool:
    """Whether benchrun wrote a file, or it is empty."""
    if not path.is_file():
        return False
    content = path.read_bytes()
    mark = _OWN.get(path.suffix.lower())
    return not content or (mark is not None and mark.search(content) is not None)
