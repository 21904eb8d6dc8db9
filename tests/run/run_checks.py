"""The properties of a run, each as a check; the numbers are those of the list in `PROPERTIES`."""

import pickle
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from benchrun.moment import Moment
from benchrun.procedure.checks import ways_of
from benchrun.procedure.route import (
    Act,
    Detour,
    Dwell,
    Hold,
    Inspect,
    Reading,
    StepOp,
    WorkOut,
)
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.amendment import BACK_TO_FORK
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.marker_moves import SELVES_KEPT
from benchrun.run.offers import Deed, Offer
from benchrun.run.replay import command_of
from benchrun.run.start_checks import left_behind
from benchrun.run.state import Ask, Marker, Run, Status
from benchrun.run.steps_ahead import steps_ahead
from benchrun.run.verdict import judge_again
from benchrun.run.witnessing import notice_left, waits_for_witness

PROPERTIES = {
    1: "the rearmost waited part is never blocked by a gather",
    2: "every part in play or away appears in some offer",
    3: "with no offer ready, what is waited for is named",
    4: "from any state a bounded number of commands reaches close",
    5: "rebuilding the command from an entry and deciding again gives the same entry",
    6: "folding the re-read log gives an equal state",
    7: "a part in play with no question and no occupancy stands on a step",
    8: "the pass tuple's length is the repeat depth",
    9: "true elapsed lies in [proven, possible] under reboots and wrong clocks",
    10: "a vessel is never over capacity without a reason",
    11: "a together act leaves no waited part behind unless it lists it",
    12: "the parts of a together act share one pass tuple",
    13: "retract restores each touched marker exactly",
    14: "only the parts named in an entry change",
    15: "an accepted command sent again is refused",
    16: "a correction never changes position or status",
    17: "there and back restores values, decisions, questions",
    18: "a changed-decision question is open exactly by the rule",
    19: "a skipped reading leaves no value",
    20: "after going back no value comes from the target or later",
    21: "no live window has an unreachable target",
    22: "rework counts never pass their limit",
    23: "the log cut down to one part folds to that part's same marker",
    24: "adjacent acts, not together, on disjoint parts commute",
    25: "a part in a vessel can be lifted in every state",
    26: "nobody comes past a hold but by the signature or the waiver of who may sign it",
    27: "a step that cannot be undone has its start before it",
    28: "deciding and folding leave the run that they are given as it was",
    29: "a part goes on to one of the steps that are told to come, the first sure one at last",
}


def refusal(refused: Refusal) -> None:
    """A refusal is a sentence in plain words."""
    text = refused.text
    assert text[:1].isupper() or text[:1].isdigit() or text[0] in "“p", text
    assert text.rstrip("”").endswith((".", "?")), text
    assert "None" not in text
    assert "object" not in text, text


def content(run: Run) -> bytes:
    """Everything that a run holds, down to the last value, as bytes: it shares nothing with it."""
    return pickle.dumps([value for name, value in vars(run).items() if name != "course"])


def entry(before: Run, after: Run, made: e.Entry, hand: Hand) -> None:
    """Properties 5, 10 to 14, 16, 19, 20 and 29, of one entry."""
    data = made.data
    again = decide(before, command_of(made.n, data), made.at, hand)
    assert again == data, (again, data)
    named = _named(before, data)
    changed_only(before, after, named)
    if isinstance(data, e.Did | e.WentIn):
        _together(before, data)
        _together_sees_all(before, data)
        _went_on(before, after, data, made.at)
    if isinstance(data, e.Did | e.WentIn | e.Retracted):
        _capacity(before, after, data)
    if isinstance(data, e.Retracted):
        _retracted(before, after, data)
    if isinstance(data, e.Corrected):
        for part in data.parts:
            one, other = before.markers[part], after.markers[part]
            assert (one.at, one.status) == (other.at, other.status)
    if isinstance(data, e.Skipped):
        _skipped(after, data)
    if isinstance(data, e.Did) and data.tools_back:
        _counted_back(before, data)
    if isinstance(data, e.Moved) and data.to in before.route.index:
        for part in data.parts:
            _gone_back(before, after, part, before.route.index[data.to])


