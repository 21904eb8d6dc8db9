"""Which benchrun this is, to the very bytes, and what it says of files that a newer one made."""

import hashlib
import os
from functools import cache
from io import FileIO
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError

VERSION: Final = "0.6.0"
"""The one place where the version stands; packaging reads it here."""

FILES_FORMAT: Final = 2
"""The number of the form of procedures, shop books, settings and scripts: the latest that is read.

A file states the least that it needs: 2 where the shop's hours name people, else 1.
"""

_PACKAGE: Final = Path(__file__).resolve().parent
_BUILD_DIGITS: Final = 10
_NOT_COUNTED: Final = frozenset({"__pycache__", "shipped"})


@cache
def build() -> str:
    """The first digits of the SHA-256 over the program's own files, by name and contents.

    Equal for a source tree, a wheel and an sdist of the same sources, another for any change.
    Shipped procedures and samples are not counted: they lie elsewhere in a source tree.
    """
    digest = hashlib.sha256()
    for folder, inner, names in os.walk(_PACKAGE):
        inner[:] = sorted(set(inner) - _NOT_COUNTED)
        place = os.path.relpath(folder, _PACKAGE).replace(os.sep, "/")
        above = "" if place == "." else f"{place}/"
        for name in sorted(names):
            with FileIO(f"{folder}{os.sep}{name}") as file:
                content = file.readall()
            digest.update(f"{above}{name}\n{len(content)}\n".encode() + content)
    return digest.hexdigest()[:_BUILD_DIGITS]


def program() -> str:
    """The program's name, version and build, as logs and reports state them."""
    return f"benchrun {VERSION} build {build()}"


def newer(what: str, number: int, known: int) -> BenchrunError:
    """The refusal of a file whose format a newer benchrun made.

    Args:
        what: The file, fit to be shown.
        number: The number of its format.
        known: The latest number that this program reads.
    """
    return BenchrunError(
        f"{what} was made by a newer benchrun: its format is {number}, and benchrun {VERSION} "
        f"reads up to {known}. Install the newer benchrun; nothing was changed"
    )
