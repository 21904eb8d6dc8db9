"""The photos of a part: which pictures of a run show it."""

from collections.abc import Iterable

from benchrun.run.entries import Entry, Photo


def photos_of(entries: Iterable[Entry], part: str) -> tuple[Photo, ...]:
    """The pictures that name a part, the oldest first; one that names no part shows the run."""
    return tuple(
        entry.data
        for entry in entries
        if isinstance(entry.data, Photo) and part in entry.data.parts
    )
