"""Effects of an entry on one marker: the steps that fold follows and that decide tries out.

Nothing here evaluates a formula: which way a fork falls, and what is asked, is told by the entry.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from benchrun.moment import Elapsed, Mark
from benchrun.procedure.grammar import SPENT
from benchrun.procedure.route import (
    Act,
    Detour,
    Dwell,
    Guard,
    Inspect,
    Reading,
    Step,
    Tail,
    WorkOut,
)
from benchrun.run import entries as e
from benchrun.run import marker_moves, values
from benchrun.run.course import Choose, Course, Fork, position_key
from benchrun.run.durations import spent_values
from benchrun.run.state import (
    WRITTEN_ONLY_SINCE,
    Answer,
    Ask,
    Decision,
    LoadPlace,
    Marker,
    Question,
    Run,
    Status,
    altered,
)
from benchrun.run.verdict import LATE, PERHAPS_LATE, draw, reads_of

FIRST: Final = "first"
Unfit = values.Unfit


def mark_of(run: Run, entry: e.Entry) -> Mark:
    """The moment of an entry as a mark to measure from."""
    return run.timeline.mark(entry.at)


def follow_falls(falls: Iterable[str]) -> Choose:
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
    if course.stands_at(index, marker.ahead):
        return marker_moves.stepped(course, marker, index)
    decisions: list[Decision] = []
    rounds: list[str] = []
    follows = follow_falls(falls)

    def choose(op: Fork, at: int, passes: tuple[int, ...]) -> str | None:
        way = follows(op, at, passes)
        decision = fork_decision(marker, op, at, passes, way)
        if decision is not None:
            decisions.append(decision)
        if isinstance(op, Detour) and way == "first":
            rounds.append(detour_edge(op))
        return way

    moved = marker_moves.walked(course, marker, index, choose)
    for decision in decisions:
        moved = marker_moves.decided(moved, decision)
    for edge in rounds:
        moved = marker_moves.counted(moved, edge)
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
    inputs = draw(altered(marker, passes=passes), formula.reads)
    known = marker.decisions.get(position_key(index, passes))
    if known is not None and known.ruled == "ask" and way is not None:
        return replace(known, acted=way)
    ruled = way or "ask"
    return Decision(
        index, passes, "guard" if isinstance(op, Guard) else "repeat", ruled, ruled, inputs
    )


def act_index(course: Course, marker: Marker, step: str) -> int:
    """The op at which a part does a step: where it stands, or the next one that it does ahead.

    Raises:
        Unfit: The part does not stand there and may not do it ahead.
    """
    here = course.route.step_at(marker.index)
    if here is not None and here.step.id == step and marker.soak is None:
        return marker.index
    if any(step_ahead.id == step for step_ahead in out_of_turn(course, marker)):
        for index in course.ops_of(step):
            if index > marker.index and index not in marker.ahead:
                return index
    raise Unfit(f"{marker.part} is not at {step}")


def begin_key(run: Run, marker: Marker, step: str) -> tuple[str, tuple[int, ...]]:
    """The name of a part's way through a step, under which its start is kept.

    Raises:
        Unfit: The part does not stand there and may not do it ahead.
    """
    index = act_index(run.course, marker, step)
    return step, marker.passes[: len(run.route.within[index])]


def out_of_turn(course: Course, marker: Marker) -> tuple[Step, ...]:
    """The steps that a part may do though it does not stand at them.

    Those done meanwhile while it soaks, or those of its group whose order is free.
    """
    if marker.soak is not None:
        return course.ahead.get(marker.soak.step, ())
    here = course.route.step_at(marker.index)
    return course.any_order.get(here.step.any_order, ()) if here is not None else ()


def settled_step(
    course: Course, old: Marker, new: Marker, index: int, outcome: e.Outcome
) -> Marker:
    """After an act at an op: stay if a question holds the part there, else go on."""
    new = marker_moves.asked(new, outcome.asks)
    if held(outcome.asks, index):
        return new
    if index != old.index:
        return altered(new, ahead=new.ahead | {index})
    return step_on(course, new, index + 1, outcome.falls)


def held(asks: tuple[Question, ...], index: int) -> bool:
    """Whether one of these questions keeps a part at an op."""
    return any(q.gate and q.index == index for q in asks)


def acted(
    run: Run, marker: Marker, index: int, entry: e.Entry, data: e.Did, outcome: e.Outcome
) -> Marker:
    """The marker with what an act wrote and decided, before it moves on."""
    course = run.course
    marker = marker_moves.begun(course, window_kept(run, marker, index, outcome), index)
    marker = of_load(run, marker, index, entry.n, data.vessel)
    if outcome.value is not None:
        marker = values.wrote(run, marker, index, entry, data, outcome, outcome.value)
    if data.carried is not None:
        marker = values.taken_over(run, marker, index, entry.n, data)
    return marker_moves.finished(course, marker, index, mark_of(run, entry))


def scrapped_there(data: e.Did, part: str) -> bool:
    """Whether another run that carried a procedure out has scrapped a part."""
    there = data.carried.parts.get(part) if data.carried is not None else None
    return there is not None and there.result == Status.SCRAP.value


def of_load(run: Run, marker: Marker, index: int, n: int, vessel: str) -> Marker:
    """The marker in the load that an entry makes; as it is where it is of one, or needs none."""
    op = run.route.step_at(index)
    if marker.load is not None or op is None or not op.step.load:
        return marker
    load = run.route.loads[op.step.load]
    passes = marker.passes[: len(run.route.within[load.first])]
    return altered(marker, load=LoadPlace(load.key, n, vessel, passes))


def window_kept(run: Run, marker: Marker, index: int, outcome: e.Outcome) -> Marker:
    """Keep how the window of a step that starts was ruled on, where its limits depend on values."""
    times, op = outcome.window, run.route.step_at(index)
    if times is None or op is None or op.step.window is None:
        return marker
    inputs = draw(marker, reads_of(op.step.window.least, op.step.window.most))
    passes = marker.passes[: len(run.route.within[index])]
    return marker_moves.decided(
        marker,
        Decision(
            index,
            passes,
            "window",
            times.ruling,
            "in time",  # a start that was too soon had a reason
            inputs,
            answered=_answered_for(run, times.settled),
            spent_ms=times.since,
            spent_most_ms=times.since_most,
        ),
    )


def _answered_for(run: Run, settled: str) -> tuple[str, ...]:
    """The rulings on a window that a person has answered: certainly late answers perhaps late."""
    if settled == LATE and run.format >= WRITTEN_ONLY_SINCE:
        return (LATE, PERHAPS_LATE)
    return (settled,) if settled else ()


def dwell_reads(detail: Dwell) -> frozenset[str]:
    """The readings and findings that the times of a dwell depend on."""
    return reads_of(detail.least, detail.most, detail.aim, detail.tend_every)


def lifted(run: Run, marker: Marker, entry: e.Entry, outcome: e.Outcome) -> Marker:
    """The marker out of its vessel, before it moves on."""
    soak = marker.soak
    if soak is None:
        raise Unfit(f"{marker.part} is in no vessel")
    detail = run.route.steps[soak.step].detail
    spent = (outcome.proven or 0, outcome.possible)
    adds_up = isinstance(detail, Dwell) and detail.adds_up
    new = altered(
        marker,
        soak=None,
        status=Status.PLAY if marker.status is Status.AWAY and not marker.place else marker.status,
        carried=spent if adds_up else (0, 0),
    )
    acted_on = "" if held(outcome.asks, marker.index) else outcome.verdict
    new = marker_moves.decided(
        new,
        Decision(
            marker.index,
            marker.passes,
            "dwell",
            outcome.verdict,
            acted_on,
            soak.inputs,
            answered=tuple(ruling.today for ruling in outcome.rulings),
            spent_ms=spent,
        ),
    )
    ago = entry.data.ago if isinstance(entry.data, e.CameOut) else 0
    new = spent_values(run, new, soak.step, entry.n, marker.index, Elapsed(*spent))
    return marker_moves.finished(run.course, new, marker.index, mark_of(run, entry), ago)


def witnessed(run: Run, marker: Marker, entry: e.Entry, outcome: e.Outcome) -> Marker:
    """The marker after a witness point, before it moves on."""
    soak = marker.soak
    if soak is None:
        raise Unfit(f"{marker.part} waits for no witness")
    spent = Elapsed(outcome.proven or 0, outcome.possible)
    new = spent_values(run, altered(marker, soak=None), soak.step, entry.n, marker.index, spent)
    return marker_moves.finished(run.course, new, marker.index, mark_of(run, entry))


def skipped(course: Course, marker: Marker, step: str) -> Marker:
    """Leave out a step: its older values are forgotten and its window is spent."""
    detail = course.route.steps[step].detail
    marker = marker_moves.begun(course, marker, marker.index)
    own = f"{SPENT}{step.replace('-', '_')}"
    name = detail.name if isinstance(detail, (Reading, Inspect, WorkOut)) else own
    names = {name, *course.route.steps[step].taken_names}
    for key in [k for k in marker.values if k[0] in names]:
        marker = marker_moves.unwritten(marker, *key)
    ended = {other: end for other, end in marker.ended.items() if other != step}
    return altered(marker, ended=ended) if len(ended) < len(marker.ended) else marker


def the_question(marker: Marker, question: str, code: str) -> tuple[Question, Answer]:
    """The open question and its chosen answer.

    Raises:
        Unfit: The part has no such question, or the question no such answer.
    """
    for asked in marker.questions:
        if asked.id == question:
            answer = asked.answer(code)
            if answer is not None:
                return asked, answer
            raise Unfit(f"{code} is no answer to question {question}")
    raise Unfit(f"{marker.part} has no open question {question}")


def answered(
    run: Run,
    marker: Marker,
    question: Question,
    answer: Answer,
    withdraws: tuple[str, ...],
) -> Marker:
    """The marker with a question answered, before it walks anywhere.

    Args:
        run: The run.
        marker: The part.
        question: Its question.
        answer: The answer chosen.
        withdraws: The other questions that the answer settles too.
    """
    act = answer.act
    if act in (Act.ASIDE, Act.SCRAP, Act.STOP):
        status = {Act.ASIDE: Status.ASIDE, Act.SCRAP: Status.SCRAP}.get(act, marker.status)
        return altered(marker, status=status)
    new = (
        marker_moves.counted(marker, marker_moves.edge_of(question, answer))
        if answer.most
        else marker
    )
    settled = frozenset({question.id, *withdraws})
    if act is Act.AWAY and run.format >= WRITTEN_ONLY_SINCE and _is_fork(run, question):
        # Back from there it stands at the fork as before: what was asked there is still to settle.
        return altered(new, status=Status.AWAY, place=answer.to)
    new = marker_moves.unasked(new, settled)
    for asked in marker.questions:
        if asked.id in settled and asked.ask is Ask.CHANGED:
            new = marker_moves.stood_by(new, asked.about, asked.today)
    if act is Act.REWORK:
        return _reworked(run, new, question, answer)
    if act in (Act.AGAIN, Act.AWAY):
        new = marker_moves.voided(run.course, new, question)
    if act is Act.AWAY:
        return altered(new, status=Status.AWAY, place=answer.to)
    if act is Act.DETOUR:
        return marker_moves.detoured(run.course, new, question.step)
    if act is Act.GO_ON:
        return _let_stand(run, new, question)
    return new


def _is_fork(run: Run, question: Question) -> bool:
    return question.gate and run.route.step_at(question.index) is None


def _reworked(run: Run, marker: Marker, question: Question, answer: Answer) -> Marker:
    if answer.to:
        return marker_moves.sent_back(run.course, marker, run.route.index[answer.to])
    decision = marker.decisions.get(question.about)
    tail = isinstance(run.route.ops[question.index], Tail)
    passes = decision.passes if decision is not None and tail else None
    return marker_moves.sent_back(run.course, marker, question.index, passes)


def _let_stand(run: Run, marker: Marker, question: Question) -> Marker:
    if question.ask is Ask.WINDOW and question.step in marker.windows:
        clock = replace(marker.windows[question.step], settled=question.today)
        return altered(marker, windows={**marker.windows, question.step: clock})
    if question.ask in (Ask.GUARD, Ask.REPEAT):
        return marker
    if question.ask is Ask.CHANGED:
        return (
            marker_moves.acted_on(marker, question.about, question.today)
            if question.gate
            else marker
        )
    good = {Ask.OUTSIDE: "inside", Ask.DOUBT: "inside", Ask.INSIDE: "inside"}.get(question.ask)
    if good is None and question.ask in (Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE):
        good = "in time"
    if getattr(run.route.steps[question.step].detail, "inside", ()):
        good = None  # being inside has consequences of its own: it was acted on as it was ruled
    decision = marker.decisions.get(question.about)
    if good is None and decision is not None:
        good = decision.ruled
    return marker_moves.acted_on(marker, question.about, good or "")


def walked_answer(
    course: Course,
    old: Marker,
    new: Marker,
    question: Question,
    answer: Answer,
    outcome: e.Outcome,
) -> Marker:
    """Where an answered part goes: on from a finished step or a fork, or nowhere."""
    start = walks_from(course, old, new, question, answer)
    if start is not None:
        return step_on(course, new, start, outcome.falls)
    ahead = question.gate and question.index > old.index and course.route.step_at(question.index)
    if answer.act is Act.GO_ON and ahead and not held(new.questions, question.index):
        return altered(new, ahead=new.ahead | {question.index})
    return new


def walks_from(
    course: Course, old: Marker, new: Marker, question: Question, answer: Answer
) -> int | None:
    """The op from which an answered part walks on; None when it stays where it is.

    It walks into a detour, from a fork that it goes back to, and on from the step or the fork at
    which it stands once nothing holds it there.
    """
    if answer.act is Act.DETOUR:
        return course.detour_at[question.step] + 1
    if answer.act is Act.REWORK:
        return None if answer.to else question.index
    fork = course.route.step_at(old.index) is None
    settles = answer.act is Act.GO_ON or (fork and answer.act is Act.AGAIN)
    if not settles or old.soak is not None:
        return None
    if not held(old.questions, old.index) or held(new.questions, old.index):
        return None
    return old.index + (0 if fork else 1)


def first_fall(course: Course, old: Marker, question: Question, answer: Answer) -> str:
    """Which way the fork at which a part stands falls, when its answer says so; else empty."""
    if course.route.step_at(old.index) is not None or answer.act in (Act.REWORK, Act.DETOUR):
        return ""
    return question.today if question.ask is Ask.CHANGED else answer.to


def moved(run: Run, marker: Marker, to: str) -> Marker:
    """Put a part aside, to scrap, back in play, or back to a step."""
    statuses = {"aside": Status.ASIDE, "scrap": Status.SCRAP}
    if to in statuses:
        return altered(marker, status=statuses[to])
    if to == "play":
        end = marker.index == len(run.route.ops) - 1
        status = Status.AWAY if marker.place else Status.DONE if end else Status.PLAY
        return altered(marker, status=status)
    return marker_moves.sent_back(run.course, marker, run.route.index[to])
