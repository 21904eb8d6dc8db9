"""How one marker changes: written to, moved on, sent back. Fold and decide share these steps.

Whoever changes something writes to a draft of the marker. Nothing here evaluates a formula:
which way a fork falls is told by whoever calls.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, TypeVar

from benchrun.moment import Mark
from benchrun.procedure.route import End, Inspect, Reading, WorkOut
from benchrun.run.course import Choose, Course
from benchrun.run.drafts import MarkerDraft, marker_draft
from benchrun.run.durations import note_end
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
)

SELVES_KEPT: Final = 8

K = TypeVar("K")
V = TypeVar("V")


def _with(table: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    return {**table, key: value}


def _without(table: Mapping[K, V], key: K) -> Mapping[K, V]:
    return {k: v for k, v in table.items() if k != key} if key in table else table


def keep_self(draft: MarkerDraft, old: Marker, n: int, mates: int, fixed: bool) -> None:
    """Keep the old self behind the new one, `SELVES_KEPT` deep.

    Args:
        draft: The self after the entry.
        old: The self before it.
        n: The entry.
        mates: How many parts the entry named.
        fixed: Whether the entry can never be taken back.
    """
    selves = old.before
    if selves:
        bare = marker_draft(old)
        bare.before = ()
        selves = (*selves[1 - SELVES_KEPT :], bare)
    else:
        selves = (old,)
    draft.last = n
    draft.touched = n
    draft.before = selves
    draft.mates = mates
    draft.fixed = fixed


def turned_back(marker: Marker, n: int) -> Marker:
    """The marker as it was before its last entry, which entry `n` takes back."""
    draft = marker_draft(marker.before[-1])
    draft.before = marker.before[:-1]
    draft.touched = n
    return draft


def leave_load(course: Course, draft: MarkerDraft) -> None:
    """Take the marker out of its load, where it left the load's steps or is out of play."""
    load = draft.load
    if load is None:
        return
    block = course.route.loads[load.key]
    passes = draft.passes[: len(load.passes)]
    there = block.first <= draft.index < block.past and passes == load.passes
    if not there or not draft.here:
        draft.load = None


def write_value(draft: MarkerDraft, value: Value) -> None:
    """Write a value."""
    key = value.key
    before = draft.values.get(key)
    if before is not None and len(before.where) > 1 and before.where[:-1] != value.where[:-1]:
        kept = (*draft.earlier.get(key, ()), before)
        draft.earlier = _with(draft.earlier, key, kept)
    draft.values = _with(draft.values, key, value)


def forget_value(draft: MarkerDraft, name: str, place: str) -> None:
    """Forget a value, as skipping its step does."""
    draft.values = _without(draft.values, (name, place))


def keep_decision(draft: MarkerDraft, decision: Decision) -> None:
    """Keep a decision under the place on the course where it was made."""
    draft.decisions = _with(draft.decisions, decision.key, decision)


def act_on(draft: MarkerDraft, about: str, acted: str) -> None:
    """Note what was acted on after a question about a decision was answered."""
    decision = draft.decisions.get(about)
    if decision is not None:
        kept = replace(decision, acted=acted)
        draft.decisions = _with(draft.decisions, about, kept)


def stand_by(draft: MarkerDraft, about: str, ruling: str) -> None:
    """Note that a person let a decision stand against a ruling of today."""
    decision = draft.decisions.get(about)
    if decision is not None and not decision.accepts(ruling):
        kept = replace(decision, answered=(*decision.answered, ruling))
        draft.decisions = _with(draft.decisions, about, kept)


def raise_questions(draft: MarkerDraft, questions: tuple[Question, ...]) -> None:
    """Raise questions."""
    if questions:
        draft.questions = (*draft.questions, *questions)


def drop_questions(draft: MarkerDraft, ids: frozenset[str]) -> None:
    """Take questions away, answered or withdrawn."""
    if ids:
        draft.questions = tuple(q for q in draft.questions if q.id not in ids)


def count_edge(draft: MarkerDraft, edge: str) -> None:
    """Count one more time that the part took a way back, away or round."""
    draft.counts = _with(draft.counts, edge, draft.counts.get(edge, 0) + 1)


def edge_of(question: Question, answer: Answer) -> str:
    """The name under which taking an answer is counted."""
    return f"{question.step}>{answer.code}"


def spent(marker: Marker, step: str, answer: Answer) -> bool:
    """Whether the part has taken this answer as often as it may."""
    most = answer.most
    return most is not None and marker.counts.get(f"{step}>{answer.code}", 0) >= most


def note_work(draft: MarkerDraft, person: str, mark: Mark) -> None:
    """Note who worked on the part, and when."""
    draft.doers = _with(draft.doers, person, mark)


def begin_step(course: Course, draft: MarkerDraft, index: int) -> None:
    """Start the step at an op: its window is used up."""
    op = course.route.step_at(index)
    if op is not None and op.step.window is not None and op.step.id in draft.windows:
        draft.windows = _without(draft.windows, op.step.id)


