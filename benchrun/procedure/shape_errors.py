"""Turns what does not fit the shapes of a file into problems in the trade's words."""

from collections.abc import Mapping, Sequence, Set
from difflib import get_close_matches
from typing import Any, Final

from pydantic import ValidationError

from benchrun.procedure.header_shapes import (
    BatchShape,
    CautionShape,
    CloseShape,
    InstrumentShape,
    NeedsShape,
    Shape,
    SupplyShape,
    ToolShape,
    VesselShape,
    file_key,
)
from benchrun.procedure.marked import Path
from benchrun.procedure.problems import Problems
from benchrun.procedure.shapes import (
    FORMS,
    ProcedureShape,
    StageShape,
    TableShape,
    TendShape,
    UseShape,
    WindowShape,
)

_KINDS_NEEDED: Final = {
    "list_type": "a list is needed here: begin each line with a hyphen",
    "dict_type": "a map is needed here: lines of `key: value`",
    "model_type": "a map is needed here: lines of `key: value`",
    "model_attributes_type": "a map is needed here: lines of `key: value`",
}
_MAPS: Final[Mapping[str, type[Shape]]] = {
    "batch": BatchShape,
    "hazards": CautionShape,
    "cautions": CautionShape,
    "close": CloseShape,
    "needs": NeedsShape,
    "instruments": InstrumentShape,
    "supplies": SupplyShape,
    "tools": ToolShape,
    "vessels": VesselShape,
    "stages": StageShape,
    "window": WindowShape,
    "tend": TendShape,
    "uses": UseShape,
    "<table>": TableShape,
}
"""The maps of a file that are no steps, by the key that they stand under."""
_MEANT: Final[Mapping[str, tuple[str, ...]]] = {
    "then": ("steps",),
    "else": ("otherwise",),
    "min": ("low", "least", "at least"),
    "max": ("high", "most", "at most"),
    "minimum": ("low", "least", "at least"),
    "maximum": ("high", "most", "at most"),
}
"""Words that people write, and the keys that they mean by them, the one that is known there."""


def add_shape_errors(problems: Problems, error: ValidationError) -> None:
    """Turn what does not fit the shapes into problems in the trade's words."""
    keys = {tag: _keys(shape) for tag, shape in FORMS.items()}
    found = error.errors(include_url=False)
    misspelt = {
        (*details["loc"][:-1], meant)
        for details in found
        if details["type"] == "extra_forbidden"
        for meant in _meant_keys(str(details["loc"][-1]))
    }
    for details in found:
        if details["type"] != "missing" or not _misspelt(details["loc"], misspelt):
            _add_shape_error(problems, details, keys)


def _misspelt(path: Path, keys: Set[Path]) -> bool:
    """Whether a key that is missing stands there, spelled otherwise."""
    beside = [str(key[-1]) for key in keys if key[:-1] == path[:-1]]
    return bool(get_close_matches(str(path[-1]), beside, 1))


def _keys(shape: type[Shape]) -> list[str]:
    return [file_key(field) for field in shape.model_fields]


def _add_shape_error(
    problems: Problems, details: Mapping[str, Any], keys: Mapping[str, Sequence[str]]
) -> None:
    path: tuple[str | int, ...] = details["loc"]
    kind: str = details["type"]
    ctx: Mapping[str, Any] = details.get("ctx", {})
    if kind == "missing":
        problems.error(path[:-1], f"key {str(path[-1])!r} is missing")
    elif kind == "extra_forbidden":
        problems.error(path, _unknown_key(path, keys, empty=details.get("input") == ""), key=True)
    elif kind == "value_error":
        said = str(ctx.get("error", "not understood"))
        problems.error(path, said, key=path[-1] == "[key]" or details.get("input") == "")
    elif kind == "formula":
        problems.error(path, str(ctx["said"]), int(ctx["at"]))
    elif kind == "union_tag_not_found":
        known = ", ".join(keys)
        text = details.get("input")
        key = _key_without_colon(text, keys) if isinstance(text, str) else ""
        if key and isinstance(text, str):
            rest = text[len(key) :].strip(" :")
            said = f"a colon and a blank are missing after the key: write `{key}: {rest[:60]}`"
            problems.error(path, said)
            return
        problems.error(path, f"a step begins with one of {known}; none of them is here")
    elif kind == "literal_error":
        problems.error(path, f"one of {str(ctx['expected']).replace(' or ', ', ')} is needed here")
    else:
        problems.error(path, _KINDS_NEEDED.get(kind, str(details["msg"])))


def _key_without_colon(text: str, keys: Mapping[str, Sequence[str]]) -> str:
    """The key that a line begins with which should be a map, or nothing."""
    begun = (key for key in keys if text.startswith((f"{key} ", f"{key}:")))
    return max(begun, key=len, default="")


def _keys_here(path: Path, keys: Mapping[str, Sequence[str]]) -> Sequence[str]:
    """The keys of the map that a path leads into."""
    tags = [part for part in path[:-1] if isinstance(part, str)]
    if not tags:
        return _keys(ProcedureShape)
    tag = tags[-1].strip("<>")
    if tag in keys:
        return keys[tag]
    shape = _MAPS.get(next((part for part in reversed(tags) if part in _MAPS), ""))
    return _keys(shape) if shape else ()


def _meant_keys(name: str) -> tuple[str, ...]:
    """A name without capitals, hyphens and underscores, and the keys that people mean by it."""
    plainly = " ".join(name.lower().replace("_", " ").replace("-", " ").split())
    return (plainly, *_MEANT.get(plainly, ()))


def _unknown_key(path: Path, keys: Mapping[str, Sequence[str]], *, empty: bool) -> str:
    name = str(path[-1])
    here = _keys_here(path, keys)
    if alike := next((key for key in _meant_keys(name) if key in here), ""):
        return f"key {name[:40]!r} is not known here: write {alike!r}"
    if empty and " " in name:
        return (
            f"key {name[:40]!r} is not known here: if a comma before it belongs to a text, put the "
            "whole text in quotation marks"
        )
    if name in keys and here:
        return f"key {name!r} begins another step: begin it on a line with a hyphen of its own"
    everywhere = {key for some in keys.values() for key in some}
    near = get_close_matches(name, here or everywhere, 1)
    if near:
        return f"key {name[:40]!r} is not known here; did you mean {near[0]!r}?"
    known = f": known are {', '.join(here)}" if here else ""
    return f"key {name[:40]!r} is not known here{known}"
