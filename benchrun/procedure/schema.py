"""The JSON Schema of procedure files, for editors that complete and explain keys."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from benchrun.procedure.shapes import FORMS, ProcedureShape
from benchrun.version import FILES_FORMAT

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_LIMITED: Final = {"anyOf": [{"required": [key]} for key in ("low", "high", "fit")]}
_JUDGED: Final = {
    "outside": _LIMITED,
    "inside": _LIMITED,
    "fit": {"not": {"anyOf": [{"required": ["low"]}, {"required": ["high"]}]}},
}
_SIGNALS: Final = ("danger", "warning", "caution", "notice")
_NEEDS: Final[Mapping[str, Mapping[str, Any]]] = {
    "CautionShape": {"oneOf": [{"required": [word]} for word in _SIGNALS]},
    "DwellStep": {
        "dependentRequired": {"early": ["least"], "late": ["most"]},
        "not": {"required": ["in", "at"]},
    },
    "ReadingStep": {"dependentSchemas": {**_JUDGED, "in doubt": _LIMITED}},
    "WorkOutStep": {"dependentSchemas": _JUDGED},
    "HoldStep": {"dependentRequired": {"same person after": ["another person"]}},
    "WindowShape": {
        "dependentRequired": {"late": ["most"]},
        "anyOf": [{"required": ["least"]}, {"required": ["most"]}],
    },
}
"""Keys that say nothing without others, by the map that they stand in."""
_NUMBER: Final = {
    "type": "integer",
    "minimum": 1,
    "maximum": FILES_FORMAT,
    "default": 1,
    "description": "The number of the file's form; a benchrun that is too old for it says so.",
}
_FILLED: Final = {
    "stages": ("minItems", 1),
    "steps": ("minItems", 1),
    "first": ("minItems", 1),
    "findings": ("minProperties", 1),
    "ways": ("minProperties", 2),
    "table": ("minProperties", 1),
}
"""Lists and maps that may not be empty, or of one alone."""


def procedure_schema() -> dict[str, Any]:
    """The schema of a procedure file (JSON Schema 2020-12).

    A step is told by the key that it begins with, a value of two forms by its type, so that a
    wrong key or value is marked by itself.
    """
    whole = _tidied(ProcedureShape.model_json_schema(by_alias=True, mode="validation"))
    whole["properties"] = {"format": _NUMBER, **whole["properties"]}
    shapes: dict[str, Any] = whole["$defs"]
    for name, needs in _NEEDS.items():
        shapes[name] |= needs
    for shape in (*shapes.values(), whole):
        for key, (least, count) in _FILLED.items():
            if key in shape.get("properties", {}):
                shape["properties"][key][least] = count
    shapes["Step"] = _by_first_key()
    told = _told_apart(whole, shapes)
    return {"$schema": DIALECT, **told}


def _by_first_key() -> dict[str, Any]:
    """A step, of the form that its key says."""
    otherwise: dict[str, Any] = {"required": [next(iter(FORMS))]}
    for key, shape in reversed(list(FORMS.items())):
        chosen = {"$ref": f"#/$defs/{shape.__name__}"}
        otherwise = {"if": {"required": [key]}, "then": chosen, "else": otherwise}
    said = f"A step or a block; it begins with one of {', '.join(FORMS)}."
    return {"description": said, "type": "object", **otherwise}


def _told_apart(part: Any, shapes: Mapping[str, Any]) -> Any:
    """Every choice of forms as a choice by type; that of a step as the one that is defined."""
    if isinstance(part, list):
        return [_told_apart(item, shapes) for item in part]
    if not isinstance(part, dict):
        return part
    if len(part.get("oneOf", ())) == len(FORMS):
        return {"$ref": "#/$defs/Step"}
    kept = {key: _told_apart(value, shapes) for key, value in part.items()}
    for word in ("oneOf", "anyOf"):
        options = kept.get(word)
        types = [_types(option, shapes) for option in options or ()]
        if (
            options
            and all(types)
            and len({t for own in types for t in own}) == sum(map(len, types))
        ):
            del kept[word]
            kept |= _by_type(options, types)
    return kept


def _by_type(options: Sequence[Any], types: Sequence[Sequence[str]]) -> dict[str, Any]:
    *firsts, last = zip(options, types, strict=True)
    chosen: dict[str, Any] = last[0]
    for option, own in reversed(firsts):
        chosen = {"if": {"type": list(own)}, "then": option, "else": chosen}
    return chosen


def _types(option: Any, shapes: Mapping[str, Any]) -> Sequence[str]:
    """The types that an option takes; none where it does not say."""
    if not isinstance(option, dict):
        return ()
    if "$ref" in option:
        return _types(shapes.get(option["$ref"].rpartition("/")[2]), shapes)
    own = option.get("type", ())
    return [own] if isinstance(own, str) else list(own)


def _tidied(part: Any) -> Any:
    """Without null (a key left out is simply not there) and without machine-made titles."""
    if isinstance(part, list):
        return [_tidied(item) for item in part]
    if not isinstance(part, dict):
        return part
    kept = {
        key: _tidied(value)
        for key, value in part.items()
        if not (key == "title" and isinstance(value, str))
        and not (key == "default" and value is None)
    }
    options = kept.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        real = [option for option in options if option != {"type": "null"}]
        del kept["anyOf"]
        return {**(real[0] if len(real) == 1 else {"anyOf": real}), **kept}
    return kept
