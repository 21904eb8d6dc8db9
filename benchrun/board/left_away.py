"""Parts that were away when their run was closed, until the parts book knows them to be back."""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.kept_runs import KEPT_RUNS
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.text import slug

if TYPE_CHECKING:
    from benchrun.record.folder import RunFolder
    from benchrun.run.state import Run
    from benchrun.shop.parts import Part

_TAIL_BYTES: Final = 256 * 1024


@lean_dataclass(frozen=True, slots=True)
class LeftAway:
    """Parts that were away when their run was closed.

    Attributes:
        run: The run's id.
        title: Its procedure's title.
        place: Where they are.
        parts: Their tags.
    """

    run: str
    title: str
    place: str
    parts: tuple[str, ...]


def still_away(left: Iterable[LeftAway], parts: "Iterable[Part]") -> tuple[LeftAway, ...]:
    """Those that closed runs left away, without the parts that parts.yaml knows to be back.

    A part is back when its row, whose id is its tag in plain letters, names the run and says
    nothing of its being away now.

    Args:
        left: What closed runs left away.
        parts: The rows of parts.yaml.
    """
    back = {(run, part.id) for part in parts if part.gone is None for run in part.runs}
    away = []
    for one in left:
        tags = tuple(tag for tag in one.parts if (one.run, slug(tag)) not in back)
        if tags:
            away.append(LeftAway(one.run, one.title, one.place, tags))
    return tuple(away)


def left_by(path: Path) -> tuple[LeftAway, ...]:
    """The parts that the closed run in a folder left away."""
    from benchrun.record.folder import RunFolder

    return KEPT_RUNS.of_closed(RunFolder(path), _left_in)


def _left_in(folder: "RunFolder") -> tuple[LeftAway, ...]:
    """The parts that a closed run left away."""
    from benchrun.load_run import look_at_kept
    from benchrun.procedure.route import Dwell
    from benchrun.run.state import Status

    try:
        if not _closed_with_reasons(folder.log):
            return ()
        run = look_at_kept(folder).run
    except (BenchrunError, ValueError, OSError):
        return ()  # a closed log that cannot be read is for verify to tell
    places: dict[str, list[str]] = {}
    for marker in run.each():
        place = marker.place if marker.status is Status.AWAY else ""
        if marker.soak is not None:
            detail = run.route.steps[marker.soak.step].detail
            place = detail.place if isinstance(detail, Dwell) else ""
        if place:
            places.setdefault(place, []).append(marker.part)
    title = _title(run, folder)
    return tuple(LeftAway(folder.run, title, at, tuple(tags)) for at, tags in places.items())


def _closed_with_reasons(log: Path) -> bool:
    """Whether the close of a log names parts that were not done, by its last lines alone."""
    with open_regular(log) as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - _TAIL_BYTES))
        lines = file.read().splitlines()
    for line in reversed(lines[1:] if size > _TAIL_BYTES else lines):
        entry = json.loads(line)
        if isinstance(entry, dict) and entry.get("kind") == "close":
            return bool(entry.get("data", {}).get("reasons"))
    return True  # the close lies further back: only reading it all can tell


def _title(run: "Run", folder: "RunFolder") -> str:
    about = run.about.get("procedure")
    return str(about.get("title", folder.run)) if isinstance(about, dict) else folder.run
