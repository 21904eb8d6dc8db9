"""Fold: the only way in which a run changes. It follows what an entry records.

The live run and a re-read of its log go through the same fold, so that an old log folds alike
under a newer program.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from benchrun.moment import Mark
from benchrun.procedure.route import Act, Detour, Dwell, Guard, Inspect, Reading, Tail, WorkOut
from benchrun.run import entries as e
from benchrun.run import moves
from benchrun.run.course import Choose, Course, Fork, key_of
from benchrun.run.judge import draw
from benchrun.run.state import (
    Answer,
    Ask,
    Decision,
    Marker,
    Question,
    Run,
    Soak,
    Status,
    Unsigned,
    Value,
)

FIRST: Final = "first"


class Unfit(ValueError):
    """An entry that does not fit the run it is folded into."""


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
    timed = replace(run, n=run.n + 1, timeline=run.timeline.then(entry.at), unsigned=None)
    try:
        after = _FOLDS[type(entry.data)](timed, entry, entry.data)
    except (KeyError, IndexError, StopIteration) as error:
        raise Unfit(
            f"entry {entry.n} ({entry.kind}) does not fit the procedure: {error}"
        ) from error
    if isinstance(entry.data, e.Signed) and run.unsigned is not None:
        return _signed(after, entry, run.unsigned)
    return after


def _mark(run: Run, entry: e.Entry) -> Mark:
    return run.timeline.mark(entry.at)


def _changed(run: Run, entry: e.Entry, markers: Mapping[str, Marker]) -> Run:
    """Put changed markers in place, each with its old self behind it."""
    fixed, mates = isinstance(entry.data, e.Signed), len(markers)
    turned = {p: moves.turned(run.markers[p], m, entry.n, mates, fixed) for p, m in markers.items()}
    touched = {**run.touched, **dict.fromkeys(markers, entry.n)}
    return replace(run, markers={**run.markers, **turned}, touched=touched)


def follow(falls: Iterable[str]) -> Choose:
    """Choose at forks as an entry recorded it; a fork without a record stops the walk."""
    rest = iter(falls)

    def choose(op: Fork, index: int, passes: tuple[int, ...]) -> str | None:
        del index, passes
        fall = next(rest, None)
        if fall is None:
            return None
        key, _, way = fall.rpartition("=")
        if key != op.key:
            raise Unfit(f"the log says {fall} where the procedure forks at {op.key}")
        return way

    return choose


def step_on(course: Course, marker: Marker, index: int, falls: tuple[str, ...]) -> Marker:
    """Walk on from an op by recorded falls, and keep the decision that each fork made."""
    made: list[Decision] = []
    rounds: list[str] = []
    follows = follow(falls)

    def choose(op: Fork, at: int, passes: tuple[int, ...]) -> str | None:
        way = follows(op, at, passes)
        decision = fork_decision(marker, op, at, passes, way)
        if decision is not None:
            made.append(decision)
        if isinstance(op, Detour) and way == "first":
            rounds.append(detour_edge(op))
        return way

    moved = moves.walked(course, marker, index, choose)
    for decision in made:
        moved = moves.decided(moved, decision)
    for edge in rounds:
        moved = moves.counted(moved, edge)
    return moved


def detour_edge(op: Detour) -> str:
    """The name under which going round a detour is counted, however it came about."""
    return f"{op.step}>{FIRST}"


def fork_decision(
    marker: Marker, op: Fork, index: int, passes: tuple[int, ...], way: str | None
) -> Decision | None:
    """The decision that a fork leaves behind, if it read values; undecided ones say `ask`."""
    if isinstance(op, Guard):
        formula = op.condition
    elif isinstance(op, Tail) and op.until is not None and passes[-1] >= op.least:
        formula = op.until
    else:
        return None
    inputs = draw(marker, formula.reads)
    known = marker.decisions.get(key_of(index, passes))
    if known is not None and known.ruled == "ask" and way is not None:
        return replace(known, acted=way)
    ruled = way or "ask"
    return Decision(
        index, passes, "guard" if isinstance(op, Guard) else "repeat", ruled, ruled, inputs
    )


def _opened(run: Run, entry: e.Entry, data: e.Opened) -> Run:
    parts = tuple(spec.part for spec in data.parts)
    fresh = {spec.part: Marker(spec.part, size=spec.size, last=entry.n) for spec in data.parts}
    markers = {p: _entered(run.course, m, data.each.get(p)) for p, m in fresh.items()}
    touched = dict.fromkeys(parts, entry.n)
    return replace(run, parts=parts, markers=markers, touched=touched, about=data.about)


def _entered(course: Course, marker: Marker, outcome: e.Outcome | None) -> Marker:
    outcome = outcome or e.Outcome()
    return moves.asked(step_on(course, marker, marker.index, outcome.falls), outcome.asks)


def _added(run: Run, entry: e.Entry, data: e.Added) -> Run:
    spec = data.part
    marker = Marker(spec.part, size=spec.size, waited=data.waited, last=entry.n)
    if data.step:
        index = run.route.index[data.step]
        marker = replace(marker, index=index, passes=(1,) * len(run.route.within[index]))
    marker = _entered(run.course, marker, data.each.get(spec.part))
    return replace(
        run,
        parts=(*run.parts, spec.part),
        markers={**run.markers, spec.part: marker},
        touched={**run.touched, spec.part: entry.n},
    )


def act_index(course: Course, marker: Marker, step: str) -> int:
    """The op at which a part does a step: where it stands, or the next one that it does ahead.

    Raises:
        Unfit: The part does not stand there and may not do it ahead.
    """
    here = course.route.step_at(marker.index)
    if here is not None and here.step.id == step:
        return marker.index
    wanted = course.route.steps[step]
    if marker.soak is not None and wanted.ahead_of == marker.soak.step:
        for index in course.ops_of(step):
            if index not in marker.ahead:
                return index
    raise Unfit(f"{marker.part} is not at {step}")


def _did(run: Run, entry: e.Entry, data: e.Did) -> Run:
    if data.says:
        return replace(run, unsigned=Unsigned(entry.n, data))
    return _changed(run, entry, dict(_did_each(run, entry, data)))


def _signed(run: Run, entry: e.Entry, unsigned: Unsigned) -> Run:
    data = unsigned.entry
    if isinstance(data, e.Did):
        return _changed(run, entry, dict(_did_each(run, entry, data)))
    return run


def _did_each(run: Run, entry: e.Entry, data: e.Did) -> Iterator[tuple[str, Marker]]:
    hold = bool(data.says)
    for part in data.parts:
        outcome = data.each.get(part, e.Outcome())
        old = run.markers[part]
        index = act_index(run.course, old, data.step)
        new = acted(run, old, index, entry, data, outcome)
        new = replace(new, doers={}) if hold else moves.worked(new, entry.by, _mark(run, entry))
        yield part, settled_step(run.course, old, new, index, outcome)


def settled_step(
    course: Course, old: Marker, new: Marker, index: int, outcome: e.Outcome
) -> Marker:
    """After an act at an op: stay if a question holds the part there, else go on."""
    new = moves.asked(new, outcome.asks)
    if index != old.index or old.soak is not None:
        return replace(new, ahead=new.ahead | {index})
    if held(outcome.asks, index):
        return new
    return step_on(course, new, index + 1, outcome.falls)


def held(asks: tuple[Question, ...], index: int) -> bool:
    """Whether one of these questions keeps a part at an op."""
    return any(q.gate and q.index == index for q in asks)


def acted(
    run: Run, marker: Marker, index: int, entry: e.Entry, data: e.Did, outcome: e.Outcome
) -> Marker:
    """The marker with what an act wrote and decided, before it moves on."""
    course = run.course
    marker = moves.begun(course, marker, index)
    if outcome.value is not None:
        marker = _wrote(run, marker, index, entry, data, outcome, outcome.value)
    return moves.finished(course, marker, index, _mark(run, entry))


def _wrote(
    run: Run,
    marker: Marker,
    index: int,
    entry: e.Entry,
    data: e.Did,
    outcome: e.Outcome,
    given: e.Given,
) -> Marker:
    step = run.route.steps[data.step]
    detail = step.detail
    if not isinstance(detail, Reading | Inspect | WorkOut):
        raise Unfit(f"{data.step} takes no value")
    depth = len(run.route.within[index])
    passes = marker.passes[:depth]
    op = run.route.step_at(index)
    place = op.place if op is not None else ""
    inputs = tuple(_input(marker, one) for one in data.inputs)
    value = Value(
        n=entry.n,
        part=marker.part,
        step=step.id,
        name=detail.name,
        place=place,
        number=None if given.number is None else Decimal(given.number),
        unit=given.unit,
        word=given.word,
        typed=given.typed,
        where=run.course.order(index, passes),
        doubt=Decimal(given.doubt or 0),
        inputs=inputs,
    )
    marker = moves.written(marker, value)
    if not outcome.verdict:
        return marker
    sort = "finding" if isinstance(detail, Inspect) else "limit"
    read = frozenset[str]()
    if isinstance(detail, Reading | WorkOut):
        limits = [f for f in (detail.low, detail.high) if f is not None]
        read = frozenset().union(*(f.reads for f in limits)) - {detail.name}
    own = (value, *draw(marker, read))
    acted_on = "" if held(outcome.asks, index) else outcome.verdict
    return moves.decided(marker, Decision(index, passes, sort, outcome.verdict, acted_on, own))


def _input(marker: Marker, one: e.Input) -> Value:
    kept = marker.values.get((one.name, one.place)) if one.part == marker.part else None
    if kept is not None and kept.n == one.n:
        return kept
    number = None if one.number is None else Decimal(one.number)
    return Value(one.n, one.part, "", one.name, one.place, number, one.unit, one.word, "", ())


def _went_in(run: Run, entry: e.Entry, data: e.WentIn) -> Run:
    mark = _mark(run, entry)
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
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
        )
        away = isinstance(detail, Dwell) and bool(detail.place)
        new = replace(
            moves.begun(run.course, old, old.index),
            soak=soak,
            status=Status.AWAY if away else old.status,
        )
        markers[part] = moves.worked(new, entry.by, mark)
    return _changed(run, entry, markers)


def dwell_reads(detail: Dwell) -> frozenset[str]:
    """The readings that the limits of a dwell depend on."""
    spans = (detail.least, detail.most)
    return frozenset(s.name for s in spans if s is not None and not isinstance(s, int))


def _came_out(run: Run, entry: e.Entry, data: e.CameOut) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
        new = lifted(run, old, entry, outcome)
        new = moves.worked(moves.asked(new, outcome.asks), entry.by, _mark(run, entry))
        if not held(outcome.asks, old.index):
            new = step_on(run.course, new, old.index + 1, outcome.falls)
        markers[part] = new
    return _changed(run, entry, markers)


def lifted(run: Run, marker: Marker, entry: e.Entry, outcome: e.Outcome) -> Marker:
    """The marker out of its vessel, before it moves on."""
    soak = marker.soak
    if soak is None:
        raise Unfit(f"{marker.part} is in no vessel")
    detail = run.route.steps[soak.step].detail
    spent = (outcome.proven or 0, outcome.possible)
    adds_up = isinstance(detail, Dwell) and detail.adds_up
    new = replace(
        marker,
        soak=None,
        status=Status.PLAY if marker.status is Status.AWAY and not marker.place else marker.status,
        carried=spent if adds_up else (0, 0),
    )
    acted_on = "" if held(outcome.asks, marker.index) else outcome.verdict
    new = moves.decided(
        new,
        Decision(
            marker.index,
            marker.passes,
            "dwell",
            outcome.verdict,
            acted_on,
            soak.inputs,
            spent_ms=spent,
        ),
    )
    return moves.finished(run.course, new, marker.index, _mark(run, entry))


def _tended(run: Run, entry: e.Entry, data: e.Tended) -> Run:
    mark, markers = _mark(run, entry), {}
    for part in data.parts:
        old = run.markers[part]
        if old.soak is None:
            raise Unfit(f"{part} is in no vessel")
        markers[part] = replace(old, soak=replace(old.soak, tended=mark))
    return _changed(run, entry, markers)


def _skipped(run: Run, entry: e.Entry, data: e.Skipped) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
        new = skipped(run.course, old, data.step)
        new = moves.asked(new, outcome.asks)
        last = run.course.ops_of(data.step)[-1]
        markers[part] = step_on(run.course, new, last + 1, outcome.falls)
    return _changed(run, entry, markers)


def skipped(course: Course, marker: Marker, step: str) -> Marker:
    """Leave out a step: its older values are forgotten and its window is spent."""
    detail = course.route.steps[step].detail
    marker = moves.begun(course, marker, marker.index)
    if isinstance(detail, Reading | Inspect | WorkOut):
        for key in [k for k in marker.values if k[0] == detail.name]:
            marker = moves.unwritten(marker, *key)
    return marker


def _asked(run: Run, entry: e.Entry, data: e.Asked) -> Run:
    asked = {
        part: moves.asked(run.markers[part], data.each.get(part, e.Outcome()).asks)
        for part in data.parts
    }
    return _changed(run, entry, asked)


def the_question(marker: Marker, question: str, code: str) -> tuple[Question, Answer]:
    """The open question and its chosen answer.

    Raises:
        Unfit: The part has no such question, or the question no such answer.
    """
    for one in marker.questions:
        if one.id == question:
            for answer in one.answers:
                if answer.code == code:
                    return one, answer
            raise Unfit(f"{code} is no answer to question {question}")
    raise Unfit(f"{marker.part} has no open question {question}")


def _answered(run: Run, entry: e.Entry, data: e.Answered) -> Run:
    markers: dict[str, Marker] = {}
    stop = ""
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
        question, answer = the_question(old, outcome.settles, data.code)
        new = answered(run, old, question, answer, entry)
        new = moves.unasked(new, frozenset(outcome.withdraws))
        new = moves.asked(new, outcome.asks)
        markers[part] = walked_answer(run.course, old, new, question, answer, outcome)
        if answer.act is Act.STOP:
            stop = data.reason or question.says
    changed = _changed(run, entry, markers)
    return replace(changed, stopped=stop) if stop else changed


def answered(
    run: Run, marker: Marker, question: Question, answer: Answer, entry: e.Entry
) -> Marker:
    """The marker with a question answered, before it walks anywhere."""
    act = answer.act
    if act in (Act.ASIDE, Act.SCRAP, Act.STOP):
        status = {Act.ASIDE: Status.ASIDE, Act.SCRAP: Status.SCRAP}.get(act, marker.status)
        return replace(marker, status=status)
    new = moves.counted(marker, moves.edge_of(question, answer)) if answer.most else marker
    if act is Act.REWORK:
        return moves.sent_back(
            run.course, moves.unasked(new, frozenset({question.id})), run.route.index[answer.to]
        )
    new = moves.unasked(new, frozenset({question.id}))
    if act is Act.AWAY:
        return replace(new, status=Status.AWAY, place=answer.to)
    if act is Act.DETOUR:
        return moves.detoured(run.course, new, question.step)
    if act is Act.GO_ON:
        return _let_stand(new, question)
    return new


def _let_stand(marker: Marker, question: Question) -> Marker:
    if question.ask is Ask.WINDOW and question.step in marker.windows:
        clock = replace(marker.windows[question.step], settled=True)
        return replace(marker, windows={**marker.windows, question.step: clock})
    if question.ask in (Ask.GUARD, Ask.REPEAT):
        return marker
    if question.ask is Ask.CHANGED:
        ruling = question.today
        marker = moves.stood_by(marker, question.about, ruling)
        same = frozenset(q.id for q in marker.questions if q.gate and q.about == question.about)
        if same:
            marker = moves.acted_on(moves.unasked(marker, same), question.about, ruling)
        return marker
    good = {Ask.OUTSIDE: "inside", Ask.DOUBT: "inside"}.get(question.ask)
    if good is None and question.ask in (Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE):
        good = "in time"
    decision = marker.decisions.get(question.about)
    if good is None and decision is not None:
        good = decision.ruled
    return moves.acted_on(marker, question.about, good or "")


def walked_answer(
    course: Course,
    old: Marker,
    new: Marker,
    question: Question,
    answer: Answer,
    outcome: e.Outcome,
) -> Marker:
    """Where an answered part goes: on from a finished step or a fork, or nowhere."""
    if not goes_on(course, old, new, question, answer):
        return new
    at_step = course.route.step_at(old.index) is not None
    return step_on(course, new, old.index + (1 if at_step else 0), outcome.falls)


def goes_on(course: Course, old: Marker, new: Marker, question: Question, answer: Answer) -> bool:
    """Whether an answer finishes the step or fork at which the part stands."""
    fork = course.route.step_at(old.index) is None
    settles = answer.act is Act.GO_ON or (fork and answer.act is Act.AGAIN)
    if not settles or old.soak is not None:
        return False
    gated = any(q.gate and q.index == old.index for q in old.questions)
    return gated and not any(q.gate and q.index == old.index for q in new.questions)


def _moved(run: Run, entry: e.Entry, data: e.Moved) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
        markers[part] = moves.asked(moved(run, old, data.to), outcome.asks)
    return _changed(run, entry, markers)


def moved(run: Run, marker: Marker, to: str) -> Marker:
    """Put a part aside, to scrap, back in play, or back to a step."""
    statuses = {"aside": Status.ASIDE, "scrap": Status.SCRAP}
    if to in statuses:
        return replace(marker, status=statuses[to])
    if to == "play":
        end = marker.index == len(run.route.ops) - 1
        status = Status.AWAY if marker.place else Status.DONE if end else Status.PLAY
        return replace(marker, status=status)
    return moves.sent_back(run.course, marker, run.route.index[to])


def _got(run: Run, entry: e.Entry, data: e.GotBack) -> Run:
    back = {p: replace(run.markers[p], status=Status.PLAY, place="") for p in data.parts}
    return _changed(run, entry, back)


def _corrected(run: Run, entry: e.Entry, data: e.Corrected) -> Run:
    markers = {}
    for part in data.parts:
        old, outcome = run.markers[part], data.each.get(part, e.Outcome())
        table = {(r.n, r.part, r.place): r for r in outcome.revised}
        new = revised(old, table)
        if new.soak is not None and outcome.verdict == "limits":
            new = replace(new, soak=replace(new.soak, least=outcome.least, most=outcome.most))
        new = moves.unasked(new, frozenset(outcome.withdraws))
        markers[part] = moves.asked(new, outcome.asks)
    return _changed(run, entry, markers)


Revisions = Mapping[tuple[int, str, str], e.Revision]


def revised(marker: Marker, table: Revisions) -> Marker:
    """The marker with values replaced wherever they are kept, in decisions and clocks too."""
    soak = marker.soak
    return replace(
        marker,
        values={k: revise(v, table) for k, v in marker.values.items()},
        decisions={
            k: replace(d, inputs=tuple(revise(v, table) for v in d.inputs))
            for k, d in marker.decisions.items()
        },
        soak=soak and replace(soak, inputs=tuple(revise(v, table) for v in soak.inputs)),
    )


def revise(value: Value, table: Revisions) -> Value:
    """One value, replaced if the table names it, with its inputs likewise."""
    change = table.get(value.id)
    inputs = tuple(revise(one, table) for one in value.inputs)
    if change is None:
        return value if inputs == value.inputs else replace(value, inputs=inputs)
    number = value.number if change.number is None else Decimal(change.number)
    return replace(value, number=number, word=change.word, inputs=inputs)


def _retracted(run: Run, entry: e.Entry, data: e.Retracted) -> Run:
    back = {p: moves.turned_back(run.markers[p]) for p in data.parts}
    touched = {**run.touched, **dict.fromkeys(data.parts, entry.n)}
    return replace(run, markers={**run.markers, **back}, touched=touched)


def _same(run: Run, entry: e.Entry, data: Any) -> Run:
    del entry, data
    return run


_FOLDS: Mapping[type, Callable[[Run, e.Entry, Any], Run]] = {
    e.Opened: _opened,
    e.Added: _added,
    e.Did: _did,
    e.WentIn: _went_in,
    e.CameOut: _came_out,
    e.Tended: _tended,
    e.Skipped: _skipped,
    e.Asked: _asked,
    e.Answered: _answered,
    e.Moved: _moved,
    e.GotBack: _got,
    e.Corrected: _corrected,
    e.Retracted: _retracted,
    e.Stopped: lambda run, entry, data: replace(run, stopped=data.reason or "stopped"),
    e.Resumed: lambda run, entry, data: replace(run, stopped=""),
    e.Closed: lambda run, entry, data: replace(
        run, ended=True, unsigned=Unsigned(entry.n, data) if data.says else None
    ),
    e.Beat: _same,
    e.Note: _same,
    e.Photo: _same,
    e.Lesson: _same,
    e.Recovered: _same,
    e.Sealed: _same,
    e.Signed: _same,
}
