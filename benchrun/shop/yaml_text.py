"""How a value is written in a YAML file of the shop."""

import re
from collections.abc import Mapping
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.text import shown, unfit

EOL: Final = "\n"
LONGEST: Final = 600
# What needs no quotation marks, in a list or a map on one line as well.
_BARE: Final = re.compile(r"[A-Za-z0-9µ](?:[A-Za-z0-9 ._/+%°²³µ·()×-]*[A-Za-z0-9._/+%°²³µ()-])?")
_KEY: Final = re.compile(r"[a-z][a-z0-9]*(?:[ -][a-z0-9]+)*")
# Bare words that other readers of YAML take for something else than a text.
_TAKEN: Final = frozenset({"true", "false", "yes", "no", "on", "off", "null", "y", "n"})


def scalar(text: str) -> str:
    """A text as it is written, in quotation marks where it needs them.

    Raises:
        BenchrunError: It holds a character that cannot be written down, or is too long.
    """
    if fault := unfit(text):
        raise BenchrunError(f"{shown(text, 40)!r} holds {fault}, which cannot be written down")
    if len(text) > LONGEST:
        raise BenchrunError(f"text of {len(text)} letters: at most {LONGEST} are taken")
    if _BARE.fullmatch(text) and text.casefold() not in _TAKEN:
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def key_text(key: str) -> str:
    """A key as it is written.

    Raises:
        BenchrunError: It is not made of small letters, digits and single blanks or hyphens.
    """
    if _KEY.fullmatch(key) is None or len(key) > 40:
        raise BenchrunError(f"{shown(key, 40)!r} is no key: small letters and blanks make one")
    return key


def flow(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, str):
        return scalar(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key_text(k)}: {flow(item)}" for k, item in value.items()) + "}"
    return "[" + ", ".join(flow(item) for item in value) + "]"


def block_item(item: Any, column: int, eol: str, *, wide: bool) -> str:
    """An item of a list on lines of its own, without the last line's end.

    Args:
        item: The item.
        column: How many blanks stand before its hyphen.
        eol: What ends a line.
        wide: Whether a map takes a line for each key.
    """
    indent = " " * column
    if not wide or not isinstance(item, Mapping):
        return f"{indent}- {flow(item)}"
    lines = [f"{key_text(key)}: {flow(value)}" for key, value in item.items()]
    return f"{indent}- " + f"{eol}{indent}  ".join(lines)
