"""The anchor of a shop's register: how far this user's machine has seen it, kept outside the shop.

Who can write the shop's folder can cut its register and its runs back together. The last entry
that this machine wrote or saw intact lies in the user's own state folder, where such a one does not
reach. It helps as far as it can: one that is missing or cannot be written never stops work.
"""

import hashlib
import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.record.durable import write_file
from benchrun.record.trouble import NotKept

STATE_VARIABLE: Final = "BENCHRUN_STATE"
"""The environment variable that names another folder for what a user's machine remembers."""

_MOST_BYTES: Final = 4096
_NAME_DIGITS: Final = 32


@lean_dataclass(frozen=True, slots=True)
class Anchor:
    """The last entry of a shop's register that was seen intact.

    Attributes:
        n: Its number.
        head: SHA-256 (hex) of its line.
        utc: When it was entered.
    """

    n: int
    head: str
    utc: str


def state_folder() -> Path:
    """The folder of the anchors: in BENCHRUN_STATE, or in this system's folder for user states."""
    named = os.environ.get(STATE_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser() / "registers"
    from platformdirs import user_state_path

    return user_state_path("benchrun", appauthor=False) / "registers"


def read_anchor(shop: Path) -> Anchor | None:
    """How far the register of a shop was seen; None where nothing, or nothing legible, says so."""
    try:
        with open_regular(_place(shop)) as file:
            data = json.loads(file.read(_MOST_BYTES))
        return Anchor(int(data["n"]), str(data["head"]), str(data["utc"]))
    except (OSError, ValueError, KeyError, TypeError, RuntimeError):
        return None


def keep_anchor(shop: Path, anchor: Anchor) -> None:
    """Keep how far the register of a shop was seen, where that can be written."""
    data = {"shop": str(shop.resolve()), "n": anchor.n, "head": anchor.head, "utc": anchor.utc}
    with suppress(OSError, NotKept, RuntimeError):
        place = _place(shop)
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_file(place, json.dumps(data).encode() + b"\n", mode=0o600)


def _place(shop: Path) -> Path:
    name = hashlib.sha256(os.fsencode(shop.resolve())).hexdigest()[:_NAME_DIGITS]
    return state_folder() / f"{name}.json"
