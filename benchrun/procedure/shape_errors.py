"""Turns what does not fit the shapes of a file into problems in the trade's words."""

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, Final

from pydantic import ValidationError

from benchrun.procedure.header_shapes import Shape, file_key
from benchrun.procedure.marked import Path
from benchrun.procedure.problems import Problems
from benchrun.procedure.shapes import FORMS

_KINDS_NEEDED: Final = {
    "list_type": "a list is needed here: begin each line with a hyphen",
    "dict_type": "a map is needed here: lines of `key: value`",
    "model_type": "a map is needed here: lines of `key: value`",
    "model_attributes_type": "a map is needed here: lines of `key: value`",
}


def add_shape_errors(problems: Problems, error: ValidationError) -> None:
    """Turn what does not fit the shapes into problems in the trade's words."""
    keys = {tag: _keys(shape) for tag, shape in FORMS.items()}
    for details in error.errors(include_url=False):
        _add_shape_error(problems, details, keys)


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
        problems.error(path, str(ctx.get("error", "not understood")), key=path[-1] == "[key]")
    elif kind == "formula":
        problems.error(path, str(ctx["said"]), int(ctx["at"]))
    elif kind == "union_tag_not_found":
        known = ", ".join(keys)
        problems.error(path, f"a step begins with one of {known}; none of them stands here")
    elif kind == "literal_error":
        problems.error(path, f"one of {str(ctx['expected']).replace(' or ', ', ')} is needed here")
    else:
        problems.error(path, _KINDS_NEEDED.get(kind, str(details["msg"])))


def _unknown_key(path: Path, keys: Mapping[str, Sequence[str]], *, empty: bool) -> str:
    name = str(path[-1])
    if empty and " " in name:
        return (
            f"key {name[:40]!r} is not known here: if a comma before it belongs to a text, put the "
            "whole text in quotation marks"
        )
    tag = next((part for part in reversed(path[:-1]) if isinstance(part, str)), "")
    here = keys.get(tag.strip("<>"), ())
    if name in keys and here:
        return f"key {name!r} begins another step: begin it on a line with a hyphen of its own"
    everywhere = {key for some in keys.values() for key in some}
    near = get_close_matches(name, here or everywhere, 1)
    if near:
        return f"key {name[:40]!r} is not known here; did you mean {near[0]!r}?"
    known = f": known are {', '.join(here)}" if here else ""
    return f"key {name[:40]!r} is not known here{known}"