def _went_on(before: Run, after: Run, data: e.Did | e.WentIn, at: Moment) -> None:
    """Whoever has done a step and goes on by itself comes to a step that was told to come."""
    if isinstance(data, e.WentIn):
        return
    step = before.route.steps[data.step]
    there = before.course.ops_of(data.step)
    parts = [part for part in data.parts if before.markers[part].index in there]
    coming: list[str] = []
    for one in steps_ahead(before, parts, step, at) if parts else ():
        coming.append(one.step.id)
        if not one.when:
            break
    for part in parts:
        marker, op = after.markers[part], after.route.step_at(after.markers[part].index)
        if op is not None and marker.free and op.step.id != data.step:
            assert op.step.id in coming, (part, data.step, op.step.id, coming)


def _counted_back(before: Run, data: e.Did) -> None:
    """Every tool that went out is counted back, and none is missing without a reason."""
    back = {one.tool: one.number for one in data.tools_back}
    assert back.keys() >= {one.tool for one in before.tools_out}
    short = any(back[one.tool] < one.number for one in before.tools_out)
    assert short == any(flag.startswith("missing: ") for flag in data.flags)
    assert data.reason or not short


def _named(before: Run, data: e.Data) -> tuple[str, ...]:
    if isinstance(data, e.Opened):
        return tuple(spec.part for spec in data.parts)
    if isinstance(data, e.Added):
        return (data.part.part,)
    if isinstance(data, e.Figured):
        return before.parts
    return tuple(getattr(data, "parts", ()))


def met_the_last_hold(before: Run, after: Run, made: e.Entry, hand: Hand) -> None:
    """Nobody comes past the hold at the end but by its signature, or a waiver that is allowed."""
    last = len(after.route.ops) - 1
    op = after.route.ops[last - 1]
    if not isinstance(op, StepOp) or not isinstance(op.step.detail, Hold):
        return
    for part, marker in after.markers.items():
        was = before.markers.get(part)
        if marker.index < last or (was is not None and was.index == last):
            continue
        stated = before.unsigned.entry if before.unsigned else None
        if isinstance(made.data, e.Retracted):
            continue  # it had met the hold before what is taken back
        assert isinstance(made.data, e.Signed)
        assert isinstance(stated, e.Did)
        assert stated.step == op.step.id
        assert not op.step.detail.role or op.step.detail.role in hand.roles
        assert stated.waived <= op.step.detail.waivable
        if op.step.detail.other and not stated.waived and was is not None:
            assert made.by not in was.doers


def begun_before(before: Run, data: e.Data) -> None:
    """A step that cannot be undone has its start in the log, for each of its parts."""
    if not isinstance(data, e.Did | e.WentIn) or not before.route.steps[data.step].critical:
        return
    for part in data.parts:
        assert (before.markers[part].begun or ("",))[0] == data.step


def changed_only(before: Run, after: Run, named: Iterable[str]) -> None:
    """Property 14."""
    allowed = set(named)
    for part, marker in before.markers.items():
        assert part in allowed or after.markers[part] is marker, part


def _together(before: Run, data: e.Did | e.WentIn) -> None:
    step = before.route.steps[data.step]
    if step.load:
        loads = {before.markers[part].load for part in data.parts}
        assert len(loads) == 1, "one act is of one load"
    if not step.gathers:
        return
    depth = len(before.route.within[before.route.index[step.id]])
    assert len({before.markers[part].passes[:depth] for part in data.parts}) == 1
    assert data.without == left_behind(before, step, data.parts)
    assert not data.without or data.reason


