"""The JSON Schema of the lines of a log, made of the kinds of entry that the rules know."""

from typing import Any

from benchrun.data_schema import DIALECT, SchemaParts
from benchrun.record.line_schema import line_schema
from benchrun.run import entries as e

_ABOUT = ("format", "run", "procedure_sha256", "program", "register_head")


def log_schema() -> dict[str, Any]:
    """The schema of one line of a log (JSON Schema 2020-12)."""
    parts = SchemaParts()
    lines = log_lines(parts)
    return {
        "$schema": DIALECT,
        "title": "One line of log.jsonl",
        "$defs": parts.definitions,
        **lines,
    }


def log_lines(parts: SchemaParts) -> dict[str, Any]:
    """The schema of one line, which refers to the pieces of entries.

    Args:
        parts: Where the pieces go.
    """
    data = {}
    for kind, cls in e.KINDS.items():
        data[kind] = parts.fields(cls)
        if cls is e.Opened:
            data[kind] = _opened(data[kind])
    return line_schema(data)


def _opened(schema: dict[str, Any]) -> dict[str, Any]:
    """Entry 0 holds beside the batch what the run says of itself; older programs said less."""
    properties = {name: kind for name, kind in schema["properties"].items() if name != "about"}
    properties |= {name: {"type": "string"} for name in _ABOUT} | {"format": {"type": "integer"}}
    needed = [*schema["required"], *_ABOUT]
    return {**schema, "properties": properties, "required": needed, "additionalProperties": True}
