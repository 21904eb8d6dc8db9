"""Fold: the only way in which a run changes. It follows what an entry records.

The live run and a re-read of its log go through the same fold, so that an old log folds alike
under a newer program.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from benchrun.procedure.route import Act, Dwell
from benchrun.run import entries as e
from benchrun.run import marker_moves
from benchrun.run.drafts import MarkerDraft, RunDraft, marker_draft, run_draft
from benchrun.run.effects import (
    Unfit,
    act_index,
    begin_key,
    close_notice,
    do_act,
    dwell_reads,
    held,
    join_load,
    lift_out,
    mark_of,
    put_marker,
    scrapped_there,
    settle_question,
    settle_step,
    skip_step,
    start_step,
    step_on,
    the_question,
    walk_answer,
)
from benchrun.run.part_values import fresh_marker
from benchrun.run.run_figures import figure_value, tell_figures
from benchrun.run.sittings import note_set_up
from benchrun.run.state import (
    WAIVER_SINCE,
    Marker,
    Run,
    Soak,
    Status,
    Tick,
    Unsigned,
)
from benchrun.run.values import revised
from benchrun.run.verdict import draw
from benchrun.run.vessels import rooms_now


def fold(run: Run, entry: e.Entry) -> Run:
    """The run after one more entry; the run that it is given stays as it is.

    Args:
        run: The run so far.
        entry: The next entry; its number is `run.n`.

    Raises:
        Unfit: The entry cannot follow; the message says why.
    """
    if entry.n != run.n:
        raise Unfit(f"entry {entry.n} cannot follow {run.n - 1}")
    draft = run_draft(run)
    draft.n = run.n + 1
    draft.timeline = run.timeline.then(entry.at)
    draft.unsigned = None
    try:
        _FOLDS[type(entry.data)](draft, entry, entry.data)
    except (KeyError, IndexError, StopIteration) as error:
        raise Unfit(
            f"entry {entry.n} ({entry.kind}) does not fit the procedure: {error}"
        ) from error
    if run.unsigned is not None and isinstance(entry.data, e.Signed):
        _sign(draft, entry, run.unsigned)
    course = draft.course
    if course.waited_for:
        _note_rooms(run, draft, entry)
    if course.set_ups:
        note_set_up(draft, entry)
    return draft


def _publish(run: RunDraft, entry: e.Entry, drafts: Mapping[str, MarkerDraft]) -> None:
    """Put changed markers in place, each with its old self behind it."""
    fixed, mates = isinstance(entry.data, e.Signed), len(drafts)
    places = run.course.route.loads or run.course.waited_for
    markers = dict(run.markers)
    for part, draft in drafts.items():
        old = markers[part]
        if places:
            _place(run, entry, draft, old)
        marker_moves.keep_self(draft, old, entry.n, mates, fixed)
        markers[part] = draft
    run.markers = markers


def _place(run: RunDraft, entry: e.Entry, draft: MarkerDraft, old: Marker | None) -> None:
    """Take a part out of its load where it left the steps of the load or is out of play.

    Where windows ask for it, it is kept since when the part stands ready at its step.
    """
    marker_moves.leave_load(run.course, draft)
    if not run.course.waited_for:
        return
    stood = old is not None and old.free and old.at == draft.at
    if not (draft.free and stood):
        draft.ready_since = (entry.n, mark_of(run, entry)) if draft.free else None


def _note_rooms(before: Run, run: RunDraft, entry: e.Entry) -> None:
    """Keep the room in the vessels for which windows ask, where it has changed."""
    if run.markers is before.markers:
        return
    last = {room.vessel: (room.left, room.empty) for room in run.rooms}
    changed = tuple(
        room
        for room in rooms_now(run, entry.n, mark_of(run, entry))
        if last.get(room.vessel) != (room.left, room.empty)
    )
    if changed:
        run.rooms = (*run.rooms, *changed)


def _open(run: RunDraft, entry: e.Entry, data: e.Opened) -> None:
    run.figures = {spec.name: figure_value(spec, entry.n) for spec in data.figures}
    fresh = {spec.part: marker_draft(fresh_marker(run, spec, entry.n)) for spec in data.parts}
    for part, draft in fresh.items():
        _enter(run, entry, draft, data.each.get(part, e.NOTHING))
    number = data.about.get("format")
    run.parts = tuple(spec.part for spec in data.parts)
    run.markers = fresh
    run.about = data.about
    run.tools_out = data.tools_out
    run.format = number if isinstance(number, int) else run.format


def _enter(run: RunDraft, entry: e.Entry, draft: MarkerDraft, outcome: e.Outcome) -> None:
    """Let a part join: it walks to its first step."""
    step_on(run.course, draft, draft.index, outcome.falls)
    marker_moves.raise_questions(draft, outcome.asks)
    _place(run, entry, draft, None)


def _add(run: RunDraft, entry: e.Entry, data: e.Added) -> None:
    spec = data.part
    draft = marker_draft(fresh_marker(run, spec, entry.n, waited=data.waited))
    if data.step:
        index = run.route.index[data.step]
        draft.index = index
        draft.passes = (1,) * len(run.route.within[index])
    _enter(run, entry, draft, data.each.get(spec.part, e.NOTHING))
    run.parts = (*run.parts, spec.part)
    run.markers = {**run.markers, spec.part: draft}


def _do(run: RunDraft, entry: e.Entry, data: e.Did) -> None:
    if data.says:
        run.unsigned = Unsigned(entry.n, data)
        return
    _do_each(run, entry, data)
    if data.uses:
        run.used = {**run.used, entry.n: data.uses}
    if data.tools_back:
        _count_back(run, entry, data)


def _count_back(run: RunDraft, entry: e.Entry, data: e.Did | e.CountedBack) -> None:
    run.counted_back = {**run.counted_back, entry.n: data.tools_back}


def _sign(run: RunDraft, entry: e.Entry, unsigned: Unsigned) -> None:
    data = unsigned.entry
    if isinstance(data, e.Did):
        _do_each(run, entry, data)
    else:
        run.ended = True


def _do_each(run: RunDraft, entry: e.Entry, data: e.Did) -> None:
    hold, drafts = bool(data.says), {}
    for part in data.parts:
        outcome = data.each.get(part, e.NOTHING)
        old = run.markers[part]
        index = act_index(run.course, old, data.step)
        drafts[part] = draft = marker_draft(old)
        do_act(run, draft, index, entry, data, outcome)
        if hold and not data.waived:
            draft.doers = {}
        elif not hold or run.format < WAIVER_SINCE:
            marker_moves.note_work(draft, entry.by, mark_of(run, entry))
        if scrapped_there(data, part):
            draft.status = Status.SCRAP
        else:
            settle_step(run.course, draft, old, index, outcome)
    _publish(run, entry, drafts)


def _put_in(run: RunDraft, entry: e.Entry, data: e.WentIn) -> None:
    mark, drafts = mark_of(run, entry), {}
    detail = run.route.steps[data.step].detail
    reads = dwell_reads(detail) if isinstance(detail, Dwell) else frozenset[str]()
    away = isinstance(detail, Dwell) and bool(detail.place)
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        soak = Soak(
            data.step,
            entry.n,
            outcome.least,
            outcome.most,
            mark,
            mark,
            data.ago,
            old.carried,
            draw(old, reads),
            outcome.aim,
            outcome.every,
        )
        drafts[part] = draft = marker_draft(old)
        start_step(run, draft, old.index, outcome)
        join_load(run, draft, old.index, entry.n, data.vessel)
        draft.soak = soak
        draft.status = Status.AWAY if away else old.status
        marker_moves.note_work(draft, entry.by, mark)
    _publish(run, entry, drafts)
    if data.uses:
        run.used = {**run.used, entry.n: data.uses}


def _take_out(run: RunDraft, entry: e.Entry, data: e.CameOut) -> None:
    drafts = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        drafts[part] = draft = marker_draft(old)
        lift_out(run, draft, entry, outcome)
        marker_moves.raise_questions(draft, outcome.asks)
        marker_moves.note_work(draft, entry.by, mark_of(run, entry))
        if not held(outcome.asks, old.index):
            step_on(run.course, draft, old.index + 1, outcome.falls)
    _publish(run, entry, drafts)


def _tell(run: RunDraft, entry: e.Entry, data: e.Told) -> None:
    mark, drafts = mark_of(run, entry), {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        soak = Soak(data.step, entry.n, outcome.least, None, mark, mark)
        drafts[part] = draft = marker_draft(old)
        start_step(run, draft, old.index, outcome)
        join_load(run, draft, old.index, entry.n, data.vessel)
        draft.soak = soak
    _publish(run, entry, drafts)


def _witness(run: RunDraft, entry: e.Entry, data: e.Witnessed) -> None:
    drafts = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        drafts[part] = draft = marker_draft(old)
        close_notice(run, draft, entry, outcome)
        marker_moves.raise_questions(draft, outcome.asks)
        step_on(run.course, draft, old.index + 1, outcome.falls)
    _publish(run, entry, drafts)


def _tend(run: RunDraft, entry: e.Entry, data: e.Tended) -> None:
    mark, drafts = mark_of(run, entry), {}
    for part in data.parts:
        old = run.markers[part]
        if old.soak is None:
            raise Unfit(f"{part} is in no vessel")
        drafts[part] = draft = marker_draft(old)
        draft.soak = replace(old.soak, tended=mark)
    _publish(run, entry, drafts)


def _begin(run: RunDraft, entry: e.Entry, data: e.Begun) -> None:
    drafts = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        index = act_index(run.course, old, data.step)
        drafts[part] = draft = marker_draft(old)
        start_step(run, draft, index, outcome)
        draft.begun = begin_key(run, old, data.step)
    _publish(run, entry, drafts)


def _skip(run: RunDraft, entry: e.Entry, data: e.Skipped) -> None:
    drafts = {}
    for part in data.parts:
        outcome = data.each.get(part, e.NOTHING)
        drafts[part] = draft = marker_draft(run.markers[part])
        skip_step(run.course, draft, data.step)
        marker_moves.raise_questions(draft, outcome.asks)
        last = run.course.ops_of(data.step)[-1]
        step_on(run.course, draft, last + 1, outcome.falls)
    _publish(run, entry, drafts)


def _ask(run: RunDraft, entry: e.Entry, data: e.Asked) -> None:
    drafts = {}
    for part in data.parts:
        drafts[part] = draft = marker_draft(run.markers[part])
        marker_moves.raise_questions(draft, data.each.get(part, e.NOTHING).asks)
    _publish(run, entry, drafts)


def _answer(run: RunDraft, entry: e.Entry, data: e.Answered) -> None:
    drafts = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        question, answer = the_question(old, outcome.settles, data.code)
        drafts[part] = draft = marker_draft(old)
        settle_question(run, draft, question, answer, outcome.withdraws)
        marker_moves.raise_questions(draft, outcome.asks)
        walk_answer(run.course, draft, old, question, answer, outcome)
        if answer.act is Act.STOP:
            run.stopped = data.reason or question.says
    _publish(run, entry, drafts)


def _put(run: RunDraft, entry: e.Entry, data: e.Moved) -> None:
    drafts = {}
    for part in data.parts:
        drafts[part] = draft = marker_draft(run.markers[part])
        put_marker(run, draft, data.to)
        marker_moves.raise_questions(draft, data.each.get(part, e.NOTHING).asks)
    _publish(run, entry, drafts)


def _get_back(run: RunDraft, entry: e.Entry, data: e.GotBack) -> None:
    drafts = {}
    for part in data.parts:
        drafts[part] = draft = marker_draft(run.markers[part])
        draft.status = Status.AWAY
        draft.place = ""
        put_marker(run, draft, "play")
    _publish(run, entry, drafts)


def _correct(run: RunDraft, entry: e.Entry, data: e.Corrected) -> None:
    drafts = {}
    _correct_figure(run, entry.n, data)
    _correct_amount(run, data)
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        table = {(r.n, r.part, r.place): r for r in outcome.revised}
        drafts[part] = draft = revised(old, table)
        if draft.soak is not None and outcome.verdict == "limits":
            soak = replace(
                draft.soak,
                least=outcome.least,
                most=outcome.most,
                aim=outcome.aim,
                every=outcome.every,
            )
            draft.soak = soak
        marker_moves.drop_questions(draft, frozenset(outcome.withdraws))
        marker_moves.raise_questions(draft, outcome.asks)
    _publish(run, entry, drafts)
    if not data.part:  # each part has a figure as it was typed last, as one that joins later will
        tell_figures(run, run.figures)


def _correct_figure(run: RunDraft, n: int, data: e.Corrected) -> None:
    """Put a figure of the run right, where it is one that was corrected."""
    figure = run.figures.get(data.place)
    if figure is None or data.part or figure.n != data.of:
        return
    revised = replace(figure, number=Decimal(data.given.number or 0), typed=data.given.typed)
    before = {**run.figures_before, n: run.figures}
    run.figures = {**run.figures, data.place: revised}
    run.figures_before = before


def _correct_amount(run: RunDraft, data: e.Corrected) -> None:
    """Put the use of an act right, where it is that which was corrected."""
    uses = run.used.get(data.of, ())
    if all(one.supply != data.place for one in uses):
        return
    amount, unit = data.given.number or "", data.given.unit
    changed = tuple(
        replace(one, amount=amount, unit=unit) if one.supply == data.place else one for one in uses
    )
    run.used = {**run.used, data.of: changed}


def _retract(run: RunDraft, entry: e.Entry, data: e.Retracted) -> None:
    back = {p: marker_moves.turned_back(run.markers[p], entry.n) for p in data.parts}
    used = {n: uses for n, uses in run.used.items() if n != data.of}
    run.markers = {**run.markers, **back}
    run.used = used
    if data.of in run.counted_back:
        left = {n: counts for n, counts in run.counted_back.items() if n != data.of}
        run.counted_back = left
    # The selves of before know nothing of figures that were entered since.
    tell_figures(run, run.figures_before.get(data.of, run.figures))


def _tick(run: RunDraft, entry: e.Entry, data: e.Ticked) -> None:
    tick = Tick(entry.n, entry.by, entry.at, data.done, data.reason)
    run.ticks = {**run.ticks, (data.sort, data.line): tick}


def _photograph(run: RunDraft, entry: e.Entry, data: e.Photo) -> None:
    del entry
    step = run.route.steps.get(data.step)
    if step is not None and step.photo:
        kept = {(step.id, part) for part in data.parts or run.parts}
        run.photographed = run.photographed | kept


def _stop(run: RunDraft, entry: e.Entry, data: e.Stopped) -> None:
    del entry
    run.stopped = data.reason or "stopped"


def _resume(run: RunDraft, entry: e.Entry, data: e.Resumed) -> None:
    del entry, data
    run.stopped = ""


def _close(run: RunDraft, entry: e.Entry, data: e.Closed) -> None:
    run.unsigned = Unsigned(entry.n, data)


def _seal(run: RunDraft, entry: e.Entry, data: e.Sealed) -> None:
    del entry
    run.format = data.format or run.format


def _leave(run: RunDraft, entry: e.Entry, data: Any) -> None:
    """Nothing of the run changes by what is written down in passing."""
    del run, entry, data


_FOLDS: Mapping[type, Callable[[RunDraft, e.Entry, Any], None]] = {
    e.Opened: _open,
    e.Added: _add,
    e.Figured: lambda run, entry, data: tell_figures(
        run, {data.figure.name: figure_value(data.figure, entry.n)}
    ),
    e.Begun: _begin,
    e.Did: _do,
    e.WentIn: _put_in,
    e.CameOut: _take_out,
    e.Told: _tell,
    e.Witnessed: _witness,
    e.Tended: _tend,
    e.Skipped: _skip,
    e.Asked: _ask,
    e.Answered: _answer,
    e.Moved: _put,
    e.GotBack: _get_back,
    e.Corrected: _correct,
    e.Retracted: _retract,
    e.Stopped: _stop,
    e.Resumed: _resume,
    e.CountedBack: _count_back,
    e.Ticked: _tick,
    e.Closed: _close,
    e.Beat: _leave,
    e.Note: _leave,
    e.Photo: _photograph,
    e.Lesson: _leave,
    e.Recovered: _leave,
    e.Doubted: _leave,
    e.Sealed: _seal,
    e.Signed: _leave,
}