def _together_sees_all(before: Run, data: e.Did | e.WentIn) -> None:
    """Property 11, told without the rules' own function: nobody further back goes unlisted."""
    step = before.route.steps[data.step]
    if not step.together:
        return
    course = before.course
    rear = min(course.order(*before.markers[part].at) for part in data.parts)
    ops = set(course.ops_of(step.id))
    for marker in before.each():
        behind = marker.waited and marker.status in (Status.PLAY, Status.AWAY)
        behind = behind and not ops & marker.ahead
        behind = behind and (not step.pair or marker.pair == before.markers[data.parts[0]].pair)
        if behind and marker.part not in data.parts and course.order(*marker.at) < rear:
            assert marker.part in data.without, (marker.part, data)


def _fill(run: Run) -> dict[str, int]:
    total: dict[str, int] = {}
    for marker in run.each():
        detail = run.route.steps[marker.soak.step].detail if marker.soak else None
        vessel = detail.vessel if isinstance(detail, Dwell) else ""
        vessel = marker.load.vessel if marker.load is not None else vessel
        if vessel:
            total[vessel] = total.get(vessel, 0) + marker.size
    return total


def _owners(run: Run) -> dict[str, set[int]]:
    """For each vessel what is in it: loads by their numbers, parts of plain dwells as -1."""
    found: dict[str, set[int]] = {}
    for marker in run.each():
        if marker.load is not None:
            found.setdefault(marker.load.vessel, set()).add(marker.load.n)
        elif marker.soak is not None:
            detail = run.route.steps[marker.soak.step].detail
            if isinstance(detail, Dwell) and detail.vessel:
                found.setdefault(detail.vessel, set()).add(-1)
    return found


def _capacity(before: Run, after: Run, data: e.Did | e.WentIn | e.Retracted) -> None:
    was = _fill(before)
    owned = _owners(before)
    for vessel, owners in _owners(after).items():
        if len(owners) > 1 and owners - owned.get(vessel, set()):
            assert data.reason, data
    for vessel, size in _fill(after).items():
        capacity = after.route.vessels[vessel].capacity
        if capacity is not None and size > capacity and size > was.get(vessel, 0):
            assert data.reason, data


def _without_history(marker: Marker) -> Marker:
    return replace(marker, before=())


def _retracted(before: Run, after: Run, data: e.Retracted) -> None:
    for part in data.parts:
        assert before.markers[part].last == data.of
        restored = before.markers[part].before[-1]
        figures = {value.key: value for value in after.figures.values()}
        restored = replace(restored, values={**restored.values, **figures})
        assert _without_history(after.markers[part]) == restored


def _skipped(after: Run, data: e.Skipped) -> None:
    detail = after.route.steps[data.step].detail
    if isinstance(detail, Reading | Inspect | WorkOut):
        for part in data.parts:
            assert all(name != detail.name for name, _ in after.markers[part].values)


def _gone_back(before: Run, after: Run, part: str, target: int) -> None:
    marker, was = after.markers[part], before.markers[part]
    line = after.course.order(*marker.at)
    assert marker.index == target
    assert line < after.course.order(*was.at)
    assert all(value.where < line for value in marker.values.values())
    assert all(clock.where < line for clock in marker.windows.values())
    assert all(
        after.course.order(one.index, one.passes) < line for one in marker.decisions.values()
    )
    assert all(index < target for index in marker.ahead)
    assert marker.counts == was.counts


def twice(run: Run, command: Command, at: Moment, hand: Hand) -> None:
    """Property 15, for every command that changes the run."""
    if isinstance(command, c.KeepBeat | c.KeepNote):
        return
    assert isinstance(decide(run, command, at, hand), Refusal), command


