"""A compiled procedure in a plain form that is read sooner than the procedure is compiled.

Reading YAML, the shapes and the compiler take a third of a second of a program that only looks.
The form is JSON of this program's own: numbers, texts, and for each thing the name of its class and
its fields. Reading it runs nothing but the making of classes that are listed here.

It is for speed alone. A file of it stands under the digest of the procedure that it was made of and
of the program that made it, and holds the digest of what it says; where anything differs it is as
if it were not there. Nothing is decided, kept or verified by it but what is thrown away: the open
runs of the sample shop that is set out to be looked round in.
"""

import base64
import dataclasses
import hashlib
import json
import os
from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from benchrun.procedure import formula, header_values, nodes, parameter, route, steps
from benchrun.procedure.route import Procedure
from benchrun.quantity import reading

CACHE_VARIABLE: Final = "BENCHRUN_CACHE"
"""The environment variable that names another folder for what can be made again."""
_MOST_BYTES: Final = 8 << 20
_MODULES: Final = (header_values, formula, nodes, parameter, route, steps, reading)
_CLASSES: Final[dict[str, Any]] = {
    name: kind
    for module in _MODULES
    for name, kind in vars(module).items()
    if isinstance(kind, type)
    and kind.__module__ == module.__name__
    and (dataclasses.is_dataclass(kind) or issubclass(kind, Enum))
}


class NoPlainForm(Exception):
    """Something has no plain form, or what was read is none."""


class _Writer:
    """Writes each thing once, in the order in which they are needed to make the next."""

    def __init__(self) -> None:
        self.things: list[Any] = []
        self._known: dict[int, tuple[int, object]] = {}  # holding them keeps their ids theirs

    def value(self, value: object) -> Any:
        if value is None or type(value) in (bool, int, str):
            return value
        held = self._known.get(id(value))
        if held is None:
            written = self._thing(value)
            held = self._known[id(value)] = (len(self.things), value)
            self.things.append(written)
        return [held[0]]

    def _thing(self, value: object) -> Any:
        match value:
            case Enum():
                return ["enum", self._named(value), value.value]
            case Decimal():
                return ["decimal", str(value)]
            case bytes():
                return ["bytes", base64.b64encode(value).decode()]
            case tuple():
                return ["tuple", *map(self.value, value)]
            case frozenset():
                return ["set", *map(self.value, value)]
            case dict() | MappingProxyType():
                pairs = [[self.value(key), self.value(held)] for key, held in value.items()]
                return ["table" if isinstance(value, dict) else "fixed", *pairs]
        if dataclasses.is_dataclass(value):
            fields = dataclasses.fields(value)
            if any(not field.init for field in fields):
                raise NoPlainForm(type(value).__name__)
            texts = [self.value(getattr(value, field.name)) for field in fields]
            return ["thing", self._named(value), *texts]
        raise NoPlainForm(type(value).__name__)

    def _named(self, value: object) -> str:
        name = type(value).__name__
        if _CLASSES.get(name) is not type(value):
            raise NoPlainForm(name)
        return name


def plain_form(procedure: Procedure) -> bytes:
    """The plain form of a procedure.

    Raises:
        NoPlainForm: It holds something that has none.
    """
    writer = _Writer()
    writer.value(procedure)
    return json.dumps(writer.things, ensure_ascii=False, separators=(",", ":")).encode()


def procedure_of(form: bytes) -> Procedure:
    """The procedure that a plain form says.

    Raises:
        NoPlainForm: It is none.
    """
    made: list[Any] = []

    def value(said: Any) -> Any:
        return made[said[0]] if type(said) is list else said

    makers: dict[str, Callable[[list[Any]], Any]] = {
        "enum": lambda rest: _CLASSES[rest[0]](rest[1]),
        "decimal": lambda rest: Decimal(rest[0]),
        "bytes": lambda rest: base64.b64decode(rest[0]),
        "tuple": lambda rest: tuple(map(value, rest)),
        "set": lambda rest: frozenset(map(value, rest)),
        "table": lambda rest: {value(key): value(held) for key, held in rest},
        "fixed": lambda rest: MappingProxyType({value(k): value(held) for k, held in rest}),
        "thing": lambda rest: _CLASSES[rest[0]](*map(value, rest[1:])),
    }
    try:
        for kind, *rest in json.loads(form):
            made.append(makers[kind](rest))
    except (ValueError, TypeError, KeyError, IndexError, ArithmeticError, RecursionError) as error:
        raise NoPlainForm(str(error)) from None
    if not made or not isinstance(made[-1], Procedure):
        raise NoPlainForm("no procedure")
    return made[-1]


def compiled(
    content: bytes, digest: str, compile_it: Callable[[], Procedure], *, walked: bool = False
) -> Procedure:
    """A procedure by its plain form where that is at hand, else compiled, its form then kept.

    Args:
        content: The bytes of its file.
        digest: Their SHA-256, in hexadecimal.
        compile_it: Compiles it.
        walked: Whether every path of it has to be walked too, as of a file that may be begun.
    """
    path = _folder() / f"{digest}{'-walked' if walked else ''}-{_program()}.json"
    with suppress(OSError, NoPlainForm, ValueError):
        said, _, form = path.read_bytes()[:_MOST_BYTES].partition(b"\n")
        if said.decode() == hashlib.sha256(form).hexdigest():
            procedure = procedure_of(form)
            if procedure.sha256 == digest and procedure.content == content:
                return procedure
    procedure = compile_it()
    with suppress(OSError, NoPlainForm):
        _keep(path, plain_form(procedure))
    return procedure


def _keep(path: Path, form: bytes) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        draft.write_bytes(hashlib.sha256(form).hexdigest().encode() + b"\n" + form)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)
    for old in path.parent.glob("*.json"):
        if not old.name.endswith(f"-{_program()}.json"):
            old.unlink(missing_ok=True)  # of another program: nobody asks for it any more


def _folder() -> Path:
    named = os.environ.get(CACHE_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser() / "procedures"
    from platformdirs import user_cache_path

    return user_cache_path("benchrun", appauthor=False) / "procedures"


@lru_cache(maxsize=1)
def _program() -> str:
    """A few digits that change with every file of the program that compiles."""
    told, package = hashlib.sha256(), Path(__file__).parent.parent
    for room in ("procedure", "quantity", "shopmath"):
        for path in sorted((package / room).rglob("*.*[yv]")):  # modules, and tables of numbers
            state = path.stat()
            told.update(f"{path.name} {state.st_mtime_ns} {state.st_size}\n".encode())
    return told.hexdigest()[:16]
