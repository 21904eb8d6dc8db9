"""Runs as they tell of themselves by their names and by the first and last lines of their logs.

For a board that is to stand at once. Nothing here is proven, and nothing is decided by it.
"""

import json
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import utc_ms
from benchrun.plain_file import open_regular
from benchrun.text import shown

LOG_NAME: Final = "log.jsonl"
SEAL_NAME: Final = f"{LOG_NAME}.sig"

_RUN_NAME: Final = re.compile(r"\d{4}-\d\d-\d\d-[a-z0-9-]{1,60}-[a-z0-9]{4}", re.ASCII)
_MOST_BYTES: Final = 1 << 20
_TAIL_BYTES: Final = 64 * 1024
_OF_ITSELF: Final = ("seal", "beat")
_IN: Final = b'"kind":"in"'
_OUT: Final = b'"kind":"out"'


@lean_dataclass(frozen=True, slots=True)
class Glimpse:
    """An open run as it tells of itself.

    Attributes:
        path: Its folder.
        title: Its procedure's title; the run's id where the log does not tell.
        since_ms: Wall time of what was last done in it, milliseconds since 1970; seals and signs of
            life do not count. Where the log does not tell, when its file was last changed.
    """

    path: Path
    title: str
    since_ms: int


def run_paths(runs: Path, known: Callable[[Path], bool] | None = None) -> list[Path]:
    """The folders of the runs that have a log, oldest first by name.

    Args:
        runs: The folder that holds the shop's runs; it may be missing.
        known: Says of a folder that it is known to have a log; it is not looked for then.

    Raises:
        BenchrunError: It cannot be read.
    """
    named = _named(runs)
    return [path for path in named if (known and known(path)) or (path / LOG_NAME).is_file()]


def log_places(runs: Path) -> list[Path]:
    """The folders of the runs in which anything stands where a log does, a pipe or a folder too.

    Args:
        runs: The folder that holds the shop's runs; it may be missing.

    Raises:
        BenchrunError: It cannot be read.
    """
    return [path for path in _named(runs) if (path / LOG_NAME).exists()]


def _named(runs: Path) -> list[Path]:
    try:
        return sorted(path for path in runs.iterdir() if _RUN_NAME.fullmatch(path.name))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise BenchrunError(f"{shown(str(runs), 200)} cannot be read: {disk_said(error)}") from None


def closed(path: Path) -> bool:
    """Whether a run's log is sealed as a whole, or was never begun."""
    return (path / SEAL_NAME).is_file() or (path / LOG_NAME).stat().st_size == 0


def glimpse(path: Path) -> Glimpse:
    """Look at the first and the last lines of a run's log."""
    log = path / LOG_NAME
    try:
        changed = int(log.stat().st_mtime * 1000)
        return Glimpse(path, _title(log) or path.name, _last_done(log) or changed)
    except OSError:
        return Glimpse(path, path.name, 0)


def first_end(path: Path) -> int | None:
    """The wall time, milliseconds since 1970, at which the first load in a vessel must come out.

    By the last lines of a run's log alone, without the rules: it may be wrong, and tells only which
    of many runs is looked at first.

    Returns:
        None where the last lines know of no load that has such an end.
    """
    log, came_out, ends = path / LOG_NAME, set[str](), list[int]()
    try:
        for raw in _tail(log):
            if _OUT in raw or _IN in raw:
                entry = _entry(raw)
                parts = set(map(str, _part(entry, "data").get("parts", ()))) - came_out
                if entry.get("kind") == "in":
                    ends += _ends(entry, parts)
                came_out |= parts
    except (OSError, TypeError):
        return None
    return min(ends, default=None)


def _ends(entry: Mapping[str, Any], parts: set[str]) -> Iterator[int]:
    each, when = _part(_part(entry, "data"), "each"), _part(entry, "at").get("utc")
    for part in parts:
        most = _part(each, part).get("most")
        if isinstance(most, int) and isinstance(when, str):
            with suppress(ValueError):
                yield utc_ms(when) + most


def _title(log: Path) -> str:
    with open_regular(log) as file:
        first = _entry(file.readline(_MOST_BYTES))
    told = _part(_part(first, "data"), "procedure").get("title")
    return told if isinstance(told, str) else ""


def _last_done(log: Path) -> int:
    """The wall time of the last line that somebody made; of the last of all, if nobody did."""
    last = 0
    for raw in _backwards(log):
        entry = _entry(raw)
        when = _part(entry, "at").get("utc")
        try:
            at = utc_ms(when) if isinstance(when, str) else 0
        except ValueError:
            continue
        last = last or at
        if at and entry.get("kind") not in _OF_ITSELF:
            return at
    return last


def _tail(log: Path) -> Iterator[bytes]:
    """The last lines, backwards."""
    with open_regular(log) as file:
        file.seek(max(0, file.seek(0, 2) - _TAIL_BYTES))
        yield from reversed(file.read().splitlines())


def _backwards(log: Path) -> Iterator[bytes]:
    """The lines from the last one on: those of the tail, then all before them."""
    with open_regular(log) as file:
        start = max(0, file.seek(0, 2) - _TAIL_BYTES)
        file.seek(start)
        cut, *whole = file.read().splitlines() or [b""]
        yield from reversed(whole)
        file.seek(0)
        yield from reversed((file.read(start) + cut).splitlines())


def _entry(raw: bytes) -> Mapping[str, Any]:
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError):
        return {}  # a torn or damaged line: whoever reads the log tells of it
    return found if isinstance(found, dict) else {}


def _part(of: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    part = of.get(key)
    return part if isinstance(part, dict) else {}
