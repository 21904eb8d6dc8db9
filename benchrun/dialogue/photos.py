"""Pictures for the record: any at any time, and the one that a step wants before it is done."""

from collections.abc import Generator
from pathlib import Path
from typing import Final

from benchrun.dialogue.delivery import done
from benchrun.dialogue.prompts import Choose, Confirm, Option, Text
from benchrun.dialogue.turns import (
    Flow,
    Say,
    Turn,
    called,
    choose,
    confirm,
    text,
)
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.pictures.files import MayTell
from benchrun.procedure.route import Step
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.photos import unphotographed
from benchrun.shop.settings import has_watched_folder

_NEWEST: Final = 0
_FILES: Final = (1, 4)
_ANY_AGE: Final = 2
_AS_IT_IS: Final = (3, 4)
_AGAIN, _FILE, _WITHOUT = range(3)


def take_photo(work: Work, step: Step, parts: tuple[str, ...]) -> Generator[Turn, object, bool]:
    """Take the photo that a step wants: the newest picture of the watched folder, or a file.

    Returns:
        Whether to go on with the step; its entry says where no photo was taken.
    """
    if not unphotographed(work.session.run, step, parts):
        return True
    source: Path | None = None
    while True:
        try:
            return (yield from _copied(work, source, _NEWEST, fresh=source is None))
        except BenchrunError as error:
            why = error.message[:1].upper() + error.message[1:]
        options = [
            Option("A file", "by its path", _FILE + 1),
            Option("No photo", "the record says that none was taken", _WITHOUT + 1),
        ]
        if has_watched_folder(work.session.shop):
            options.insert(
                0, Option("Look again", "for a new picture in the watched folder", _AGAIN + 1)
            )
        said = f"No photo yet of {part_names(parts)}. {why}."
        way = yield from _way(Choose("Photo", tuple(options), said))
        if way is None or way == _WITHOUT:
            return way == _WITHOUT
        typed = (yield from text(Text("Photo", "The picture's file:"))) if way == _FILE else ""
        source = Path(typed) if typed else None


def _way(prompt: Choose) -> Generator[Turn, object, int | None]:
    """Choose a line by its own number; None for going back."""
    place = yield from choose(prompt)
    return None if place is None else prompt.options[place].number - 1


def _kept_in(work: Work, digest: str) -> int | None:
    """The entry that holds a picture already, or None."""
    for entry in work.session.entries:
        if isinstance(entry.data, e.Photo) and entry.data.sha256 == digest:
            return entry.n
    return None


def add_photo(work: Work) -> Flow:
    """Keep a picture of a step; the position that it tells stays behind unless asked for."""
    as_it_is = "the copy tells where it was taken"
    options: tuple[Option, ...] = (
        Option("Newest picture", "of the watched folder, since this run began", 1),
        Option("A file", "by its path", 2),
        Option("Newest, any age", "of the watched folder", 3),
        Option("Newest as it is", as_it_is, 4),
        Option("A file as it is", as_it_is, 5),
    )
    if not has_watched_folder(work.session.shop):
        options = tuple(one for one in options if one.number - 1 in _FILES)
    said = "It is copied into the record, without the place that it tells and the maker's notes."
    way = yield from _way(Choose("Photo", options, said))
    if way is None:
        return False
    typed = ""
    while True:
        source = None
        if way in _FILES:
            typed = yield from text(Text("Photo", "The picture's file:", typed=typed))
            if not typed:
                return False
            source = Path(typed)
        try:
            return (yield from _copied(work, source, way))
        except BenchrunError as error:
            yield Say(error.message, strong=True)
            if source is None:
                return False


def _copied(work: Work, source: Path | None, way: int, *, fresh: bool = False) -> Flow:
    """Copy a picture and name it in the log; a fresh one must not be there already."""
    step = work.step
    at, chosen = (step.id if step else ""), work.parts

    def copy(*, unsure: bool) -> c.KeepPhoto:
        return work.session.copy_photo(
            source,
            at,
            chosen,
            any_age=way == _ANY_AGE,
            keep_position=way in _AS_IT_IS,
            unsure=unsure,
        )

    try:
        command = yield from called(lambda: copy(unsure=False), once=True)
    except MayTell as error:
        said = f"{error.message}. Keep it anyway?"
        if not (yield from confirm(Confirm("Once more", said))):
            return False
        command = yield from called(lambda: copy(unsure=True), once=True)
    kept = _kept_in(work, command.sha256) if fresh else None
    if kept is not None:
        raise BenchrunError(f"The newest picture, {command.text}, is in the record, entry {kept}")
    if not (yield from done(work, command)):
        return False
    yield Say(f"{command.text} is kept, {command.position.words}.")
    return True
