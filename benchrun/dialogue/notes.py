"""Things written down beside the work: notes, photos, lessons; and the ways to the rest."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from benchrun.dialogue.correction import correct, undo
from benchrun.dialogue.delivery import done, typed_in
from benchrun.dialogue.deviation import deviation
from benchrun.dialogue.prompts import Choose, Confirm, Option, Text
from benchrun.dialogue.turns import (
    Destination,
    Flow,
    OpenPage,
    Say,
    called,
    choose,
    confirm,
    text,
)
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.pictures.files import MayTell
from benchrun.run import commands as c
from benchrun.run.offers import Deed

_FILES: Final = (1, 4)
_ANY_AGE: Final = 2
_AS_IT_IS: Final = (3, 4)


def write_down(work: Work) -> Flow:
    """Choose what is written down or done beside the procedure."""
    options = (
        Option("Note", "for the log and for whoever comes next"),
        Option("Photo", "a picture file, copied into the record"),
        Option("Lesson", "what went wrong or better at this step"),
        Option("Deviation", "skip, set aside, scrap, go back, late entry, stop"),
        Option("Correct", "a reading, a finding or an amount entered wrong"),
        Option("Undo", "take back the last entry"),
        Option("Hand over", f"now: {work.session.hand.name}"),
        Option("Sign", "the hold or the close that is due"),
        Option("Leave", "the run stays open, clocks keep going"),
    )
    place = yield from choose(Choose("Write down", options))
    return False if place is None else (yield from _WAYS[place](work))


def _note(work: Work) -> Flow:
    step, chosen = work.step, work.parts
    at = step.id if step else ""
    return (yield from typed_in(work, Text("Note"), lambda typed: c.KeepNote(typed, at, chosen)))


def _lesson(work: Work) -> Flow:
    step = work.step
    if step is None:
        yield Say("A lesson belongs to a step; none is in hand.")
        return False
    at = step.id
    prompt = Text("Lesson", f"On step {step.number}: {step.text}")
    return (yield from typed_in(work, prompt, lambda typed: c.KeepLesson(typed, at)))


def _photo(work: Work) -> Flow:
    """Keep a picture of a step; the position that it tells stays behind unless asked for."""
    as_it_is = "the copy tells where it was taken"
    options = (
        Option("Newest picture", "of the watched folder, since this run began"),
        Option("A file", "by its path"),
        Option("Newest, any age", "of the watched folder"),
        Option("Newest as it is", as_it_is),
        Option("A file as it is", as_it_is),
    )
    said = "It is copied into the record, without the place that it tells and the maker's notes."
    way = yield from choose(Choose("Photo", options, said))
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


def _copied(work: Work, source: Path | None, way: int) -> Flow:
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
        command = yield from called(lambda: copy(unsure=False))
    except MayTell as error:
        said = f"{error.message}. Keep it all the same?"
        if not (yield from confirm(Confirm("Once more", said))):
            return False
        command = yield from called(lambda: copy(unsure=True))
    if not (yield from done(work, command)):
        return False
    yield Say(f"{command.text} is kept, {command.position.words}.")
    return True


def _hand_over(work: Work) -> Flow:
    people = work.people
    options = tuple(Option(person.name, ", ".join(person.roles)) for person in people)
    place = yield from choose(Choose("Who goes on", options))
    if place is not None:
        work.session.hand_over(people[place])
        yield Say(f"From here on in the name of {people[place].name}.")
    return False


def _sign(work: Work) -> Flow:
    for offer in work.now.offers:
        held = offer.step is not None and offer.step.kind.value == "hold"
        if offer.deed is Deed.CLOSE or (offer.deed is Deed.DO and held):
            work.pin(offer)
            yield Say("Enter goes on to sign.")
            return False
    yield Say("Nothing is waiting for a signature now.")
    return False


def _leave(work: Work) -> Flow:
    del work
    yield OpenPage(Destination.BOARD)
    return False


_WAYS: Final[Mapping[int, Callable[[Work], Flow]]] = dict(
    enumerate((_note, _photo, _lesson, deviation, correct, undo, _hand_over, _sign, _leave))
)
