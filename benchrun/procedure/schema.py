"""The JSON Schema of procedure files, for editors that complete and explain keys."""

from typing import Any

from benchrun.procedure.shapes import ProcedureShape
from benchrun.version import FILES_FORMAT

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def procedure_schema() -> dict[str, Any]:
    """The schema of a procedure file (JSON Schema 2020-12)."""
    whole = ProcedureShape.model_json_schema(by_alias=True, mode="validation")
    number = {
        "type": "integer",
        "minimum": 1,
        "maximum": FILES_FORMAT,
        "default": 1,
        "description": "The number of the file's form; a benchrun that is too old for it says so.",
    }
    whole["properties"] = {"format": number, **whole["properties"]}
    return {"$schema": DIALECT, **_tidied(whole)}


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
