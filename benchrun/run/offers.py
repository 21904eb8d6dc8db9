"""Offers: what may be done now, most urgent first, and what is waited for."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

from benchrun.moment import Moment
from benchrun.procedure.route import Dwell, Step, StepOp
from benchrun.run.clocks import LoadClock, WindowState, loads, window
from benchrun.run.decide import unfinished
from benchrun.run.judge import EARLY, EARLY_OR_LATE, PERHAPS_EARLY
from benchrun.run.ready import left_behind
from benchrun.run.soaking import filled
from benchrun.run.state import Marker, Question, Run, Status
from benchrun.text import listed, span

NEAR_SHARE: Final = 4  # the last quarter of a limit counts as near it; common practice, no source


class Deed(StrEnum):
    """What an offer is."""

    DO = "do"
    PUT_IN = "put in"
    LIFT = "lift"
    TEND = "tend"
    ANSWER = "answer"
    LATE = "late"
    GET_BACK = "get back"
    RESUME = "resume"
    CLOSE = "close"


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that may be done, or that is waited for.

    Attributes:
        deed: What it is.
        parts: For whom, in batch order.
        step: At which step, if at one.
        ready: Whether it should be done now; otherwise `why` says what it waits for.
        wait_ms: How long until it is ready, if a clock decides.
        place: The place of a reading.
        question: The question to answer, of the first part; `questions` names each part's own.
        clock: The load it is about.
        window: The window of the first part.
        urgency: What it is sorted by.
    """

    deed: Deed
    parts: tuple[str, ...]
    step: Step | None = None
    ready: bool = True
    why: str = ""
    wait_ms: int | None = None
    place: str = ""
    question: Question | None = None
    questions: Mapping[str, str] = field(default_factory=dict)
    clock: LoadClock | None = None
    window: WindowState | None = None
    urgency: tuple[int, ...] = ()


Group = list[tuple[Marker, WindowState | None]]
URGENT, CLOSING, USUAL, WAITING = 0, 1, 2, 3


def offers(run: Run, at: Moment) -> tuple[Offer, ...]:
    """Everything on offer at a moment, the most urgent first and what is waited for last."""
    if run.ended or not run.parts:
        return ()
    found = [*_clock_offers(run, at), *_questions(run), *_away(run)]
    if run.stopped:
        found.append(Offer(Deed.RESUME, (), why=run.stopped, urgency=(URGENT, 1 << 40)))
    found += _starts(run, at)
    if not any(offer.ready for offer in found) and not _anything_in(run):
        found.append(_closing(run))
    return tuple(sorted(found, key=lambda offer: offer.urgency))


def _anything_in(run: Run) -> bool:
    return any(m.soak is not None and m.status is not Status.AWAY for m in run.each())


def _closing(run: Run) -> Offer:
    left = unfinished(run)
    why = f"{listed(left)} not done: a reason for each" if left else ""
    return Offer(Deed.CLOSE, run.parts, ready=not left, why=why, urgency=(WAITING - (not left), 0))


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


def _starts(run: Run, at: Moment) -> list[Offer]:
    grouped: dict[tuple[object, ...], Group] = {}
    places: dict[tuple[object, ...], tuple[int, StepOp]] = {}
    for marker in run.each():
        for index, op in _standing(run, marker):
            state = window(run, marker, op.step, at)
            kind = "" if state is None else "soon" if state.too_soon else "late" * state.late
            passes = marker.passes if op.step.together else ()
            key: tuple[object, ...] = (index, passes, kind)
            grouped.setdefault(key, []).append((marker, state))
            places[key] = (index, op)
    room: dict[str, int] = {}
    made: list[Offer] = []
    for key in sorted(grouped, key=lambda each: places[each][0]):
        first, op = places[key]
        for group, full in _by_room(run, op.step, grouped[key], room):
            offer = _start(run, first, op, group)
            made.append(_waits_for_room(run, offer) if full and offer.ready else offer)
    return made


def _by_room(run: Run, step: Step, group: Group, room: dict[str, int]) -> list[tuple[Group, bool]]:
    """Split the parts that would go into a vessel into those that fit now and those that wait."""
    detail = step.detail
    vessel = run.route.vessels.get(detail.vessel) if isinstance(detail, Dwell) else None
    if vessel is None or vessel.capacity is None:
        return [(group, False)]
    left = room.setdefault(vessel.id, vessel.capacity - filled(run, vessel.id))
    fits: Group = []
    for pair in group:
        if pair[0].size <= left:
            fits.append(pair)
            left -= pair[0].size
    room[vessel.id] = left
    waits = [pair for pair in group if pair not in fits]
    return [(some, full) for some, full in ((fits, False), (waits, True)) if some]


def _waits_for_room(run: Run, offer: Offer) -> Offer:
    detail = offer.step.detail if offer.step else None
    vessel = run.route.vessels[detail.vessel] if isinstance(detail, Dwell) else None
    why = f"waits for room in the {vessel.title}" if vessel else "waits for room"
    return replace(offer, ready=False, why=why, urgency=(WAITING, 1 << 38))


def _standing(run: Run, marker: Marker) -> list[tuple[int, StepOp]]:
    """The ops that a part may start: where it stands, or what it may do ahead while it soaks."""
    if marker.questions or not marker.here or (marker.soak is None and not marker.free):
        return []
    if marker.soak is None:
        op = run.route.step_at(marker.index)
        return [(marker.index, op)] if op else []
    found = []
    for step in run.route.steps.values():
        if step.ahead_of == marker.soak.step:
            rest = [i for i in run.course.ops_of(step.id) if i not in marker.ahead]
            op = run.route.step_at(rest[0]) if rest else None
            if op:
                found.append((rest[0], op))
    return found


def _start(run: Run, index: int, op: StepOp, group: Group) -> Offer:
    step, state = op.step, group[0][1]
    parts = tuple(marker.part for marker, _ in group)
    deed = Deed.PUT_IN if isinstance(step.detail, Dwell) else Deed.DO
    first = run.route.index[step.id]
    urgency = (USUAL, first, 0 if index > first else 1, index)
    offer = Offer(deed, parts, step, place=op.place, window=state, urgency=urgency)
    if run.stopped:
        return replace(offer, ready=False, why="the run is stopped", urgency=(WAITING, 1 << 39))
    without = left_behind(run, parts) if step.together else ()
    if without:
        why = f"waits for {listed(without)}"
        return replace(offer, ready=False, why=why, urgency=(WAITING, 1 << 38))
    if state is None:
        return offer
    if state.too_soon:
        wait = max((s.to_least or 0) for _, s in group if s is not None)
        why = f"too soon, {span(wait)} to go"
        return replace(offer, ready=False, why=why, wait_ms=wait, urgency=(WAITING, wait))
    if state.late:
        return replace(offer, deed=Deed.LATE)
    return _closing_window(offer, step, group)


def _closing_window(offer: Offer, step: Step, group: Group) -> Offer:
    rests = [s.to_most for _, s in group if s is not None and s.to_most is not None]
    most = step.window.most if step.window else None
    if not rests or most is None or min(rests) > most // NEAR_SHARE:
        return offer
    return replace(offer, urgency=(CLOSING, min(rests)))
