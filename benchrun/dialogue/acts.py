"""The questions of each offer before it is taken up, and the command that it comes to."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from benchrun.dialogue.acknowledgement import all_kept_words, kept_words
from benchrun.dialogue.answers import answer_prompt, numbered_answers
from benchrun.dialogue.carry_out import carry_out
from benchrun.dialogue.delivery import done, give
from benchrun.dialogue.deviation import deviation
from benchrun.dialogue.figures import ask_needed
from benchrun.dialogue.photos import take_photo
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.readying import count_back
from benchrun.dialogue.run_prompts import ANOTHER_INSTRUMENT, ForAll
from benchrun.dialogue.signature import sign_close, sign_hold
from benchrun.dialogue.turns import (
    Flow,
    Say,
    ask_reading,
    choose,
)
from benchrun.dialogue.witness import end_notice
from benchrun.dialogue.work import Work
from benchrun.procedure.route import (
    Act,
    Consequence,
    Finding,
    Hold,
    Inspect,
    PlainDo,
    Reading,
    Step,
)
from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.run.entries import Did, Entry
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.session import Kept
from benchrun.shop.amounts import day_of
from benchrun.shop.instruments import ShopInstrument
from benchrun.shop_use.instruments import tool_of


def act(work: Work) -> Flow:
    """Do what is in hand; what was chosen for it is let go of once it is recorded."""
    offer, parts = work.now.offer, work.parts
    if offer is None:
        return False
    if offer.figures:
        # What the step is judged by is known only then: it is offered again as it stands.
        yield from ask_needed(work, offer.figures)
        return False
    step = offer.step if offer.deed is Deed.DO else None
    if step is not None and step.photo and not (yield from take_photo(work, step, parts)):
        return False
    asks = _asks_of(offer)
    if asks is not None:
        recorded = yield from asks(work, offer, parts)
    else:
        command = _AT_ONCE[offer.deed](offer, parts, work.seen)
        recorded = isinstance((yield from give(work, command)), Kept)
    if recorded:
        work.let_go()
    return recorded


_AT_ONCE: Final[Mapping[Deed, Callable[[Offer, tuple[str, ...], int], Command]]] = {
    Deed.BEGIN: lambda offer, parts, seen: c.Begin(_step_of(offer).id, parts, seen),
    Deed.DO: lambda offer, parts, seen: c.Do(_step_of(offer).id, parts, seen),
    Deed.LIFT: lambda offer, parts, seen: c.Lift(parts, seen),
    Deed.TEND: lambda offer, parts, seen: c.Tend(parts, seen),
    Deed.GET_BACK: lambda offer, parts, seen: c.GetBack(parts, seen),
    Deed.RESUME: lambda offer, parts, seen: c.Resume(),
    Deed.TELL: lambda offer, parts, seen: c.Tell(_step_of(offer).id, parts, seen),
    Deed.PUT_IN: lambda offer, parts, seen: c.PutIn(_step_of(offer).id, parts, seen),
    Deed.LATE: lambda offer, parts, seen: c.FindLate(_step_of(offer).id, parts, seen),
}


def command_at_once(offer: Offer, parts: tuple[str, ...], seen: int) -> Command | None:
    """The command of an offer that asks nothing more than the rules do; None for any other."""
    return None if offer.figures or _asks_of(offer) else _AT_ONCE[offer.deed](offer, parts, seen)


def _step_of(offer: Offer) -> Step:
    if offer.step is None:
        raise ValueError(f"an offer to {offer.deed.value} is always at a step")
    return offer.step


def choices_of(run: Run, offer: Offer) -> Choose | None:
    """The numbered answers that an offer asks for at once; None where it asks for none."""
    if offer.figures:
        return None
    if offer.deed is Deed.ANSWER and offer.question is not None:
        return answer_prompt(run, offer.question)
    if offer.deed is Deed.DO and offer.step is not None:
        detail = offer.step.detail
        return finding_prompt(run, detail) if isinstance(detail, Inspect) else None
    return None


def stroke_inspection(run: Run, offer: Offer | None) -> Step | None:
    """The inspection that follows a counted stroke, so that one number says both.

    A stroke is an act inside a repeat that asks for nothing, warns of nothing new and is judged
    at once; None for any other offer.
    """
    step = offer.step if offer is not None and offer.deed is Deed.DO and offer.ready else None
    if step is None or not isinstance(step.detail, PlainDo) or (offer and offer.figures):
        return None
    if step.critical or step.photo or step.uses or step.gathers:
        return None
    at = run.course.ops_of(step.id)[-1]
    judged = run.route.step_at(at + 1) if at + 1 < len(run.route.ops) else None
    if judged is None or not isinstance(judged.step.detail, Inspect):
        return None
    within = run.route.within
    if not within[at] or within[at] != within[at + 1] or judged.step.together:
        return None
    plain = not (judged.step.uses or judged.step.critical or judged.step.window)
    return judged.step if plain and set(judged.step.cautions) <= set(step.cautions) else None


def stroke(work: Work) -> Flow:
    """Do a counted stroke and judge it, by one number."""
    offer, parts, run = work.now.offer, work.parts, work.session.run
    judged = stroke_inspection(run, offer)
    if offer is None or offer.step is None or judged is None:
        return False
    if not isinstance(judged.detail, Inspect):
        return False
    place = yield from choose(finding_prompt(run, judged.detail))
    if place is None:
        return False
    made = yield from give(work, c.Do(offer.step.id, parts, work.seen))
    if not isinstance(made, Kept) or not isinstance(made.entries[0].data, Did):
        return isinstance(made, Kept)
    found = judged.detail.findings[place].name
    yield from give(work, c.Do(judged.id, parts, work.seen, finding=found))
    work.let_go()
    return True


def finding_prompt(run: Run, detail: Inspect) -> Choose:
    """The findings of an inspection, each with what may follow it; or the ways of a choice."""
    options = (
        Option(
            one.name[:1].upper() + one.name[1:],
            _follows(run, one),
            heard="leads to: a query" if len(one.consequences) > 1 else "",
        )
        for one in detail.findings
    )
    return Choose("Which way" if detail.ways else "What is found", tuple(options))


def _follows(run: Run, finding: Finding) -> str:
    if finding.plain:
        return ""
    words = [_consequence(run, one) for one in finding.consequences]
    between = ", or " if any("," in one for one in words[:-1]) else " or "
    return f"leads to: {between.join(words)}"


def _consequence(run: Run, one: Consequence) -> str:
    if one.act is Act.REWORK and one.to in run.route.steps:
        most = f", at most {one.most}×" if one.most is not None else ""
        return f"back to step {run.route.steps[one.to].number}{most}"
    return one.text or one.act.value


def _count_back(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    step = _step_of(offer)
    if not work.session.run.tools_out:  # none were counted out: one tick, as the run began
        return (yield from done(work, c.Do(step.id, parts, work.seen)))
    command = c.Do(step.id, parts, work.seen)
    return (yield from count_back(work, lambda back: replace(command, tools_back=back)))


def _answer(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    question, prompt = offer.question, choices_of(work.session.run, offer)
    if question is None or prompt is None:
        return False
    if not prompt.options:
        yield Say("Nothing is written for this: what follows is a deviation, with its reason.")
        return (yield from deviation(work))
    place = yield from choose(prompt)
    if place is None:
        return False
    code = numbered_answers(work.session.run, question)[place][1].code
    questions = {part: offer.questions[part] for part in parts if part in offer.questions}
    return (yield from done(work, c.Settle(parts, work.seen, questions, code)))


def _close(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    del offer, parts
    return (yield from sign_close(work))


def _carry_out(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    return (yield from carry_out(work, _step_of(offer), parts))


def _hold(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    step = _step_of(offer)
    if not isinstance(step.detail, Hold):
        return False
    return (yield from sign_hold(work, step, step.detail, c.Do(step.id, parts, work.seen)))


def _inspect(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    step = _step_of(offer)
    if not isinstance(step.detail, Inspect):
        return False
    place = yield from choose(finding_prompt(work.session.run, step.detail))
    if place is None:
        return False
    found = step.detail.findings[place].name
    return (yield from done(work, c.Do(step.id, parts, work.seen, finding=found)))


def _read(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    step = _step_of(offer)
    detail = step.detail
    if not isinstance(detail, Reading):
        return False
    while True:
        typed = yield from ask_reading(work.measure_of(offer, step, detail, parts))
        if typed != ANOTHER_INSTRUMENT:
            break
        yield from take_instrument(work, step)
    if not typed or not (yield from _settle_instrument(work, step, parts)):
        return False
    if isinstance(typed, ForAll):
        if not step.shared:
            return (yield from _read_all(work, offer, step, detail, typed.typed))
        typed = typed.typed
    return isinstance((yield from give(work, _reading(work, step, detail, parts, typed))), Kept)


def _settle_instrument(work: Work, step: Step, parts: tuple[str, ...]) -> Flow:
    """Ask which of several instruments that fit was used, once a step; whether that is settled."""
    session = work.session
    rivals = work.instruments.rivals(session.run, step, parts[0], session.now())
    return not rivals or (yield from _choose_instrument(work, step, rivals))


def _reading(
    work: Work, step: Step, detail: Reading, parts: tuple[str, ...], typed: str, reason: str = ""
) -> c.Do:
    session = work.session
    fitted = work.instruments.fitted(session.run, step, parts[0], session.now(), typed)
    tool = fitted.tool if fitted else tool_of(session.procedure, detail, typed)
    return c.Do(step.id, parts, work.seen, typed, tool=tool, reason=reason)


def _read_all(work: Work, offer: Offer, step: Step, detail: Reading, typed: str) -> Flow:
    """Give one value to each part that waits for it; a reason is asked once."""
    waiting, reason = work.waiting_for(offer), ""
    kept: list[Entry] = []
    for part in waiting:
        command = _reading(work, step, detail, (part,), typed, reason)
        before = work.session.run
        reply = yield from give(work, command, quiet=True)
        if not isinstance(reply, Kept):
            break
        entry = reply.entries[0]
        kept.append(entry)
        reason = entry.data.reason if isinstance(entry.data, Did) else ""
    if len(kept) == 1:
        yield Say(kept_words(kept[0], before))
    elif kept:
        yield Say(all_kept_words(kept, work.session.run))
    return bool(kept)


_Asks = Callable[[Work, Offer, tuple[str, ...]], Flow]
_BY_DEED: Final[Mapping[Deed, _Asks]] = {
    Deed.CLOSE: _close,
    Deed.ANSWER: _answer,
    Deed.WITNESS: end_notice,
}
_BY_DETAIL: Final[Mapping[type, _Asks]] = {Hold: _hold, Inspect: _inspect, Reading: _read}


def _asks_of(offer: Offer) -> _Asks | None:
    """The flow of an offer that asks something before it is a command; None for any other."""
    if offer.deed is Deed.DO and _step_of(offer).carries_out:
        return _carry_out
    if offer.deed is Deed.DO and _step_of(offer).counts_back:
        return _count_back
    if offer.deed is Deed.DO:
        return _BY_DETAIL.get(type(_step_of(offer).detail))
    return _BY_DEED.get(offer.deed)


def take_instrument(work: Work, step: Step) -> Flow:
    """Take another of the shop's instruments in hand for a reading, the likeliest first."""
    offered = work.instruments.offered(step)
    if offered:
        yield from _choose_instrument(work, step, offered)
    else:
        yield Say("The shop's books have no instrument for this reading.")
    return False


def _choose_instrument(work: Work, step: Step, among: tuple[ShopInstrument, ...]) -> Flow:
    today = day_of(work.session.now())
    options = (
        Option(
            one.id,
            ", ".join(text for text in (one.name, one.range_words, one.state(today)) if text),
        )
        for one in among
    )
    place = yield from choose(Choose("The instrument", tuple(options), f"For: {step.text}"))
    if place is None:
        return False
    work.instruments.take(step, among[place].id)
    return True
