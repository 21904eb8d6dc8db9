"""Things written down beside the work: notes, photos, lessons; and the ways to the rest."""

from collections.abc import Callable, Mapping
from typing import Final

from benchrun.dialogue.correction import correct, undo
from benchrun.dialogue.delivery import typed_in
from benchrun.dialogue.deviation import deviation
from benchrun.dialogue.photos import add_photo
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import (
    Destination,
    Flow,
    OpenPage,
    Say,
    choose,
)
from benchrun.dialogue.work import Work
from benchrun.run import commands as c
from benchrun.run.offers import Deed


def write_down(work: Work) -> Flow:
    """Choose what is written down or done beside the procedure."""
    options = (
        Option("Note", "for the log and for whoever comes next"),
        Option("Photo", "a picture file, copied into the record"),
        Option("Lesson", "what went wrong or better at this step"),
        Option("Deviation", "skip, set aside, scrap, go back, late entry, stop"),
        Option("Correct", "a reading, a finding or an amount entered wrong"),
        Option("Undo", "the last entry stays in the log, marked"),
        Option("Hand over", f"now: {work.worker}"),
        Option("Sign", "the hold or the close that is due"),
        Option("Leave", "the run stays open, clocks keep going"),
    )
    place = yield from choose(Choose("Write down", options, explains=True))
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
    enumerate((_note, add_photo, _lesson, deviation, correct, undo, _hand_over, _sign, _leave))
)
