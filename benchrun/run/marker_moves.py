"""How one marker changes: written to, moved on, sent back. Fold and decide share these steps.

Every function takes a marker and gives the next one. Nothing here evaluates a formula: which way
a fork falls is told by whoever calls.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, TypeVar

from benchrun.moment import Mark
from benchrun.procedure.route import End, Inspect, Reading, WorkOut
from benchrun.run.course import Choose, Course
from benchrun.run.durations import ended
from benchrun.run.state import (
    Answer,
    Ask,
    Decision,
    Marker,
    Question,
    Status,
    Value,
    ValueKey,
    WindowClock,
    altered,
)

SELVES_KEPT: Final = 8

K = TypeVar("K")
V = TypeVar("V")


def _with(table: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    return {**table, key: value}


def _without(table: Mapping[K, V], key: K) -> Mapping[K, V]:
    return {k: v for k, v in table.items() if k != key} if key in table else table


def turned(old: Marker, new: Marker, n: int, mates: int, fixed: bool) -> Marker:
    """Keep the old self behind the new one, `SELVES_KEPT` deep.

    Args:
        old: The self before the entry.
        new: The self after it.
        n: The entry.
        mates: How many parts the entry named.
        fixed: Whether the entry can never be taken back.
    """
    selves = (*old.before[1 - SELVES_KEPT :], altered(old, before=()) if old.before else old)
    return altered(new, last=n, before=selves, mates=mates, fixed=fixed)


def turned_back(marker: Marker) -> Marker:
    """The marker as it was before its last entry."""
    return altered(marker.before[-1], before=marker.before[:-1])


def of_its_load(course: Course, marker: Marker) -> Marker:
    """The marker without its load, where it has left the load's steps or is out of play."""
    load = marker.load
    if load is None:
        return marker
    block = course.route.loads[load.key]
    passes = marker.passes[: len(load.passes)]
    there = block.first <= marker.index < block.past and passes == load.passes
    return marker if there and marker.here else altered(marker, load=None)


def written(marker: Marker, value: Value) -> Marker:
    """Write a value."""
    before = marker.values.get(value.key)
    if before is not None and len(before.where) > 1 and before.where[:-1] != value.where[:-1]:
        kept = (*marker.earlier.get(value.key, ()), before)
        marker = altered(marker, earlier=_with(marker.earlier, value.key, kept))
    return altered(marker, values=_with(marker.values, value.key, value))


def unwritten(marker: Marker, name: str, place: str) -> Marker:
    """Forget a value, as skipping its step does."""
    return altered(marker, values=_without(marker.values, (name, place)))


def decided(marker: Marker, decision: Decision) -> Marker:
    """Keep a decision under the place on the course where it was made."""
    return altered(marker, decisions=_with(marker.decisions, decision.key, decision))


def acted_on(marker: Marker, about: str, acted: str) -> Marker:
    """Note what was acted on after a question about a decision was answered."""
    decision = marker.decisions.get(about)
    if decision is None:
        return marker
    return altered(marker, decisions=_with(marker.decisions, about, replace(decision, acted=acted)))


def stood_by(marker: Marker, about: str, ruling: str) -> Marker:
    """Note that a person let a decision stand against a ruling of today."""
    decision = marker.decisions.get(about)
    if decision is None or decision.accepts(ruling):
        return marker
    kept = replace(decision, answered=(*decision.answered, ruling))
    return altered(marker, decisions=_with(marker.decisions, about, kept))


def asked(marker: Marker, questions: tuple[Question, ...]) -> Marker:
    """Raise questions."""
    return altered(marker, questions=(*marker.questions, *questions)) if questions else marker


def unasked(marker: Marker, ids: frozenset[str]) -> Marker:
    """Take questions away, answered or withdrawn."""
    if not ids:
        return marker
    return altered(marker, questions=tuple(q for q in marker.questions if q.id not in ids))


def counted(marker: Marker, edge: str) -> Marker:
    """Count one more time that the part took a way back, away or round."""
    return altered(marker, counts=_with(marker.counts, edge, marker.counts.get(edge, 0) + 1))


def edge_of(question: Question, answer: Answer) -> str:
    """The name under which taking an answer is counted."""
    return f"{question.step}>{answer.code}"


def spent(marker: Marker, step: str, answer: Answer) -> bool:
    """Whether the part has taken this answer as often as it may."""
    most = answer.most
    return most is not None and marker.counts.get(f"{step}>{answer.code}", 0) >= most


def worked(marker: Marker, person: str, mark: Mark) -> Marker:
    """Note who worked on the part, and when."""
    return altered(marker, doers=_with(marker.doers, person, mark))


def begun(course: Course, marker: Marker, index: int) -> Marker:
    """Start the step at an op: its window is used up."""
    op = course.route.step_at(index)
    if op is None or op.step.window is None or op.step.id not in marker.windows:
        return marker
    return altered(marker, windows=_without(marker.windows, op.step.id))