def finish_step(course: Course, draft: MarkerDraft, index: int, mark: Mark, ago: int = 0) -> None:
    """End the step at an op: windows that it starts begin to count, and so do its coats.

    Args:
        course: The course.
        draft: The part.
        index: The op of the step.
        mark: When it ended.
        ago: By how many milliseconds at most it ended earlier.
    """
    if index not in course.last_place:
        return
    step = course.step_ids[index]
    if course.timed:
        note_end(course, draft, step, mark, ago, index)
    targets = course.starts.get(step, ())
    if targets:
        clock = WindowClock(mark, mark, _where(course, draft, index), ago_ms=ago)
        draft.windows = {**draft.windows, **dict.fromkeys(targets, clock)}
    for late in course.made_good.get(index, ()):
        if late in draft.windows:
            fresh = replace(draft.windows[late], most_from=mark, settled="", ago_ms=ago)
            draft.windows = _with(draft.windows, late, fresh)
    if course.route.within[index]:
        coats, where = draft.coats.get(step, ()), _where(course, draft, index)
        if where not in coats:
            draft.coats = _with(draft.coats, step, (*coats, where))


def _where(course: Course, marker: Marker, index: int) -> tuple[int, ...]:
    depth = len(course.route.within[index])
    return course.order(index, marker.passes[:depth])


def step_to(course: Course, draft: MarkerDraft, index: int) -> None:
    """Move on to the step that stands at an op."""
    draft.index = index
    draft.carried = (0, 0)
    _prune(course, draft)


def walk_on(course: Course, draft: MarkerDraft, index: int, choose: Choose) -> None:
    """Move on from an op to the next step to do; stuck at a fork that cannot be chosen at."""
    walked = course.walk((index, draft.passes), draft.left, draft.ahead, choose)
    status = draft.status
    if isinstance(course.route.ops[walked.index], End) and status is Status.PLAY:
        status = Status.DONE
    draft.index = walked.index
    draft.passes = walked.passes
    draft.left = walked.left
    draft.ahead = walked.ahead
    draft.status = status
    draft.carried = (0, 0)
    _prune(course, draft)


def _prune(course: Course, draft: MarkerDraft) -> None:
    """Drop the windows of steps that the part cannot come to any more."""
    if not draft.windows:
        return
    index = course.route.index
    alive = {
        step: clock
        for step, clock in draft.windows.items()
        if course.reaches(draft.index, index[step])
    }
    if len(alive) < len(draft.windows):
        draft.windows = alive


def void_step(course: Course, draft: MarkerDraft, question: Question) -> None:
    """Forget what came of a step that a question holds open, as it is to be done again.

    The value that it wrote, how that was ruled on, and the coat go; windows live on.
    """
    op = course.route.step_at(question.index)
    if op is None or not question.gate:
        return
    detail = op.step.detail
    if isinstance(detail, (Reading, Inspect, WorkOut)):
        forget_value(draft, detail.name, op.place)
    where = _where(course, draft, question.index)
    rest = tuple(coat for coat in draft.coats.get(op.step.id, ()) if coat != where)
    coats = _with(draft.coats, op.step.id, rest) if rest else _without(draft.coats, op.step.id)
    draft.coats = coats
    draft.decisions = _without(draft.decisions, question.about)
    draft.begun = None


def send_back(
    course: Course, draft: MarkerDraft, target: int, passes: tuple[int, ...] | None = None
) -> None:
    """Put the part to an earlier op; what was learnt at or after it is forgotten, counts are kept.

    A repeat that is entered from outside by it begins a further pass, unless `passes` are given.
    """
    if passes is None:
        passes = course.landing(target, draft.index, draft.passes, draft.left)
    line = course.order(target, passes)
    decisions = {
        key: decision
        for key, decision in draft.decisions.items()
        if course.order(decision.index, decision.passes) < line
    }
    left = {h: p for h, p in draft.left.items() if h < target and h not in _heads(course, target)}
    draft.index = target
    draft.passes = passes
    draft.status = Status.PLAY if draft.status is Status.DONE else draft.status
    draft.values = {k: v for k, v in draft.values.items() if v.where < line}
    draft.earlier = _earlier_before(draft, line)
    draft.windows = {s: w for s, w in draft.windows.items() if w.where < line}
    draft.ended = {s: end for s, end in draft.ended.items() if end.where < line}
    draft.decisions = decisions
    draft.questions = tuple(q for q in draft.questions if _still_asked(q, decisions))
    draft.left = left
    draft.ahead = frozenset(i for i in draft.ahead if i < target)
    draft.coats = _coats_before(draft.coats, line)
    draft.carried = (0, 0)
    draft.begun = None
    _prune(course, draft)


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


def enter_detour(course: Course, draft: MarkerDraft, step: str) -> None:
    """Move a part from a step whose window is late into the detour that stands before it."""
    draft.index = course.detour_at[step] + 1
