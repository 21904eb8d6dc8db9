"""A person's own settings, outside any shop: where they stand, how long a key stays unlocked."""

import os
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.files import read_file
from benchrun.procedure.phrases import time_span
from benchrun.shop.book_row import map_of
from benchrun.shop.folder import settings_folder
from benchrun.text import shown

PERSONAL_FILE: Final = "screen.yaml"
UNLOCKED: Final = "key stays unlocked"
"""The key of the file that says for how long."""
_MOST_MS: Final = 60 * 60_000


def personal_settings_path() -> Path:
    """The person's own file: BENCHRUN_SCREEN, or in the folder for settings of this system."""
    named = os.environ.get("BENCHRUN_SCREEN", "").strip()
    if named:
        return Path(named).expanduser()
    return settings_folder() / PERSONAL_FILE


def read_unlocked(text: str) -> int:
    """How long a signing key stays unlocked after its passphrase was typed, in milliseconds.

    Raises:
        BenchrunError: It is no length of time, or longer than an hour.
    """
    try:
        found = time_span(text)
    except ValueError:
        found = -1
    if 0 <= found <= _MOST_MS:
        return found
    raise BenchrunError(f"{shown(text, 20)!r} must be a time up to 60 min, such as 10 min")


def unlocked_ms(path: Path) -> int:
    """The same as the person's own file says it; 0 where it says nothing, or nothing sound."""
    try:
        data, _ = map_of(read_file(path), path.name, (UNLOCKED,))
        text = data.get(UNLOCKED, "") if data is not None else ""
        return read_unlocked(text) if isinstance(text, str) and text else 0
    except BenchrunError:
        return 0