def finished(course: Course, marker: Marker, index: int, mark: Mark, ago: int = 0) -> Marker:
    """End the step at an op: windows that it starts begin to count, and so do its coats.

    Args:
        course: The course.
        marker: The part.
        index: The op of the step.
        mark: When it ended.
        ago: By how many milliseconds at most it ended earlier.
    """
    op = course.route.step_at(index)
    if op is None or index not in course.last_place:
        return marker
    where = _where(course, marker, index)
    marker = ended(course, marker, op.step.id, mark, ago, index)
    targets = course.starts.get(op.step.id, ())
    if targets:
        clocks = {target: WindowClock(mark, mark, where, ago_ms=ago) for target in targets}
        marker = altered(marker, windows={**marker.windows, **clocks})
    for step in course.made_good.get(index, ()):
        if step in marker.windows:
            fresh = replace(marker.windows[step], most_from=mark, settled="", ago_ms=ago)
            marker = altered(marker, windows=_with(marker.windows, step, fresh))
    if course.route.within[index]:
        coats = marker.coats.get(op.step.id, ())
        if where not in coats:
            marker = altered(marker, coats=_with(marker.coats, op.step.id, (*coats, where)))
    return marker


def _where(course: Course, marker: Marker, index: int) -> tuple[int, ...]:
    depth = len(course.route.within[index])
    return course.order(index, marker.passes[:depth])


def stepped(course: Course, marker: Marker, index: int) -> Marker:
    """Move on to the step that stands at an op."""
    return _pruned(course, altered(marker, index=index, carried=(0, 0)))


def walked(course: Course, marker: Marker, index: int, choose: Choose) -> Marker:
    """Move on from an op to the next step to do; stuck at a fork that cannot be chosen at."""
    walk = course.walk((index, marker.passes), marker.left, marker.ahead, choose)
    status = marker.status
    if isinstance(course.route.ops[walk.index], End) and status is Status.PLAY:
        status = Status.DONE
    moved = altered(
        marker,
        index=walk.index,
        passes=walk.passes,
        left=walk.left,
        ahead=walk.ahead,
        status=status,
        carried=(0, 0),
    )
    return _pruned(course, moved)


def _pruned(course: Course, marker: Marker) -> Marker:
    if not marker.windows:
        return marker
    index = course.route.index
    alive = {
        step: clock
        for step, clock in marker.windows.items()
        if course.reaches(marker.index, index[step])
    }
    return marker if len(alive) == len(marker.windows) else altered(marker, windows=alive)


def voided(course: Course, marker: Marker, question: Question) -> Marker:
    """Forget what came of a step that a question holds open, as it is to be done again.

    The value that it wrote, how that was ruled on, and the coat go; windows live on.
    """
    op = course.route.step_at(question.index)
    if op is None or not question.gate:
        return marker
    detail = op.step.detail
    if isinstance(detail, (Reading, Inspect, WorkOut)):
        marker = unwritten(marker, detail.name, op.place)
    where = _where(course, marker, question.index)
    rest = tuple(coat for coat in marker.coats.get(op.step.id, ()) if coat != where)
    coats = _with(marker.coats, op.step.id, rest) if rest else _without(marker.coats, op.step.id)
    decisions = _without(marker.decisions, question.about)
    return altered(marker, coats=coats, decisions=decisions, begun=None)


def sent_back(
    course: Course, marker: Marker, target: int, passes: tuple[int, ...] | None = None
) -> Marker:
    """Put the part to an earlier op; what was learnt at or after it is forgotten, counts are kept.

    A repeat that is entered from outside by it begins a further pass, unless `passes` are given.
    """
    if passes is None:
        passes = course.landing(target, marker.index, marker.passes, marker.left)
    line = course.order(target, passes)
    decisions = {
        key: decision
        for key, decision in marker.decisions.items()
        if course.order(decision.index, decision.passes) < line
    }
    left = {h: p for h, p in marker.left.items() if h < target and h not in _heads(course, target)}
    questions = tuple(q for q in marker.questions if _still_asked(q, decisions))
    moved = altered(
        marker,
        index=target,
        passes=passes,
        status=Status.PLAY if marker.status is Status.DONE else marker.status,
        values={k: v for k, v in marker.values.items() if v.where < line},
        earlier=_earlier_before(marker, line),
        windows={s: w for s, w in marker.windows.items() if w.where < line},
        ended={s: end for s, end in marker.ended.items() if end.where < line},
        decisions=decisions,
        questions=questions,
        left=left,
        ahead=frozenset(i for i in marker.ahead if i < target),
        coats=_coats_before(marker.coats, line),
        carried=(0, 0),
        begun=None,
    )
    return _pruned(course, moved)


def _earlier_before(marker: Marker, line: tuple[int, ...]) -> Mapping[ValueKey, tuple[Value, ...]]:
    kept = {k: tuple(v for v in vs if v.where < line) for k, vs in marker.earlier.items()}
    return {key: values for key, values in kept.items() if values}


def _heads(course: Course, target: int) -> tuple[int, ...]:
    return course.route.within[target]


def _still_asked(question: Question, decisions: Mapping[str, Decision]) -> bool:
    if question.about:
        return question.about in decisions
    # What a person raised is about the part; a window is asked about where the part stood.
    return question.ask is Ask.RAISED


def _coats_before(
    coats: Mapping[str, tuple[tuple[int, ...], ...]], line: tuple[int, ...]
) -> Mapping[str, tuple[tuple[int, ...], ...]]:
    kept = {step: tuple(w for w in places if w < line) for step, places in coats.items()}
    return {step: places for step, places in kept.items() if places}


def detoured(course: Course, marker: Marker, step: str) -> Marker:
    """Move a part from a step whose window is late into the detour that stands before it."""
    return altered(marker, index=course.detour_at[step] + 1)