def state(run: Run) -> None:
    """Properties 7, 8, 18, 21 and 22, and the bounds of what is kept, of one state."""
    course, limits = run.course, _limits(run)
    for marker in run.each():
        assert len(marker.passes) == len(run.route.within[marker.index])
        assert all(count >= 1 for count in marker.passes)
        assert len(marker.before) <= SELVES_KEPT
        if marker.status is Status.PLAY and not marker.questions and marker.soak is None:
            assert run.route.step_at(marker.index) is not None, marker
        if marker.status is Status.AWAY:
            assert bool(marker.place) != (marker.soak is not None), marker
        if marker.soak is not None:
            op = run.route.step_at(marker.index)
            assert op is not None
            assert op.step.id == marker.soak.step
        for step in marker.windows:
            assert course.reaches(marker.index, run.route.index[step]), (marker.index, step)
        for edge, count in marker.counts.items():
            assert count <= limits[edge], (edge, count)
        _changed_questions(run, marker)


def _limits(run: Run) -> dict[str, int]:
    """How often each counted way may be taken."""
    found: dict[str, int] = {}
    for step in run.route.steps.values():
        found[f"{step.id}>rework"] = BACK_TO_FORK
        for _, ways in ways_of(step):
            for way in ways:
                if way.most is not None:
                    code = {Act.REWORK: f"rework {way.to}", Act.AGAIN: "again"}.get(way.act)
                    key = f"{step.id}>{code or 'first'}"
                    found[key] = max(found.get(key, 0), way.most)
    for op in run.route.ops:
        if isinstance(op, Detour):
            found[f"{op.step}>first"] = op.most
    return found


def _changed_questions(run: Run, marker: Marker) -> None:
    asked = {q.about: q.today for q in marker.questions if q.ask is Ask.CHANGED}
    assert len(asked) == sum(q.ask is Ask.CHANGED for q in marker.questions)
    for key, decision in marker.decisions.items():
        assert key == decision.key
        op = run.route.step_at(decision.index)
        detail = op.step.detail if op else None
        today = judge_again(decision, detail, run.route.ops[decision.index], decision.inputs)
        known = {decision.ruled, decision.acted, *decision.answered}
        assert (today not in known) == (key in asked), (decision, today, asked)
        assert key not in asked or asked[key] == today
    assert asked.keys() <= marker.decisions.keys()


def offered(run: Run, found: tuple[Offer, ...]) -> None:
    """Properties 1, 2 and 3, of what is on offer."""
    if run.ended:
        assert found == ()
        return
    named = {part for offer in found if offer.deed is not Deed.CLOSE for part in offer.parts}
    here = [marker for marker in run.each() if marker.here]
    assert {marker.part for marker in here} <= named, found
    if not any(offer.ready for offer in found):
        assert all(offer.why for offer in found), found
        waits = [o for o in found if not o.why.startswith(("not without ", "no room in "))]
        assert waits, found
        for offer in waits:
            assert (
                offer.wait_ms is not None
                or offer.clock is not None
                or offer.deed
                in (
                    Deed.GET_BACK,
                    Deed.CLOSE,
                    Deed.BEGIN,
                    Deed.PUT_IN,
                    Deed.TELL,
                )
                or (offer.window is not None and offer.window.unknown)
                or offer.why == "no mate in this batch"
            ), offer
    _rearmost(run, here, found)


def _rearmost(run: Run, here: list[Marker], found: tuple[Offer, ...]) -> None:
    waited = [marker for marker in here if marker.waited]
    if not waited or run.stopped:
        return
    rear = min(run.course.order(*marker.at) for marker in waited)
    parts = {m.part for m in waited if run.course.order(*m.at) == rear}
    free = [o for o in found if parts & set(o.parts) and not _gathering(run, o)]
    assert free, (parts, found)


def _gathering(run: Run, offer: Offer) -> bool:
    waits = offer.why.startswith("not without ")
    return offer.deed is Deed.CLOSE or (waits and not offer.ready)


def refused_though_ready(run: Run, command: Command, at: Moment, hand: Hand) -> None:
    """An offer that is ready may be refused only for a value that cannot be worked out.

    A hold may be refused to this person as well: what is on offer is so for anybody.
    """
    refused = decide(run, command, at, hand)
    assert isinstance(refused, Refusal)
    told = ("cannot be worked out", "does not come to", "another person sign")
    assert any(words in refused.text for words in told), refused


