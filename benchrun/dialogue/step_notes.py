"""The notes beside a step on every face: conditions, who and how many, a free order, passes."""

from collections.abc import Iterator

from benchrun.dialogue.hand import pass_words, place_words
from benchrun.procedure.route import Step
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.text import count, listed

_NOT_AT_A_STEP = (Deed.ANSWER, Deed.CLOSE, Deed.RESUME)


def step_notes(run: Run, offer: Offer) -> Iterator[tuple[str, str]]:
    """The notes to the step on offer: what each is about, in a word, and what it says."""
    step = offer.step
    if step is None or offer.deed in _NOT_AT_A_STEP:
        return
    for text in step.standing:
        yield "see that", text
    if who := who_words(step):
        yield "who", who
    if order := order_words(run, offer):
        yield "order", order


def who_words(step: Step) -> str:
    """Who may do a step, and how many people it needs where one is not enough."""
    people = count(step.people, "person", "people") if step.people > 1 else ""
    return ", ".join(word for word in (step.who, people) if word)


def order_words(run: Run, offer: Offer) -> str:
    """Which steps are left of a group whose order is free; empty where no other one is."""
    step = offer.step
    if step is None or not step.any_order or not offer.parts:
        return ""
    marker, route = run.markers[offer.parts[0]], run.route
    left = [
        one.number
        for one in route.steps.values()
        if one.any_order == step.any_order
        and (index := run.course.ops_of(one.id)[-1]) >= marker.index
        and index not in marker.ahead
    ]
    if len(left) < 2:
        return ""
    return f"free: steps {listed([str(number) for number in left], most=12)} in any order"


def turn_words(run: Run, offer: Offer) -> str:
    """Which pass and which place of a reading it is: `coats 2, reading 2 of 12`."""
    return ", ".join(word for word in (pass_words(run, offer), place_words(offer)) if word)
