"""The JSON Schema of the report for machines."""

from typing import Any

from benchrun.account.facts import RunFacts
from benchrun.account.log_schema import log_lines
from benchrun.data_schema import DIALECT, SchemaParts
from benchrun.report.rows import FORMAT


def report_schema() -> dict[str, Any]:
    """The schema of a report as JSON (JSON Schema 2020-12); SCHEMA.md says what each key means."""
    facts, lines = SchemaParts(complete=True), SchemaParts()
    run = facts.fields(RunFacts)
    line = log_lines(lines)
    run["properties"]["log"] = {"type": "array", "items": line}
    run["required"] = [*run["required"], "log"]
    whole = {"format": {"const": FORMAT}, "runs": {"type": "array", "items": run}}
    return {
        "$schema": DIALECT,
        "title": "A report as JSON",
        "type": "object",
        "properties": whole,
        "required": list(whole),
        "additionalProperties": False,
        "$defs": {**facts.definitions, **lines.definitions},
    }
