"""JSON Schemas of dataclasses as they are kept or written, for other programs and editors."""

import dataclasses
import enum
import types
import typing
from collections.abc import Hashable, Mapping
from functools import cache
from typing import Any, Final, cast

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_PLAIN: Final = {str: "string", int: "integer", bool: "boolean"}
Schema = dict[str, Any]


class SchemaParts:
    """The schemas of dataclasses, each once under its name.

    Args:
        complete: Whether every field is always there; else one that equals its default is left out.

    Attributes:
        definitions: What goes under `$defs`.
    """

    def __init__(self, *, complete: bool = False) -> None:
        self.definitions: dict[str, Schema] = {}
        self._complete = complete

    def of(self, kind: Any) -> Schema:
        """The schema of a kind of value; a dataclass is named, and described under its name."""
        origin, args = typing.get_origin(kind), typing.get_args(kind)
        if origin in (types.UnionType, typing.Union):
            return {"anyOf": [self.of(one) for one in args]}
        if origin in (tuple, list):
            return self._list(args)
        if origin is not None and issubclass(origin, Mapping):
            return {"type": "object", "additionalProperties": self.of(args[1])}
        if kind is type(None):
            return {"type": "null"}
        if isinstance(kind, type) and issubclass(kind, enum.Enum):
            return {"enum": [member.value for member in kind]}
        if dataclasses.is_dataclass(kind):
            return self.named(cast(type, kind))
        return {"type": _PLAIN[kind]} if kind in _PLAIN else {}

    def _list(self, args: tuple[Any, ...]) -> Schema:
        if len(args) == 1 or args[1] is Ellipsis:
            return {"type": "array", "items": self.of(args[0])}
        each = [self.of(one) for one in args]
        return {"type": "array", "prefixItems": each, "items": False, "minItems": len(each)}

    def named(self, cls: type) -> Schema:
        """A reference to the schema of a dataclass."""
        name = cls.__name__
        if name not in self.definitions:
            self.definitions[name] = {}  # one that holds itself ends here
            self.definitions[name] = self.fields(cls)
        return {"$ref": f"#/$defs/{name}"}

    def fields(self, cls: type) -> Schema:
        """The schema of a dataclass itself."""
        properties, needed = {}, []
        for name, (kind, default) in _fields(cast(Hashable, cls)).items():
            properties[name] = self.of(kind)
            if self._complete or default is dataclasses.MISSING:
                needed.append(name)
        about = (cls.__doc__ or "").split("\n\n")[0].strip()
        return {
            "description": " ".join(about.split()),
            "type": "object",
            "properties": properties,
            "required": needed,
            "additionalProperties": False,
        }


@cache
def _fields(cls: Hashable) -> dict[str, tuple[Any, Any]]:
    hints = typing.get_type_hints(cast(Any, cls))
    fields = dataclasses.fields(cast(Any, cls))
    missing = dataclasses.MISSING
    return {
        field.name: (
            hints[field.name],
            field.default if field.default_factory is missing else field.default_factory,
        )
        for field in fields
    }
