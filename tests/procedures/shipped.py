"""The procedures and scripts that ship, as the tests here look at them."""

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from benchrun.procedure.load import load
from benchrun.procedure.route import Procedure
from benchrun.procedure.yamlread import read_yaml

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted((ROOT / "procedures").glob("*.yaml"))
SCRIPTS = sorted((ROOT / "samples" / "answers").glob("*.yaml"))
IDS = [file.stem for file in FILES]


@cache
def procedure(name: str) -> Procedure:
    return load(ROOT / "procedures" / f"{name}.yaml")


@cache
def raw(name: str) -> Any:
    return read_yaml((ROOT / "procedures" / f"{name}.yaml").read_bytes())


def at(name: str, step: str) -> int:
    """Where a step stands on the route."""
    return procedure(name).route.index[step]


def in_order(name: str, *steps: str) -> bool:
    places = [at(name, step) for step in steps]
    return places == sorted(set(places))


def maps(data: Any) -> Iterator[Any]:
    """Every map of a file, from the outside in."""
    if isinstance(data, dict):
        yield data
        for value in data.values():
            yield from maps(value)
    elif isinstance(data, list):
        for value in data:
            yield from maps(value)


FIGURE = re.compile(
    r"(?<![\w.-])\d+(?:[.,]\d+)?\s?(?:µm|mm|cm|m|km|kN|N m|N|bar|psi|kPa|MPa|K|degC|°C|%|min|s|h|d"
    r"|lx|mg/m3|g|kg|ml|l|HRC|in|mil|thou)(?![\w])"
)