def can_be_lifted(run: Run, marker: Marker, at: Moment, hand: Hand) -> None:
    """Property 25: at once, or with a reason where a step comes before.

    Who waits for a witness is not lifted: the notice ends by who came, sent word, or time.
    """
    if waits_for_witness(run, marker.part):
        assert isinstance(decide(run, c.Lift((marker.part,), run.n - 1, "so"), at, hand), Refusal)
        ends = [e.NoticeEnd.CAME, e.NoticeEnd.NOT_COMING]
        ends += [e.NoticeEnd.RAN_OUT] if notice_left(run, marker.soak, at) <= 0 else []
        for end in e.NoticeEnd:
            ended = decide(run, c.EndNotice((marker.part,), run.n - 1, end, "Cy"), at, hand)
            assert isinstance(ended, e.Witnessed) == (end in ends), ended
        return
    lifted = decide(run, c.Lift((marker.part,), run.n - 1), at, hand)
    if isinstance(lifted, Refusal):
        assert lifted.want is c.Want.REASON
        ahead = run.course.ahead[marker.soak.step] if marker.soak else ()
        assert any(step.before_out for step in ahead)
        lifted = decide(run, c.Lift((marker.part,), run.n - 1, "it must"), at, hand)
    assert isinstance(lifted, e.CameOut), lifted


def cut_down(course: Course, read: list[e.Entry], marker: Marker) -> None:
    """Property 23: what does not name the part becomes a sign of life, all else is cut to it."""
    run = Run(course)
    figures: set[int] = set()
    for one in read:
        if isinstance(one.data, e.Corrected) and not one.data.part:
            figures.add(one.n)
        whole = isinstance(one.data, e.Retracted) and one.data.of in figures
        run = fold(run, replace(one, data=_cut(one.data, marker.part, whole=whole)))
    assert run.markers[marker.part] == marker


def _cut(data: Any, part: str, *, whole: bool) -> e.Data:
    if isinstance(data, e.Opened):
        specs = tuple(spec for spec in data.parts if spec.part == part)
        return replace(data, parts=specs, each=_only(data.each, part))
    if isinstance(data, e.Closed | e.Figured):
        return data
    if isinstance(data, e.Added) and data.part.part == part:
        return data
    if isinstance(data, e.Corrected) and not data.part:  # a figure, which is the whole run's
        own = (part,) if part in data.parts else ()
        return replace(data, parts=own, each=_only(data.each, part))
    if whole:
        return replace(data, parts=(part,) if part in data.parts else ())
    if part not in getattr(data, "parts", ()) or isinstance(data, e.Note):
        return e.Beat()
    if not hasattr(data, "each"):
        return replace(data, parts=(part,))
    return replace(data, parts=(part,), each=_only(data.each, part))


def _only(each: Any, part: str) -> dict[str, e.Outcome]:
    return {part: each[part]} if part in each else {}


def told(marker: Marker) -> tuple[object, ...]:
    """What a part is, without the numbers of entries: for comparing two orders of acts."""
    return (
        marker.at,
        marker.status,
        marker.place,
        {key: (value.number, value.word, value.where) for key, value in marker.values.items()},
        sorted((q.ask, q.step, q.index, q.says, q.today, q.gate) for q in marker.questions),
        {key: (one.ruled, one.acted, one.answered) for key, one in marker.decisions.items()},
        dict(marker.counts),
        dict(marker.left),
        marker.ahead,
        dict(marker.windows),
        dict(marker.coats),
        dict(marker.doers),
        marker.carried,
        marker.load and (marker.load.key, marker.load.vessel, marker.load.passes),
        marker.soak and (marker.soak.step, marker.soak.least, marker.soak.most, marker.soak.mark),
    )
