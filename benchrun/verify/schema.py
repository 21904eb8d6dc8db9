"""The form of the verdicts that `benchrun verify --json` prints, as a JSON Schema."""

from typing import Any, Final

_TEXTS: Final = {"type": "array", "items": {"type": "string"}}
_WHOLE_NUMBER: Final = {"type": "integer", "minimum": 0}
_RUN: Final = {
    "run": {"type": "string", "description": "The run's id."},
    "whole": {"type": "boolean", "description": "Whether its record is intact."},
    "faults": {**_TEXTS, "description": "What does not hold, each in a line."},
    "doubts": {**_TEXTS, "description": "What could not be proven, each in a line."},
    "entries": _WHOLE_NUMBER,
    "signatures": _WHOLE_NUMBER,
    "seals": _WHOLE_NUMBER,
    "photos": _WHOLE_NUMBER,
    "closed": {"type": "boolean"},
    "head": {"type": "string", "description": "SHA-256 of the log's last line."},
}
_SHOP: Final = {
    "shop": {"const": True, "description": "That this is the verdict on the shop's register."},
    "whole": {"type": "boolean"},
    "faults": _TEXTS,
    "doubts": _TEXTS,
    "notes": _TEXTS,
    "entries": _WHOLE_NUMBER,
    "head": {"type": "string", "description": "The short head of the shop, to be noted down."},
}
_UNKNOWN: Final = {
    "run": {"type": "string", "description": "The run's id or folder, as it was named."},
    "whole": {"type": "null"},
    "could not tell": {"type": "string", "description": "Why it could not be checked."},
}


def verdicts_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of the list of verdicts, that on the shop last."""
    forms = [
        {"type": "object", "properties": form, "required": list(form)}
        for form in (_RUN, _SHOP, _UNKNOWN)
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "type": "array",
        "items": {"anyOf": forms},
    }
