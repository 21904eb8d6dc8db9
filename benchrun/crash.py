"""A fault of the program itself: written down in a file, told in one line, no run harmed by it."""

import traceback
from pathlib import Path
from typing import Final

from benchrun.text import shown
from benchrun.version import program

NAME: Final = "fault.txt"


def fault_folder() -> Path:
    """Where faults are written down: the person's folder for such things."""
    from platformdirs import user_log_path

    return user_log_path("benchrun", appauthor=False)


def fault_words(error: BaseException, utc: str, folder: Path) -> str:
    """Write a fault down and say where.

    What was typed is no part of it: a passphrase may be among it.

    Args:
        error: What went wrong.
        utc: When.
        folder: Where it is written; the last fault takes the place of the one before.
    """
    kind = type(error).__name__
    told = "".join(traceback.format_exception(error))
    where = folder / NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        where.write_text(f"{program()}, {utc}\n{told}", encoding="utf-8")
        written = f"What happened is written in {where}."
    except OSError as refused:
        written = f"It could not be written down: {refused.strerror}."
    return (
        f"benchrun: a fault of the program itself ({kind}: {shown(str(error), 120)}). What was "
        f"recorded is on the disk, and the clocks go on: start it again. {written}"
    )
