"""The questions of each offer before it is taken up, and the command that it comes to."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from benchrun.dialogue.answers import answer_prompt, numbered_answers
from benchrun.dialogue.delivery import done
from benchrun.dialogue.prompts import ANOTHER_INSTRUMENT, Choose, Option
from benchrun.dialogue.signature import sign_close, sign_hold
from benchrun.dialogue.turns import (
    Flow,
    ask_reading,
    choose,
)
from benchrun.dialogue.work import Work
from benchrun.procedure.route import (
    Act,
    Consequence,
    Finding,
    Hold,
    Inspect,
    Reading,
    Step,
)
from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.shop.amounts import day_of
from benchrun.shop_use.instruments import tool_of


def act(work: Work) -> Flow:
    """Do what is in hand."""
    offer = work.now.offer
    if offer is None:
        return False
    return (yield from act_on(work, offer, work.parts))


def act_on(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    """Take an offer up for parts; what was chosen for it is let go of once it is recorded."""
    if offer.deed is Deed.CLOSE:
        recorded = yield from sign_close(work)
    elif offer.deed is Deed.ANSWER:
        recorded = yield from _answer(work, offer, parts)
    elif offer.deed is Deed.DO and offer.step is not None:
        recorded = yield from _do(work, offer, offer.step, parts)
    else:
        recorded = yield from done(work, _AT_ONCE[offer.deed](offer, parts, work.seen))
    if recorded:
        work.let_go()
    return recorded


_AT_ONCE: Final[Mapping[Deed, Callable[[Offer, tuple[str, ...], int], Command]]] = {
    Deed.LIFT: lambda offer, parts, seen: c.Lift(parts, seen),
    Deed.TEND: lambda offer, parts, seen: c.Tend(parts, seen),
    Deed.GET_BACK: lambda offer, parts, seen: c.GetBack(parts, seen),
    Deed.RESUME: lambda offer, parts, seen: c.Resume(),
    Deed.PUT_IN: lambda offer, parts, seen: c.PutIn(_step_of(offer).id, parts, seen),
    Deed.LATE: lambda offer, parts, seen: c.FindLate(_step_of(offer).id, parts, seen),
}


def command_at_once(offer: Offer, parts: tuple[str, ...], seen: int) -> Command | None:
    """The command of an offer that asks nothing more than the rules do; None for any other."""
    command_of = _AT_ONCE.get(offer.deed)
    return command_of(offer, parts, seen) if command_of else None


def _step_of(offer: Offer) -> Step:
    if offer.step is None:
        raise ValueError(f"an offer to {offer.deed.value} is always at a step")
    return offer.step


def choices_of(run: Run, offer: Offer) -> Choose | None:
    """The numbered answers that an offer asks for at once; None where it asks for none."""
    if offer.deed is Deed.ANSWER and offer.question is not None:
        return answer_prompt(run, offer.question)
    if offer.deed is Deed.DO and offer.step is not None:
        detail = offer.step.detail
        return finding_prompt(run, detail) if isinstance(detail, Inspect) else None
    return None


def finding_prompt(run: Run, detail: Inspect, title: str = "What is found") -> Choose:
    """The findings of an inspection, each with what may follow it."""
    options = (
        Option(one.name[:1].upper() + one.name[1:], _follows(run, one)) for one in detail.findings
    )
    return Choose(title, tuple(options))


def _follows(run: Run, finding: Finding) -> str:
    if finding.plain:
        return ""
    words = [_consequence(run, one) for one in finding.consequences]
    return f"then {' or '.join(words)}"


def _consequence(run: Run, one: Consequence) -> str:
    if one.act is Act.REWORK and one.to in run.route.steps:
        most = f", at most {one.most}×" if one.most is not None else ""
        return f"back to step {run.route.steps[one.to].number}{most}"
    return one.text or one.act.value


def _answer(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    question, prompt = offer.question, choices_of(work.session.run, offer)
    if question is None or prompt is None:
        return False
    place = yield from choose(prompt)
    if place is None:
        return False
    code = numbered_answers(work.session.run, question)[place][1].code
    questions = {part: offer.questions[part] for part in parts if part in offer.questions}
    return (yield from done(work, c.Settle(parts, work.seen, questions, code)))


def _do(work: Work, offer: Offer, step: Step, parts: tuple[str, ...]) -> Flow:
    command = c.Do(step.id, parts, work.seen)
    detail = step.detail
    if isinstance(detail, Hold):
        return (yield from sign_hold(work, step, detail, command))
    if isinstance(detail, Reading):
        return (yield from _read(work, offer, step, detail, parts))
    if isinstance(detail, Inspect):
        place = yield from choose(finding_prompt(work.session.run, detail))
        if place is None:
            return False
        command = replace(command, finding=detail.findings[place].name)
    return (yield from done(work, command))


def _read(work: Work, offer: Offer, step: Step, detail: Reading, parts: tuple[str, ...]) -> Flow:
    while True:
        typed = yield from ask_reading(work.measure_of(offer, step, detail, parts))
        if typed != ANOTHER_INSTRUMENT:
            break
        yield from take_instrument(work, step)
    if not typed:
        return False
    session = work.session
    fitted = work.instruments.fitted(session.run, step, parts[0], session.now(), typed)
    tool = fitted.tool if fitted else tool_of(session.procedure, detail)
    command = c.Do(step.id, parts, work.seen, typed, tool=tool)
    return (yield from done(work, command))


def take_instrument(work: Work, step: Step) -> Flow:
    """Take another of the shop's instruments in hand for a reading, the likeliest first."""
    today = day_of(work.session.now())
    offered = work.instruments.offered(step)
    options = (
        Option(
            one.id,
            ", ".join(text for text in (one.name, one.range_words, one.state(today)) if text),
        )
        for one in offered
    )
    place = yield from choose(Choose("The instrument", tuple(options), f"For: {step.text}"))
    if place is not None:
        work.instruments.take(step, offered[place].id)
    return False
