"""Frozen dataclasses to the plain data of a log line and back, strictly and without surprises.

A field that equals its default is left out. Reading refuses unknown keys and wrong kinds, so that
a line which the rules could not have written is told at once.
"""

import dataclasses
import enum
import types
import typing
from collections.abc import Callable, Hashable, Mapping
from functools import cache
from typing import Any, TypeVar, cast

T = TypeVar("T")
Reader = Callable[[Any], Any]


class BadData(ValueError):
    """The data of a line does not have the form of its kind."""


def to_data(thing: Any) -> Any:
    """Make plain data of a dataclass, a tuple, a mapping or a plain value."""
    if isinstance(thing, enum.Enum):
        return thing.value
    if thing is None or isinstance(thing, (str, int, bool)):
        return thing
    if isinstance(thing, Mapping):
        return {key: to_data(value) for key, value in thing.items()}
    if isinstance(thing, (tuple, list)):
        return [to_data(value) for value in thing]
    data = {}
    for name, default in _defaults(cast(Hashable, type(thing))):
        value = getattr(thing, name)
        if value is not default and value != default:
            data[name] = to_data(value)
    return data


@cache
def _defaults(cls: Hashable) -> tuple[tuple[str, Any], ...]:
    return tuple((f.name, _default(f)) for f in dataclasses.fields(cast(Any, cls)))


def _default(field: "dataclasses.Field[Any]") -> Any:
    if field.default_factory is not dataclasses.MISSING:
        return field.default_factory()
    return field.default


def from_data(cls: type[T], data: object) -> T:
    """Read a dataclass from plain data.

    Raises:
        BadData: Something is missing, unknown or of another kind; the message names it.
    """
    kind: Any = cls
    thing: T = _reader(kind)(data)
    return thing


@cache
def _reader(kind: Any) -> Reader:
    """The reader of a kind of value: worked out once, so that a line costs no looking at types."""
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if origin in (types.UnionType, typing.Union):
        (inner,) = (argument for argument in args if argument is not type(None))
        read = _reader(inner)
        return lambda data: None if data is None else read(data)
    if origin is tuple:
        return _tuple_reader(args)
    if origin is not None and issubclass(origin, Mapping):
        read = _reader(args[1])
        return lambda data: {
            key: read(value)
            for key, value in (data if type(data) is dict else _as(dict, data)).items()
        }
    if kind is object:
        return lambda data: data
    if isinstance(kind, type) and issubclass(kind, enum.Enum):
        return lambda data: _enum(kind, data)
    if dataclasses.is_dataclass(kind):
        return _dataclass_reader(cast(type, kind))
    return lambda data: data if type(data) is kind else _as(kind, data)


def _tuple_reader(args: tuple[Any, ...]) -> Reader:
    if len(args) == 2 and args[1] is Ellipsis:
        read, kind = _reader(args[0]), args[0]

        def several(data: Any) -> tuple[Any, ...]:
            values = data if type(data) is list else _as(list, data)
            return tuple([value if type(value) is kind else read(value) for value in values])

        return several
    readers = tuple(_reader(arg) for arg in args)

    def fixed(data: Any) -> tuple[Any, ...]:
        if len(_as(list, data)) != len(readers):
            raise BadData(f"{len(readers)} values belong here, found {len(data)}")
        return tuple(read(value) for read, value in zip(readers, data, strict=True))

    return fixed


def _dataclass_reader(cls: type) -> Reader:
    hints = typing.get_type_hints(cls)
    # A value of its field's own kind, as most are, is taken as it is and read by nobody.
    fields = {f.name: (hints[f.name], _reader(hints[f.name])) for f in dataclasses.fields(cls)}
    needed = frozenset(name for name, value in _defaults(cls) if value is dataclasses.MISSING)
    kind_name = getattr(cls, "KIND", cls.__name__.lower())
    whole = dict(_defaults(cls))
    plain = not hasattr(cls, "__slots__") and not hasattr(cls, "__post_init__")

    def read(data: Any) -> Any:
        given = data if type(data) is dict else _as(dict, data)
        taken = whole | given
        for key, value in given.items():
            if key not in fields:
                raise BadData(f"{key!r} does not belong in {kind_name}")
            kind, read_value = fields[key]
            if type(value) is not kind:
                taken[key] = read_value(value)
        if not needed <= given.keys():
            raise BadData(f"{kind_name} lacks {', '.join(sorted(needed - given.keys()))}")
        if not plain:
            return cls(*taken.values())
        thing: Any = object.__new__(cls)
        thing.__dict__ = taken  # a mere dict of its fields is made by no more than that
        return thing

    return read


def _as(kind: Any, data: Any) -> Any:
    if not isinstance(data, kind) or (kind is int and isinstance(data, bool)):
        raise BadData(f"{kind.__name__} belongs here, found {type(data).__name__}")
    return data


def _enum(kind: type[enum.Enum], data: Any) -> enum.Enum:
    try:
        return kind(data)
    except ValueError:
        raise BadData(
            f"{data!r} is not one of {', '.join(str(member.value) for member in kind)}"
        ) from None
