"""Dataclasses that nobody changes: the type checker sees to it, and so they are quick.

Python's own dataclass writes and compiles six methods for each class as its module is imported,
and a frozen one sets every field by a guarded call. A command imports some hundreds of these
classes and makes a few dozen; a line of a log is read, decided and folded through a dozen. So
here a class gets its methods without a compiler, and its `__init__` when the first one is made.
"""

import dataclasses
import operator
from collections.abc import Callable
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, Final, TypeVar

__all__ = ["lean_dataclass"]

T = TypeVar("T")
_MISSING: Final = dataclasses.MISSING

if TYPE_CHECKING:
    from dataclasses import dataclass as lean_dataclass
else:

    def lean_dataclass(
        *, frozen: bool = False, slots: bool = False, order: bool = False
    ) -> Callable[[type[T]], type[T]]:
        """A dataclass that compares and hashes as Python's own, and is frozen for mypy alone."""

        def made(cls: type[T]) -> type[T]:
            cls.__doc__ = cls.__doc__ or cls.__name__  # else the library works out a signature
            own = set(vars(cls))
            made = dataclasses.dataclass(init=False, repr=False, eq=False, slots=slots)(cls)
            methods = {"__init__": _init_to_come(made), "__repr__": _repr, **_compared(made)}
            if not frozen:
                methods["__hash__"] = None
            if order:
                methods |= _ordered(made)
            for name, method in methods.items():
                if name not in own:
                    setattr(made, name, method)
            return made

        return made


@recursive_repr()
def _repr(self: Any) -> str:
    told = (
        f"{one.name}={getattr(self, one.name)!r}" for one in dataclasses.fields(self) if one.repr
    )
    return f"{type(self).__qualname__}({', '.join(told)})"


def _key(cls: type) -> Callable[[Any], tuple[object, ...]]:
    """A function that gives the values by which an instance is compared and hashed."""
    names = [one.name for one in dataclasses.fields(cls) if one.compare]
    if len(names) > 1:
        return operator.attrgetter(*names)
    return (lambda one: (getattr(one, names[0]),)) if names else lambda _: ()


def _compared(cls: type) -> dict[str, Callable[..., Any]]:
    key = _key(cls)

    def equal(self: object, other: object) -> Any:
        if other.__class__ is not self.__class__:
            return NotImplemented
        return key(self) == key(other)

    def equal_by_dict(self: object, other: object) -> Any:
        if other.__class__ is not self.__class__:
            return NotImplemented
        # What holds the same throughout is equal; what does not may differ in what is not compared.
        return self.__dict__ == other.__dict__ or key(self) == key(other)

    def hashed(self: object) -> int:
        return hash(key(self))

    return {"__eq__": equal if hasattr(cls, "__slots__") else equal_by_dict, "__hash__": hashed}


def _ordered(cls: type) -> dict[str, Callable[..., Any]]:
    key = _key(cls)

    def by(compare: Callable[[Any, Any], bool]) -> Callable[[object, object], Any]:
        def compared(self: object, other: object) -> Any:
            if other.__class__ is not self.__class__:
                return NotImplemented
            return compare(key(self), key(other))

        return compared

    return {f"__{name}__": by(getattr(operator, name)) for name in ("lt", "le", "gt", "ge")}


def _init_to_come(cls: type) -> Callable[..., None]:
    """An `__init__` that writes the true one when the first instance is made, and gives way."""

    def init(self: object, *args: object, **named: object) -> None:
        written = _written_init(cls)
        cls.__init__ = written  # type: ignore[misc]
        written(self, *args, **named)

    return init


def _written_init(cls: Any) -> Callable[..., None]:
    """The `__init__` of a class, as Python's own dataclass would write it without its guard."""
    known: dict[str, Any] = {"MISSING": _MISSING}
    takes, sets = ["self"], []
    for one in dataclasses.fields(cls):
        name, value = one.name, one.name
        if one.default_factory is not _MISSING:
            known[f"make_{name}"] = one.default_factory
            default, value = "=MISSING", f"make_{name}()"
            if one.init:
                value += f" if {name} is MISSING else {name}"
        elif one.default is not _MISSING:
            known[f"usual_{name}"] = one.default
            default = f"=usual_{name}"
            value = name if one.init else f"usual_{name}"
        else:
            default = ""
        if one.init:
            takes.append(name + default)
        if one.init or default:
            sets.append(f"self.{name} = {value}")
    if hasattr(cls, "__post_init__"):
        sets.append("self.__post_init__()")
    body = "\n ".join(sets or ["pass"])
    exec(f"def __init__({', '.join(takes)}):\n {body}", known)  # noqa: S102  # our own field names
    init: Callable[..., None] = known["__init__"]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    return init
