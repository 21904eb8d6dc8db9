"""Offers: what may be done now, most urgent first, and what is waited for."""

from dataclasses import replace

from benchrun.moment import Moment
from benchrun.procedure.route import Dwell
from benchrun.run.clocks import LoadClock, loads
from benchrun.run.decide import unfinished
from benchrun.run.offer import NEAR_SHARE, URGENT, USUAL, WAITING, Deed, Offer
from benchrun.run.start_offers import starts
from benchrun.run.state import Marker, Question, Run, Status
from benchrun.run.verdict import EARLY, EARLY_OR_LATE, PERHAPS_EARLY
from benchrun.text import listed, span

__all__ = ["Deed", "Offer", "offers"]


def offers(run: Run, at: Moment) -> tuple[Offer, ...]:
    """Everything on offer at a moment, the most urgent first and what is waited for last."""
    if run.ended or not run.parts:
        return ()
    found = [*_clock_offers(run, at), *_questions(run), *_away(run)]
    if run.stopped:
        found.append(Offer(Deed.RESUME, (), why=run.stopped, urgency=(URGENT, 1 << 40)))
    found += starts(run, at)
    if not any(offer.ready for offer in found) and not _anything_in(run):
        found.append(_closing(run))
    return tuple(sorted(found, key=lambda offer: offer.urgency))


def _anything_in(run: Run) -> bool:
    return any(m.soak is not None and m.status is not Status.AWAY for m in run.each())


def _closing(run: Run) -> Offer:
    left = unfinished(run)
    asks = "a reason for each is asked" if len(left) > 1 else "a reason is asked"
    why = f"{listed(left)} not done: {asks}" if left else ""
    urgency = (WAITING, 1 << 40) if left else (USUAL, 1 << 40)
    return Offer(Deed.CLOSE, run.parts, ready=not left, why=why, urgency=urgency)


def _clock_offers(run: Run, at: Moment) -> list[Offer]:
    found = []
    for clock in loads(run, at):
        found.append(_lift(run, clock))
        if clock.tend_in is not None and clock.tend_in <= 0:
            found.append(
                Offer(Deed.TEND, clock.parts, clock.step, clock=clock, urgency=(URGENT, 0))
            )
        elif clock.tend_in is not None:
            found.append(
                Offer(
                    Deed.TEND,
                    clock.parts,
                    clock.step,
                    ready=False,
                    why=f"due in {span(clock.tend_in)}",
                    wait_ms=clock.tend_in,
                    clock=clock,
                    urgency=(WAITING, clock.tend_in),
                )
            )
    return found


def _lift(run: Run, clock: LoadClock) -> Offer:
    detail = clock.step.detail
    lift = Offer(Deed.LIFT, clock.parts, clock.step, clock=clock)
    if isinstance(detail, Dwell) and detail.place:
        why = f"away at {detail.place}"
        return replace(
            lift, ready=False, why=why, wait_ms=clock.to_most, urgency=(WAITING, 1 << 39)
        )
    if clock.state in (EARLY, PERHAPS_EARLY, EARLY_OR_LATE):
        if clock.to_most is None or clock.to_most > 0:
            why = f"too early, {span(clock.to_least)} to go"
            return replace(
                lift,
                ready=False,
                why=why,
                wait_ms=clock.to_least,
                urgency=(WAITING, clock.to_least),
            )
    elif clock.most is None and clock.least is None:
        return replace(lift, ready=True, urgency=(USUAL, run.route.index[clock.step.id], 0, 0))
    if _near(clock):
        return replace(lift, urgency=(URGENT, clock.to_most or 0))
    return replace(lift, urgency=(USUAL, run.route.index[clock.step.id], 0, 0))


def _near(clock: LoadClock) -> bool:
    if clock.aim is not None and clock.spent.proven_ms >= clock.aim:
        return True
    if clock.most is None or clock.to_most is None:
        return False
    return clock.to_most <= clock.most // NEAR_SHARE


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
        urgency=(USUAL, question.index, -1, 0),
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
            urgency=(WAITING, 1 << 39),
        )
        for place, parts in places.items()
    ]
