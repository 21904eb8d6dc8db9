"""JSON Schemas of the lines of a log and of the register, around the data of each kind."""

from typing import Any, Final

from benchrun.data_schema import DIALECT
from benchrun.record.chain import FORMAT

Schema = dict[str, Any]
_TEXT: Final[Schema] = {"type": "string"}
_DIGEST: Final[Schema] = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_NUMBER: Final[Schema] = {"type": "integer", "minimum": 0}
_TEXTS: Final[Schema] = {"type": "array", "items": _TEXT}
_AT: Final[Schema] = {
    "type": "object",
    "properties": {
        "utc": {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"},
        "up_ms": _NUMBER,
        "boot": {"type": "string", "minLength": 1},
        "sync": {"type": "boolean"},
    },
    "required": ["utc", "up_ms", "boot", "sync"],
    "additionalProperties": False,
}


def line_schema(data: dict[str, Schema]) -> Schema:
    """The schema of one line.

    Args:
        data: The schema of `data` for each kind of line.
    """
    return {"oneOf": [_line(kind, schema) for kind, schema in data.items()]}


def _line(kind: str, data: Schema) -> Schema:
    properties = {
        "n": _NUMBER,
        "at": _AT,
        "by": _TEXT,
        "kind": {"const": kind},
        "data": data,
        "prev": _DIGEST,
    }
    return _object(properties, list(properties))


def _object(properties: dict[str, Schema], needed: list[str]) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": needed,
        "additionalProperties": False,
    }


def register_schema() -> Schema:
    """The schema of one line of a shop's register (JSON Schema 2020-12)."""
    lines = line_schema({kind: _sealed(*form) for kind, form in _register_kinds().items()})
    return {"$schema": DIALECT, "title": "One line of register.jsonl", **lines}


def _sealed(properties: dict[str, Schema], needed: list[str]) -> Schema:
    """The data of a line, with what each holds; lines of earlier programs lack the seal."""
    seal = {"who": _TEXT, "sshsig": _TEXT, "format": {"type": "integer", "maximum": FORMAT}}
    return _object({**properties, **seal}, needed)


def _register_kinds() -> dict[str, tuple[dict[str, Schema], list[str]]]:
    change = _object(
        {
            "principal": _TEXT,
            "key": _TEXT,
            "change": {"enum": ["found", "added", "ended", "compromised"]},
            "why": _TEXT,
        },
        ["principal", "key", "change"],
    )
    person = _object(
        {"person": _TEXT, "name": _TEXT, "roles": _TEXTS, "left": _TEXT},
        ["person", "name", "roles", "left"],
    )
    file = _object(
        {
            "file": _TEXT,
            "sha256": {"anyOf": [_DIGEST, {"type": "null"}]},
            "bytes": {"type": ["integer", "null"]},
        },
        ["file", "sha256", "bytes"],
    )
    run: tuple[dict[str, Schema], list[str]] = (
        {"run": _TEXT, "n": _NUMBER, "head": _DIGEST},
        ["run", "n", "head"],
    )
    doubt = {"findings": _TEXTS, "reason": _TEXT}
    earlier = {"file": _TEXT, "sha256": _DIGEST, "head": _DIGEST}
    return {
        "opened": run,
        "marked": run,
        "closed": run,
        "keys": ({"changes": {"type": "array", "items": change}}, ["changes"]),
        "people": ({"people": {"type": "array", "items": person}}, ["people"]),
        "doubt": ({**doubt, **earlier}, list(doubt)),
        "recovered": ({"files": {"type": "array", "items": file}}, ["files"]),
    }
