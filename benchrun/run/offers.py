"""Offers: what may be done now, most urgent first, and what is waited for."""

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Dwell, Witness
from benchrun.run.act_clocks import act_clocks
from benchrun.run.clocks import LoadClock, loads
from benchrun.run.decide import unfinished
from benchrun.run.dwelling import undone_before_out
from benchrun.run.memory import remembered
from benchrun.run.offer import Deed, Offer
from benchrun.run.sittings import set_up_by
from benchrun.run.start_offers import starts
from benchrun.run.state import WITNESS_SINCE, Marker, Question, Run, Status, altered
from benchrun.run.urgency import ordered_offers, part_haste
from benchrun.run.verdict import EARLY, EARLY_OR_LATE, PERHAPS_EARLY
from benchrun.text import span

__all__ = ["Deed", "Offer", "offers"]


@remembered
def offers(run: Run, at: Moment) -> tuple[Offer, ...]:
    """Everything on offer at a moment, the most urgent first and what is waited for last."""
    if run.ended or not run.parts:
        return ()
    clocks = act_clocks(run, at)
    found = [*_clock_offers(run, at), *_questions(run), *_away(run)]
    if run.stopped:
        found.append(Offer(Deed.RESUME, (), why=run.stopped, urgency=(-1,)))
    found += [
        altered(offer, set_up=set_up_by(run, offer.step, at)) if run.set_ups else offer
        for offer in starts(run, at, part_haste(clocks))
    ]
    if not any(offer.ready for offer in found) and not _anything_in(run):
        found.append(_closing(run))
    return ordered_offers(found, clocks)


def _anything_in(run: Run) -> bool:
    return any(m.soak is not None and m.status is not Status.AWAY for m in run.each())


def _closing(run: Run) -> Offer:
    left = unfinished(run)
    asks = "closing needs a reason for each" if len(left) > 1 else "closing needs a reason"
    why = f"not finished: {part_names(left, run.parts)}; {asks}" if left else ""
    return Offer(Deed.CLOSE, run.parts, ready=not left, why=why, urgency=(1 << 40,))


def _clock_offers(run: Run, at: Moment) -> list[Offer]:
    found = []
    for clock in loads(run, at):
        found.append(_lift(run, clock))
        if clock.tend_in is not None:
            found.append(_tend(run, clock, clock.tend_in))
    return found


def _tend(run: Run, clock: LoadClock, due_in: int) -> Offer:
    place = (run.route.index[clock.step.id], -1, 1)
    offer = Offer(Deed.TEND, clock.parts, clock.step, clock=clock, urgency=place)
    if due_in <= 0:
        return offer
    why = f"due in {span(due_in)}"
    return altered(offer, ready=False, why=why, wait_ms=due_in, urgency=(due_in,))


def _witness(run: Run, clock: LoadClock) -> Offer:
    place = (run.route.index[clock.step.id], 0, 0)
    offer = Offer(Deed.WITNESS, clock.parts, clock.step, clock=clock, urgency=place)
    left = clock.to_least
    if left <= 0:
        return offer
    why = f"the notice runs {span(left)} more"
    return altered(offer, ready=False, why=why, wait_ms=left, urgency=(left,))


def _lift(run: Run, clock: LoadClock) -> Offer:
    detail = clock.step.detail
    if isinstance(detail, Witness) and run.format >= WITNESS_SINCE:
        return _witness(run, clock)
    place = (run.route.index[clock.step.id], 0, 0)
    lift = Offer(Deed.LIFT, clock.parts, clock.step, clock=clock, urgency=place)
    if isinstance(detail, Dwell) and detail.place:
        why = f"away at {detail.place}"
        return altered(lift, ready=False, why=why, wait_ms=clock.to_most, urgency=(1 << 39,))
    first = undone_before_out(run, clock.parts, clock.step)
    if first:
        why = f"step {first[0].number} comes first"
        return altered(lift, ready=False, why=why, urgency=(max(0, clock.to_least),))
    early = clock.state in (EARLY, PERHAPS_EARLY, EARLY_OR_LATE)
    if early and (clock.to_most is None or clock.to_most > 0):
        why = f"too early, {span(clock.to_least)} to go"
        return altered(
            lift, ready=False, why=why, wait_ms=clock.to_least, urgency=(clock.to_least,)
        )
    return lift


def _questions(run: Run) -> list[Offer]:
    grouped: dict[tuple[str, str, tuple[str, ...]], list[tuple[Marker, Question]]] = {}
    for marker in run.each():
        if not marker.here:
            continue
        for question in marker.questions:
            codes = tuple(answer.code for answer in question.answers)
            key = (question.step, question.says, codes)
            grouped.setdefault(key, []).append((marker, question))
    return [_answer(run, group) for group in grouped.values()]


def _answer(run: Run, group: list[tuple[Marker, Question]]) -> Offer:
    question = group[0][1]
    ids: dict[str, str] = {}
    for marker, one in group:
        ids.setdefault(marker.part, one.id)
    return Offer(
        Deed.ANSWER,
        tuple(ids),
        run.route.steps[question.step],
        question=question,
        questions=ids,
        urgency=(question.index, -1, 0),
    )


def _away(run: Run) -> list[Offer]:
    places: dict[str, list[str]] = {}
    for marker in run.each():
        if marker.status is Status.AWAY and marker.soak is None:
            places.setdefault(marker.place, []).append(marker.part)
    return [
        Offer(
            Deed.GET_BACK,
            tuple(parts),
            ready=False,
            why=f"away at {place}",
            urgency=(1 << 39,),
        )
        for place, parts in places.items()
    ]
