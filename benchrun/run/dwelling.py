"""Deciding dwells: going in, coming out, tending."""

from collections.abc import Iterable

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Act, Consequence, Dwell, Step, Witness
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.acts import may_start
from benchrun.run.advance import onward
from benchrun.run.clocks import soaked
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.course import position_key
from benchrun.run.drafts import marker_draft
from benchrun.run.entry_builder import TOO_SOON, Start, window_outcome
from benchrun.run.measurement import AGAIN
from benchrun.run.questions import off_time, older, question
from benchrun.run.start_checks import in_order, known_parts, not_begun
from benchrun.run.state import WITNESS_SINCE, Ask, Marker, Question, Run, Soak, Value, altered
from benchrun.run.supply_use import used
from benchrun.run.verdict import (
    EARLY,
    EARLY_OR_LATE,
    IN_TIME,
    LATE,
    PERHAPS_EARLY,
    UNTOLD,
    draw,
    judge_time,
    milliseconds,
    origins,
    reads_of,
)
from benchrun.run.vessels import over_capacity, room_left, vessel_for
from benchrun.text import listed, shown, span

GO_ON = Consequence(Act.GO_ON)


def decide_in(run: Run, command: c.PutIn, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Decide the start of a dwell."""
    step = run.route.steps.get(command.step)
    if step is None or not isinstance(step.detail, Dwell):
        return Refusal(
            f"The procedure has no dwell {shown(command.step, 40)}. Choose one on offer."
        )
    if isinstance(step.detail, Witness) and run.format >= WITNESS_SINCE:
        return Refusal(f"Step {step.number} is a witness point. Tell them; the notice runs then.")
    reason = command.reason.strip()
    start = may_start(
        run, step, command.parts, command.seen, at, hand, reason, command.ago, command.vessel
    )
    if not isinstance(start, Start):
        return start
    over = over_capacity(run, step.detail.vessel, start.parts)
    refused = _late_word(command.ago, reason) or not_begun(run, step, start.parts)
    refused = refused or _fits(run, step.detail, over, reason)
    if refused:
        return refused
    each: dict[str, e.Outcome] = {}
    for part in start.parts:
        try:
            each[part] = _times(run, run.markers[part], step.detail, start)
        except Undetermined as error:
            return Refusal(
                f"{part}: the time limits are not known: {error}. "
                "Correct the reading, or skip this step with a reason."
            )
    refused = _one_load(each)
    if refused:
        return refused
    uses = used(run, step, start.parts, command.uses)
    if isinstance(uses, Refusal):
        return uses
    soon = any(state.too_soon for state in start.windows.values())
    overfull = ("over capacity",) if over and not step.load else ()
    return e.WentIn(
        step.id,
        start.parts,
        each,
        vessel=start.vessel or vessel_for(run, step, start.parts),
        reason=reason,
        ago=command.ago,
        without=start.without,
        flags=start.flags + ((TOO_SOON,) if soon else ()) + overfull,
        uses=uses,
    )


def _late_word(ago: int, reason: str) -> Refusal | None:
    if ago < 0:
        return Refusal("Type 0 or more.")
    if ago and not reason:
        return Refusal("A late entry needs a reason.", Want.REASON)
    return None


def _times(run: Run, marker: Marker, detail: Dwell, start: Start) -> e.Outcome:
    kept = window_outcome(start.windows.get(marker.part))
    return times_of(run, detail, draw(marker, f.dwell_reads(detail)), kept)


def times_of(run: Run, detail: Dwell, values: tuple[Value, ...], outcome: e.Outcome) -> e.Outcome:
    """An outcome with the times of a dwell: its limits, and the others where they depend.

    Raises:
        Undetermined: A reading is missing or outside its table.
    """
    least, most, aim, every = _worked_out(detail, values)
    named = {
        "least": detail.least,
        "most": detail.most,
        "aim": detail.aim,
        "every": detail.tend_every,
    }
    return altered(
        outcome,
        least=least,
        most=most,
        aim=aim if reads_of(detail.aim) else None,
        every=every if reads_of(detail.tend_every) else None,
        origins=origins(run, named, values),
    )


def _worked_out(detail: Dwell, values: tuple[Value, ...]) -> tuple[int | None, ...]:
    every = detail.tend_every
    return tuple(milliseconds(x, values) for x in (detail.least, detail.most, detail.aim, every))


def _one_load(each: dict[str, e.Outcome]) -> Refusal | None:
    for part, own in each.items():
        if own.least is not None and own.most is not None and own.least > own.most:
            return Refusal(
                f"{part}: the earliest, {span(own.least)}, is after the latest, {span(own.most)}. "
                "Correct the reading, or skip this step with a reason."
            )
    least = max((o.least for o in each.values() if o.least is not None), default=None)
    most = min((o.most for o in each.values() if o.most is not None), default=None)
    if least is not None and most is not None and least > most:
        return Refusal(
            f"These parts cannot be one load: one needs at least {span(least)}, another at most "
            f"{span(most)}. Make two loads of them."
        )
    return None


def _fits(run: Run, detail: Dwell, over: int, reason: str) -> Refusal | None:
    if not over or reason:
        return None
    vessel = run.route.vessels[detail.vessel]
    free = max(0, room_left(run, detail.vessel) or 0)
    holds = f" of {vessel.capacity}" if vessel.capacity is not None else ""
    return Refusal(
        f"The {vessel.title} has room for {free} more{holds}. Make smaller loads, "
        "or give a reason.",
        Want.REASON,
    )


def _all_in(run: Run, parts: tuple[str, ...], seen: int) -> Step | Refusal:
    refused = known_parts(run, parts, seen)
    if refused:
        return refused
    steps = set()
    for part in parts:
        soak = run.markers[part].soak
        if soak is None:
            return Refusal(f"{part} is in no vessel and not sent out. Choose one that is.")
        steps.add(soak.step)
    if len(steps) > 1:
        return Refusal("These parts are in at different steps. Take them one step at a time.")
    return run.route.steps[steps.pop()]


def decide_out(run: Run, command: c.Lift, at: Moment) -> e.Data | Refusal:
    """Decide the end of a dwell; it is never refused for being early or late."""
    step = _all_in(run, command.parts, command.seen)
    if isinstance(step, Refusal):
        return step
    if isinstance(step.detail, Witness) and run.format >= WITNESS_SINCE:
        said = "a witness is waited for. Enter who came, or that nobody did."
        return Refusal(f"{part_names(command.parts)}: {said}")
    reason = command.reason.strip()
    parts = in_order(run, command.parts)
    first = undone_before_out(run, parts, step)
    refused = _late_word(command.ago, reason) or _not_before(first, reason)
    if refused:
        return refused
    each = {part: _timed(run, run.markers[part], step, at, command.ago) for part in parts}
    flags = (_out_before(first),) if first else ()
    draft = e.CameOut(step.id, parts, each, reason, command.ago, flags)
    entry = e.Entry(run.n, at, "", draft)
    return altered(draft, each={part: _on(run, part, entry, each[part]) for part in parts})


def undone_before_out(run: Run, parts: Iterable[str], step: Step) -> tuple[Step, ...]:
    """The steps that parts have not done yet and must do before this dwell ends."""
    first = [one for one in run.course.ahead.get(step.id, ()) if one.before_out]
    if not first:
        return ()
    ahead = [run.markers[part].ahead for part in parts]
    return tuple(
        one
        for one in first
        if any(not done.issuperset(run.course.ops_of(one.id)) for done in ahead)
    )


def _out_before(first: tuple[Step, ...]) -> str:
    numbers = tuple(f"step {one.number}" for one in first)
    return f"ended before {listed(numbers)} was done"


def _not_before(first: tuple[Step, ...], reason: str) -> Refusal | None:
    if not first or reason:
        return None
    step = first[0]
    return Refusal(
        f"Step {step.number} comes first: {step.text} Do it, or give a reason to end this before.",
        Want.REASON,
    )


def _undone(run: Run, marker: Marker, step: Step) -> tuple[str, ...]:
    """The steps that are left out from now on, as they were not done while the dwell ran."""
    course = run.course
    left_out = [one for one in course.ahead.get(step.id, ()) if one.left_out]
    if not left_out:
        return ()
    asked = {question.index for question in marker.questions}
    return tuple(
        one.id for one in left_out if not (marker.ahead | asked).issuperset(course.ops_of(one.id))
    )


def _timed(run: Run, marker: Marker, step: Step, at: Moment, ago: int) -> e.Outcome:
    soak = marker.soak
    if soak is None:
        raise AssertionError("checked before")
    spent = soaked(run, soak, at, ago)
    ruling = judge_time(soak.least, soak.most, spent.proven_ms, spent.possible_ms)
    asks = () if ruling == IN_TIME else (_ask_time(run, marker, step, ruling, at, ago),)
    return e.Outcome(
        verdict=ruling,
        least=soak.least,
        most=soak.most,
        proven=spent.proven_ms,
        possible=spent.possible_ms,
        asks=asks,
        rulings=_untold(marker, soak, step),
        undone=_undone(run, marker, step),
    )


def _untold(marker: Marker, soak: Soak, step: Step) -> tuple[e.Ruling, ...]:
    """That the limits are those from before a correction which led off their table.

    It was asked about when the correction was made, and is not asked again at lifting.
    """
    if not isinstance(step.detail, Dwell):
        return ()
    try:
        for parameter in (step.detail.least, step.detail.most):
            milliseconds(parameter, soak.inputs)
    except Undetermined:
        return (e.Ruling(position_key(marker.index, marker.passes), UNTOLD),)
    return ()


def _ask_time(run: Run, marker: Marker, step: Step, ruling: str, at: Moment, ago: int) -> Question:
    soak = marker.soak
    if soak is None:
        raise AssertionError("checked before")
    spent = soaked(run, soak, at, ago)
    says = off_time(ruling, spent, soak.least, soak.most)
    ask = (
        Ask.EARLY
        if ruling in (EARLY, PERHAPS_EARLY)
        else Ask.EARLY_OR_LATE
        if ruling == EARLY_OR_LATE
        else Ask.LATE
    )
    return question(
        run,
        0,
        marker,
        step,
        ask,
        says,
        time_consequences(step, ruling, older=older(run)),
        index=marker.index,
        about=position_key(marker.index, marker.passes),
    )


def limits_of(marker: Marker, detail: Dwell) -> tuple[int | None, int | None]:
    """The least and the most time of a dwell for a part, by its readings where they decide.

    Raises:
        Undetermined: A reading that a time of the dwell depends on is missing or off its table.
    """
    least, most, *_ = _worked_out(detail, draw(marker, f.dwell_reads(detail)))
    return least, most


def time_consequences(step: Step, ruling: str, *, older: bool = False) -> tuple[Consequence, ...]:
    """The consequences of a dwell that was too short or too long.

    Where nothing is written for one that was too short it is taken up again. An `older` log lets
    it be gone on from always.
    """
    detail = step.detail
    if not isinstance(detail, Dwell):
        return ()
    always = (GO_ON,) if older else ()
    early = (*(detail.early or (AGAIN,)), *always)
    late = (*detail.late, *always)
    if ruling in (EARLY, PERHAPS_EARLY):
        return early
    return late if ruling in (LATE, "perhaps late") else (*early, *late)


def _on(run: Run, part: str, entry: e.Entry, outcome: e.Outcome) -> e.Outcome:
    old = run.markers[part]
    if f.held(outcome.asks, old.index) or run.course.stands_at(old.index + 1, old.ahead):
        return outcome
    after = marker_draft(old)
    f.lift_out(run, after, entry, outcome)
    on = onward(run, after, old.index + 1, entry.at, count=len(outcome.asks))
    return altered(outcome, falls=on.falls, asks=(*outcome.asks, *on.asks))


def decide_tend(run: Run, command: c.Tend) -> e.Data | Refusal:
    """Decide the tending of parts that are in."""
    step = _all_in(run, command.parts, command.seen)
    if isinstance(step, Refusal):
        return step
    if isinstance(step.detail, Dwell) and step.detail.tend_every is None:
        return Refusal(
            f"Step {step.number} asks for no tending. Leave {part_names(command.parts)} as is."
        )
    return e.Tended(step.id, in_order(run, command.parts))
