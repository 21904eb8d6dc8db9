"""Takes what does not fit the shapes out of a file's data, so that the rest can still be checked.

One slip in one step must not hide what is wrong with the others.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from benchrun.procedure.marked import Items, Map, Path
from benchrun.procedure.phrases import name_of

_STAND_INS: Final[Mapping[str, str | dict[str, str]]] = {
    "procedure": "unnamed",
    "title": "untitled",
    "revision": "1",
    "scope": "unsaid",
    "batch": {"part": "part"},
}


def take_out(data: Map, errors: Sequence[Mapping[str, Any]]) -> set[str] | None:
    """Take out what the errors of one validation are about.

    Args:
        data: The file's contents; changed.
        errors: The errors, as pydantic lists them.

    Returns:
        The ids and names that went with it, or None where the rest cannot stand without it.
    """
    lost: set[str] = set()
    spots: set[tuple[str | int, ...]] = set()
    for error in errors:
        loc = error["loc"]
        if loc[0] in _STAND_INS and (len(loc) == 1 or loc[0] == "batch"):
            _stand_in(data, loc[0])
            continue
        spot = _spot(data, loc, whole=error["type"] == "missing")
        if not spot:
            return None
        spots.add(spot)
    # From the end, so that the numbers of items still to go stay right.
    for spot in sorted(spots, key=_order, reverse=True):
        holder, last = _holder(data, spot)
        if isinstance(holder, Map) and isinstance(last, str) and last in holder:
            lost |= set(_named(holder[last])) | _own(last, holder[last])
            del holder[last]
        elif isinstance(holder, Items) and isinstance(last, int) and last < len(holder):
            lost |= set(_named(holder[last]))
            del holder[last], holder.values_at[last]
    return lost


def _stand_in(data: Map, key: str) -> None:
    """Something harmless for a line of the header that is wrong or missing."""
    value = _STAND_INS[key]
    stand_in: Map | str = Map(data.at) if isinstance(value, dict) else value
    if isinstance(stand_in, Map) and isinstance(value, dict):
        for name, text in value.items():
            stand_in[name] = text
            stand_in.keys_at[name] = stand_in.values_at[name] = data.at
    data[key] = stand_in
    data.keys_at.setdefault(key, data.at)
    data.values_at.setdefault(key, data.at)


def _order(spot: tuple[str | int, ...]) -> tuple[tuple[int, str, int], ...]:
    return tuple((0, part, 0) if isinstance(part, str) else (1, "", part) for part in spot)


def _spot(data: Map, loc: Path, *, whole: bool) -> tuple[str | int, ...]:
    """The place to take out: the key that is wrong, or the item that lacks one."""
    real = _real(data, loc)
    if not whole:
        while real and isinstance(real[-1], int) and not _is_step(data, real):
            real = real[:-1]  # one bad item of a plain list takes the list with it
        return real
    while real and not isinstance(real[-1], int):
        real = real[:-1]
    return real


def _real(data: Map, loc: Path) -> tuple[str | int, ...]:
    """The parts of a path that name something in the file."""
    here: object = data
    real: list[str | int] = []
    for part in loc:
        entry = _entry(here, part)
        if entry is not None:
            here = entry
            real.append(part)
    return tuple(real)


def _entry(here: object, part: str | int) -> str | Map | Items | None:
    """The value under a key or number, or None."""
    if isinstance(here, Map) and isinstance(part, str):
        return here.get(part)
    if isinstance(here, Items) and isinstance(part, int) and part < len(here):
        return here[part]
    return None


def _is_step(data: Map, real: tuple[str | int, ...]) -> bool:
    holder, last = _holder(data, real)
    if not isinstance(holder, Items) or not isinstance(last, int):
        return False
    return isinstance(holder[last], Map)


def _holder(data: Map, spot: tuple[str | int, ...]) -> tuple[object, str | int]:
    here: object = data
    for part in spot[:-1]:
        here = _entry(here, part)
    return here, spot[-1]


def _own(key: str, value: object) -> set[str]:
    return {value, name_of(value)} if key in {"id", "as"} and isinstance(value, str) else set()


def _named(part: object) -> Iterator[str]:
    """Every id and name that stands in a part of the file."""
    waiting = [part]
    while waiting:
        here = waiting.pop()
        if isinstance(here, Map):
            for key in ("id", "as"):
                value = here.get(key)
                if isinstance(value, str):
                    yield from (value, name_of(value))
            waiting.extend(here.values())
        elif isinstance(here, Items):
            waiting.extend(here)
