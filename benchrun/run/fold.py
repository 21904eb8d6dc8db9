"""Fold: the only way in which a run changes. It follows what an entry records.

The live run and a re-read of its log go through the same fold, so that an old log folds alike
under a newer program.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from benchrun.procedure.route import Act, Dwell
from benchrun.run import entries as e
from benchrun.run import marker_moves
from benchrun.run.effects import (
    Unfit,
    act_index,
    acted,
    answered,
    begin_key,
    dwell_reads,
    held,
    lifted,
    mark_of,
    moved,
    of_load,
    scrapped_there,
    settled_step,
    skipped,
    step_on,
    the_question,
    walked_answer,
    window_kept,
    witnessed,
)
from benchrun.run.part_values import fresh_marker
from benchrun.run.run_figures import figure_value, with_figures
from benchrun.run.sittings import with_set_ups
from benchrun.run.state import (
    WAIVER_SINCE,
    Marker,
    Run,
    Soak,
    Status,
    Tick,
    Unsigned,
    altered,
)
from benchrun.run.values import revised
from benchrun.run.verdict import draw
from benchrun.run.vessels import rooms_now


def fold(run: Run, entry: e.Entry) -> Run:
    """The run after one more entry.

    Args:
        run: The run so far.
        entry: The next entry; its number is `run.n`.

    Raises:
        Unfit: The entry cannot follow; the message says why.
    """
    if entry.n != run.n:
        raise Unfit(f"entry {entry.n} cannot follow {run.n - 1}")
    timed = altered(run, n=run.n + 1, timeline=run.timeline.then(entry.at), unsigned=None)
    try:
        after = _FOLDS[type(entry.data)](timed, entry, entry.data)
    except (KeyError, IndexError, StopIteration) as error:
        raise Unfit(
            f"entry {entry.n} ({entry.kind}) does not fit the procedure: {error}"
        ) from error
    if isinstance(entry.data, e.Signed) and run.unsigned is not None:
        after = _signed(after, entry, run.unsigned)
    after = _with_rooms(run, after, entry)
    return with_set_ups(after, entry) if after.course.set_ups else after


def _changed(run: Run, entry: e.Entry, markers: Mapping[str, Marker]) -> Run:
    """Put changed markers in place, each with its old self behind it."""
    fixed, mates = isinstance(entry.data, e.Signed), len(markers)
    turned = {}
    for part, new in markers.items():
        old = run.markers[part]
        settled = _placed(run, entry, old, new) if run.route.loads or run.course.waited_for else new
        turned[part] = marker_moves.turned(old, settled, entry.n, mates, fixed)
    touched = {**run.touched, **dict.fromkeys(markers, entry.n)}
    return altered(run, markers={**run.markers, **turned}, touched=touched)


def _placed(run: Run, entry: e.Entry, old: Marker, new: Marker) -> Marker:
    """A marker that has left its load where it left the steps of the load or is out of play.

    Where windows ask for it, it is kept since when the part stands ready at its step.
    """
    new = marker_moves.of_its_load(run.course, new)
    if not run.course.waited_for or (new.free and old.free and old.at == new.at):
        return new
    return altered(new, ready_since=(entry.n, mark_of(run, entry)) if new.free else None)


def _with_rooms(before: Run, after: Run, entry: e.Entry) -> Run:
    """The run with the room in its vessels, where windows ask for it and it has changed."""
    if not after.course.waited_for or after.markers is before.markers:
        return after
    last = {room.vessel: (room.left, room.empty) for room in after.rooms}
    changed = tuple(
        room
        for room in rooms_now(after, entry.n, mark_of(after, entry))
        if last.get(room.vessel) != (room.left, room.empty)
    )
    return altered(after, rooms=(*after.rooms, *changed)) if changed else after


def _opened(run: Run, entry: e.Entry, data: e.Opened) -> Run:
    parts = tuple(spec.part for spec in data.parts)
    figures = {spec.name: figure_value(spec, entry.n) for spec in data.figures}
    run = altered(run, figures=figures)
    fresh = {spec.part: fresh_marker(run, spec, entry.n) for spec in data.parts}
    markers = {p: _entered(run, entry, m, data.each.get(p)) for p, m in fresh.items()}
    touched = dict.fromkeys(parts, entry.n)
    number = data.about.get("format")
    return altered(
        run,
        parts=parts,
        markers=markers,
        touched=touched,
        about=data.about,
        tools_out=data.tools_out,
        format=number if isinstance(number, int) else run.format,
    )


def _entered(run: Run, entry: e.Entry, marker: Marker, outcome: e.Outcome | None) -> Marker:
    outcome = outcome or e.Outcome()
    on = step_on(run.course, marker, marker.index, outcome.falls)
    return _placed(run, entry, altered(marker, index=-1), marker_moves.asked(on, outcome.asks))


def _added(run: Run, entry: e.Entry, data: e.Added) -> Run:
    spec = data.part
    marker = fresh_marker(run, spec, entry.n, waited=data.waited)
    if data.step:
        index = run.route.index[data.step]
        marker = altered(marker, index=index, passes=(1,) * len(run.route.within[index]))
    marker = _entered(run, entry, marker, data.each.get(spec.part))
    return altered(
        run,
        parts=(*run.parts, spec.part),
        markers={**run.markers, spec.part: marker},
        touched={**run.touched, spec.part: entry.n},
    )


def _did(run: Run, entry: e.Entry, data: e.Did) -> Run:
    if data.says:
        return altered(run, unsigned=Unsigned(entry.n, data))
    run = _with_uses(_changed(run, entry, dict(_did_each(run, entry, data))), entry.n, data.uses)
    return _counted_back(run, entry, data) if data.tools_back else run


def _counted_back(run: Run, entry: e.Entry, data: e.Did | e.CountedBack) -> Run:
    return altered(run, counted_back={**run.counted_back, entry.n: data.tools_back})


def _with_uses(run: Run, n: int, uses: tuple[e.Use, ...]) -> Run:
    return altered(run, used={**run.used, n: uses}) if uses else run


def _signed(run: Run, entry: e.Entry, unsigned: Unsigned) -> Run:
    data = unsigned.entry
    if isinstance(data, e.Did):
        return _changed(run, entry, dict(_did_each(run, entry, data)))
    return altered(run, ended=True)


def _did_each(run: Run, entry: e.Entry, data: e.Did) -> Iterator[tuple[str, Marker]]:
    hold = bool(data.says)
    for part in data.parts:
        outcome = data.each.get(part, e.NOTHING)
        old = run.markers[part]
        index = act_index(run.course, old, data.step)
        new = acted(run, old, index, entry, data, outcome)
        if hold and not data.waived:
            new = altered(new, doers={})
        elif not hold or run.format < WAIVER_SINCE:
            new = marker_moves.worked(new, entry.by, mark_of(run, entry))
        if scrapped_there(data, part):
            yield part, altered(new, status=Status.SCRAP)
            continue
        yield part, settled_step(run.course, old, new, index, outcome)


def _went_in(run: Run, entry: e.Entry, data: e.WentIn) -> Run:
    mark = mark_of(run, entry)
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        detail = run.route.steps[data.step].detail
        reads = dwell_reads(detail) if isinstance(detail, Dwell) else frozenset[str]()
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
        away = isinstance(detail, Dwell) and bool(detail.place)
        begun = marker_moves.begun(run.course, window_kept(run, old, old.index, outcome), old.index)
        new = altered(
            of_load(run, begun, old.index, entry.n, data.vessel),
            soak=soak,
            status=Status.AWAY if away else old.status,
        )
        markers[part] = marker_moves.worked(new, entry.by, mark)
    return _with_uses(_changed(run, entry, markers), entry.n, data.uses)


def _came_out(run: Run, entry: e.Entry, data: e.CameOut) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        new = lifted(run, old, entry, outcome)
        new = marker_moves.worked(
            marker_moves.asked(new, outcome.asks), entry.by, mark_of(run, entry)
        )
        if not held(outcome.asks, old.index):
            new = step_on(run.course, new, old.index + 1, outcome.falls)
        markers[part] = new
    return _changed(run, entry, markers)


def _told(run: Run, entry: e.Entry, data: e.Told) -> Run:
    mark, markers = mark_of(run, entry), {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        soak = Soak(data.step, entry.n, outcome.least, None, mark, mark)
        begun = marker_moves.begun(run.course, window_kept(run, old, old.index, outcome), old.index)
        markers[part] = altered(of_load(run, begun, old.index, entry.n, data.vessel), soak=soak)
    return _changed(run, entry, markers)


def _witnessed(run: Run, entry: e.Entry, data: e.Witnessed) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        new = marker_moves.asked(witnessed(run, old, entry, outcome), outcome.asks)
        markers[part] = step_on(run.course, new, old.index + 1, outcome.falls)
    return _changed(run, entry, markers)


def _tended(run: Run, entry: e.Entry, data: e.Tended) -> Run:
    mark, markers = mark_of(run, entry), {}
    for part in data.parts:
        old = run.markers[part]
        if old.soak is None:
            raise Unfit(f"{part} is in no vessel")
        markers[part] = altered(old, soak=replace(old.soak, tended=mark))
    return _changed(run, entry, markers)


def _begun(run: Run, entry: e.Entry, data: e.Begun) -> Run:
    begun = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        index = act_index(run.course, old, data.step)
        new = marker_moves.begun(run.course, window_kept(run, old, index, outcome), index)
        begun[part] = altered(new, begun=begin_key(run, old, data.step))
    return _changed(run, entry, begun)


def _skipped(run: Run, entry: e.Entry, data: e.Skipped) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        new = skipped(run.course, old, data.step)
        new = marker_moves.asked(new, outcome.asks)
        last = run.course.ops_of(data.step)[-1]
        markers[part] = step_on(run.course, new, last + 1, outcome.falls)
    return _changed(run, entry, markers)


def _asked(run: Run, entry: e.Entry, data: e.Asked) -> Run:
    asked = {
        part: marker_moves.asked(run.markers[part], data.each.get(part, e.NOTHING).asks)
        for part in data.parts
    }
    return _changed(run, entry, asked)


def _answered(run: Run, entry: e.Entry, data: e.Answered) -> Run:
    markers: dict[str, Marker] = {}
    stop = ""
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        question, answer = the_question(old, outcome.settles, data.code)
        new = answered(run, old, question, answer, outcome.withdraws)
        new = marker_moves.asked(new, outcome.asks)
        markers[part] = walked_answer(run.course, old, new, question, answer, outcome)
        if answer.act is Act.STOP:
            stop = data.reason or question.says
    changed = _changed(run, entry, markers)
    return altered(changed, stopped=stop) if stop else changed


def _moved(run: Run, entry: e.Entry, data: e.Moved) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        markers[part] = marker_moves.asked(moved(run, old, data.to), outcome.asks)
    return _changed(run, entry, markers)


def _got(run: Run, entry: e.Entry, data: e.GotBack) -> Run:
    back = {}
    for part in data.parts:
        old = altered(run.markers[part], status=Status.AWAY, place="")
        back[part] = moved(run, old, "play")
    return _changed(run, entry, back)


def _corrected(run: Run, entry: e.Entry, data: e.Corrected) -> Run:
    markers = {}
    run = _with_figure(run, entry.n, data)
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.NOTHING)
        table = {(r.n, r.part, r.place): r for r in outcome.revised}
        new = revised(old, table)
        if new.soak is not None and outcome.verdict == "limits":
            soak = replace(
                new.soak,
                least=outcome.least,
                most=outcome.most,
                aim=outcome.aim,
                every=outcome.every,
            )
            new = altered(new, soak=soak)
        new = marker_moves.unasked(new, frozenset(outcome.withdraws))
        markers[part] = marker_moves.asked(new, outcome.asks)
    run = _changed(_with_amount(run, data), entry, markers)
    # Each part has a figure as it was typed last, as one that joins later will.
    return with_figures(run, run.figures) if not data.part else run


def _with_figure(run: Run, n: int, data: e.Corrected) -> Run:
    """The figures of the run, where it is one of them that was corrected."""
    figure = run.figures.get(data.place)
    if figure is None or data.part or figure.n != data.of:
        return run
    revised = replace(figure, number=Decimal(data.given.number or 0), typed=data.given.typed)
    before = {**run.figures_before, n: run.figures}
    return altered(run, figures={**run.figures, data.place: revised}, figures_before=before)


def _with_amount(run: Run, data: e.Corrected) -> Run:
    """The use of an act, where it is that which was corrected."""
    uses = run.used.get(data.of, ())
    if all(one.supply != data.place for one in uses):
        return run
    amount, unit = data.given.number or "", data.given.unit
    changed = tuple(
        replace(one, amount=amount, unit=unit) if one.supply == data.place else one for one in uses
    )
    return altered(run, used={**run.used, data.of: changed})


def _retracted(run: Run, entry: e.Entry, data: e.Retracted) -> Run:
    back = {p: marker_moves.turned_back(run.markers[p]) for p in data.parts}
    touched = {**run.touched, **dict.fromkeys(data.parts, entry.n)}
    used = {n: uses for n, uses in run.used.items() if n != data.of}
    run = altered(run, markers={**run.markers, **back}, touched=touched, used=used)
    if data.of in run.counted_back:
        left = {n: counts for n, counts in run.counted_back.items() if n != data.of}
        run = altered(run, counted_back=left)
    # The selves of before know nothing of figures that were entered since.
    return with_figures(run, run.figures_before.get(data.of, run.figures))


def _ticked(run: Run, entry: e.Entry, data: e.Ticked) -> Run:
    tick = Tick(entry.n, entry.by, entry.at, data.done, data.reason)
    return altered(run, ticks={**run.ticks, (data.sort, data.line): tick})


def _photographed(run: Run, entry: e.Entry, data: e.Photo) -> Run:
    del entry
    step = run.route.steps.get(data.step)
    if step is None or not step.photo:
        return run
    kept = {(step.id, part) for part in data.parts or run.parts}
    return altered(run, photographed=run.photographed | kept)


def _same(run: Run, entry: e.Entry, data: Any) -> Run:
    del entry, data
    return run


_FOLDS: Mapping[type, Callable[[Run, e.Entry, Any], Run]] = {
    e.Opened: _opened,
    e.Added: _added,
    e.Figured: lambda run, entry, data: with_figures(
        run, {data.figure.name: figure_value(data.figure, entry.n)}
    ),
    e.Begun: _begun,
    e.Did: _did,
    e.WentIn: _went_in,
    e.CameOut: _came_out,
    e.Told: _told,
    e.Witnessed: _witnessed,
    e.Tended: _tended,
    e.Skipped: _skipped,
    e.Asked: _asked,
    e.Answered: _answered,
    e.Moved: _moved,
    e.GotBack: _got,
    e.Corrected: _corrected,
    e.Retracted: _retracted,
    e.Stopped: lambda run, entry, data: altered(run, stopped=data.reason or "stopped"),
    e.Resumed: lambda run, entry, data: altered(run, stopped=""),
    e.CountedBack: _counted_back,
    e.Ticked: _ticked,
    e.Closed: lambda run, entry, data: altered(run, unsigned=Unsigned(entry.n, data)),
    e.Beat: _same,
    e.Note: _same,
    e.Photo: _photographed,
    e.Lesson: _same,
    e.Recovered: _same,
    e.Doubted: _same,
    e.Sealed: lambda run, entry, data: altered(run, format=data.format or run.format),
    e.Signed: _same,
}
