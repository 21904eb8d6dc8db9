"""The photos of a part: which pictures of a run show it, and which a step still wants."""

from collections.abc import Iterable

from benchrun.procedure.route import Step
from benchrun.run.entries import Entry, Photo
from benchrun.run.state import Run


def photos_by_part(entries: Iterable[Entry]) -> dict[str, list[Photo]]:
    """The pictures of each part that one names, the oldest first."""
    found: dict[str, list[Photo]] = {}
    for entry in entries:
        if isinstance(entry.data, Photo):
            for part in dict.fromkeys(entry.data.parts):
                found.setdefault(part, []).append(entry.data)
    return found


def photos_of(entries: Iterable[Entry], part: str) -> tuple[Photo, ...]:
    """The pictures that name a part, the oldest first; one that names no part shows the run."""
    return tuple(
        entry.data
        for entry in entries
        if isinstance(entry.data, Photo) and part in entry.data.parts
    )


def unphotographed(run: Run, step: Step, parts: Iterable[str]) -> tuple[str, ...]:
    """The parts of which a step wants a photo and has none yet."""
    if not step.photo:
        return ()
    return tuple(part for part in parts if (step.id, part) not in run.photographed)
