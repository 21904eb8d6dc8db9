"""Deviations from the procedure: each has its own number, and each asks for a reason."""

from collections.abc import Callable, Generator, Mapping
from dataclasses import replace
from typing import Final

from benchrun.dialogue.batch_kinds import ask_kinds
from benchrun.dialogue.delivery import done, reason_prompt
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.run_prompts import PartsChoice
from benchrun.dialogue.signature import sign_waiver
from benchrun.dialogue.turns import (
    Flow,
    Say,
    Turn,
    ask_parts,
    choose,
    text,
)
from benchrun.dialogue.work import Work, part_states
from benchrun.part_names import part_names
from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Hold, Step
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.run.offers import Deed
from benchrun.run.state import GO_ON, Question, Status

MINUTES: Final = ("1 min", "2 min", "5 min", "10 min", "15 min", "30 min", "1 h")
QUERIES: Final = ("damage seen", "a part is missing", "the figure in the manual is doubtful")
_TITLES: Final = {
    "aside": "Parts to set aside",
    "scrap": "Parts to scrap",
    "play": "Parts to return to work",
}
_SAYS: Final = {"aside": "set aside", "scrap": "scrap", "play": "return to work"}


def deviation(work: Work) -> Flow:
    """Choose a deviation and record it."""
    run, step, asked = work.session.run, work.step, _gone_on_from(work)
    who = run.parts[0] if len(run.parts) == 1 else "which parts is asked next"
    options = (
        Option("Go on anyway", asked.says) if asked else _skip_option(step),
        Option("Set aside", who),
        Option("Scrap", who),
        Option("Return to work", "what was set aside or scrapped"),
        Option("Back to a step"),
        Option("Raise a query", "holds these parts until answered"),
        Option("Late entry", "clock started or stopped earlier"),
        Option("Stop the run", "nothing starts until it is resumed"),
        Option("Another part joins"),
    )
    said = "Each needs a reason and is recorded as a deviation."
    place = yield from choose(Choose("Deviation", options, said, explains=True))
    return False if place is None else (yield from _WAYS[place](work))


def _skip_option(step: Step | None) -> Option:
    """The way past the step in hand: a hold is waived where the procedure lets it be."""
    if step is None:
        return Option("Skip this step")
    if isinstance(step.detail, Hold) and step.detail.waivable:
        who = f"signed by a {step.detail.role}" if step.detail.role else "signed, with a reason"
        return Option("Waive this hold", f"{who}: {step.number}  {step.text}")
    return Option("Skip this step", f"{step.number}  {step.text}")


def _gone_on_from(work: Work) -> Question | None:
    """The question in hand, where going on is no answer that the procedure lets follow."""
    offer = work.now.offer
    question = offer.question if offer is not None and offer.deed is Deed.ANSWER else None
    return question if question is not None and question.may_go_on else None


def _skip(work: Work) -> Flow:
    """Leave the step in hand out, or go on from a question all the same."""
    offer = work.now.offer
    if offer is not None and _gone_on_from(work) is not None:
        questions = {part: offer.questions[part] for part in work.parts if part in offer.questions}
        return (yield from done(work, c.Settle(work.parts, work.seen, questions, GO_ON)))
    step, chosen = work.step, work.parts
    if step is None or not chosen:
        yield Say("No step is in hand that could be skipped.")
        return False
    if isinstance(step.detail, Hold) and step.detail.waivable:
        return (yield from sign_waiver(work, step, chosen))
    return (yield from done(work, c.Skip(step.id, chosen, work.seen)))


def _which(
    work: Work, title: str, among: tuple[str, ...] = ()
) -> Generator[Turn, object, tuple[str, ...]]:
    """Parts, where there are several: none is chosen beforehand.

    A number must never leave out the one part that is meant.

    Args:
        work: The run.
        title: What they are chosen for.
        among: The parts that may be chosen; empty: all.
    """
    run = work.session.run
    if len(run.parts) == 1:
        return run.parts
    states = part_states(run)
    prompt = PartsChoice(title, run.parts, among or run.parts, needed=True, states=states)
    return (yield from ask_parts(prompt))


def _put(to: str) -> Callable[[Work], Flow]:
    def flow(work: Work) -> Flow:
        run, among = work.session.run, tuple[str, ...]()
        if to == "play":
            left = (Status.ASIDE, Status.SCRAP)
            among = tuple(one.part for one in run.each() if one.status in left)
            if not among:
                yield Say("No part is set aside or scrapped.")
                return False
        chosen = yield from _which(work, _TITLES[to], among)
        if not chosen:
            return False
        said = f"{part_names(chosen)}: {_SAYS[to]}. Why?"
        command = c.Put(chosen, work.seen, to)
        reason = yield from text(reason_prompt(said, work.session.entries, command))
        if not reason:
            return False
        return (yield from done(work, replace(command, reason=reason)))

    return flow


def _back(work: Work) -> Flow:
    chosen = yield from _which(work, "Parts that go back")
    if not chosen:
        return False
    run = work.session.run
    here = min(run.markers[part].index for part in chosen)
    behind = [step for step in run.route.steps.values() if run.route.index[step.id] < here]
    if not behind:
        yield Say("There is no step behind.")
        return False
    behind.reverse()
    options = tuple(Option(f"step {step.number}: {step.text}") for step in behind)
    said = (
        f"{part_names(chosen)}: work from that step on is done again. The log keeps the old values."
    )
    place = yield from choose(Choose("Back to which step", options, said))
    if place is None:
        return False
    return (yield from done(work, c.Put(chosen, work.seen, behind[place].id)))


def _query(work: Work) -> Flow:
    chosen = yield from _which(work, "Parts the query is about")
    if not chosen:
        return False
    says = yield from text(Text("The query", part_names(chosen), QUERIES))
    return bool(says) and (yield from done(work, c.Raise(chosen, work.seen, says)))


def _late_entry(work: Work) -> Flow:
    offer, chosen = work.now.offer, work.parts
    if offer is None or offer.deed not in (Deed.LIFT, Deed.PUT_IN) or offer.step is None:
        yield Say("Late entry is for a load going in or coming out: + takes that in hand.")
        return False
    said = "Widens the possible time only; the proven time stays."
    typed = ""
    while True:
        typed = yield from text(Text("How long ago", said, MINUTES, typed=typed))
        if not typed:
            return False
        try:
            ago = time_span(typed)
        except ValueError as error:
            yield Say(str(error), strong=True)
            continue
        if offer.deed is Deed.LIFT:
            command: c.Command = c.Lift(chosen, work.seen, ago=ago)
        else:
            command = c.PutIn(offer.step.id, chosen, work.seen, ago=ago)
        return (yield from done(work, command))


def _stop(work: Work) -> Flow:
    return (yield from done(work, c.Stop("")))


def _join(work: Work) -> Flow:
    tag = yield from text(Text("The tag of the part", "It starts at the first step."))
    if not tag:
        return False
    session = work.session
    parts = yield from ask_kinds(session.shop, session.procedure, (PartSpec(tag),))
    return bool(parts) and (yield from done(work, c.Add(parts[0])))


_WAYS: Final[Mapping[int, Callable[[Work], Flow]]] = dict(
    enumerate(
        (
            _skip,
            _put("aside"),
            _put("scrap"),
            _put("play"),
            _back,
            _query,
            _late_entry,
            _stop,
            _join,
        )
    )
)
