"""Effects of an entry on one marker: the steps that fold follows and that decide tries out.

They are written to a draft of the marker, which fold publishes and decide only looks at.
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
from benchrun.run.drafts import MarkerDraft
from benchrun.run.durations import note_spent
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


def step_on(course: Course, draft: MarkerDraft, index: int, falls: tuple[str, ...]) -> None:
    """Walk on from an op by recorded falls, and keep the decision that each fork made."""
    if course.stands_at(index, draft.ahead):
        marker_moves.step_to(course, draft, index)
        return
    decisions: list[Decision] = []
    rounds: list[str] = []
    follows = follow_falls(falls)

    def choose(op: Fork, at: int, passes: tuple[int, ...]) -> str | None:
        way = follows(op, at, passes)
        decision = fork_decision(draft, op, at, passes, way)
        if decision is not None:
            decisions.append(decision)
        if isinstance(op, Detour) and way == "first":
            rounds.append(detour_edge(op))
        return way

    marker_moves.walk_on(course, draft, index, choose)
    for decision in decisions:
        marker_moves.keep_decision(draft, decision)
    for edge in rounds:
        marker_moves.count_edge(draft, edge)


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
    inputs = draw(marker, formula.reads, passes)
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
    if course.step_ids[marker.index] == step and marker.soak is None:
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


def settle_step(
    course: Course, draft: MarkerDraft, old: Marker, index: int, outcome: e.Outcome
) -> None:
    """After an act at an op: stay if a question holds the part there, else go on."""
    if outcome.asks:
        marker_moves.raise_questions(draft, outcome.asks)
        if held(outcome.asks, index):
            return
    if index != old.index:
        draft.ahead = draft.ahead | {index}
    else:
        step_on(course, draft, index + 1, outcome.falls)


def held(asks: tuple[Question, ...], index: int) -> bool:
    """Whether one of these questions keeps a part at an op."""
    return bool(asks) and any(q.gate and q.index == index for q in asks)


def do_act(
    run: Run, draft: MarkerDraft, index: int, entry: e.Entry, data: e.Did, outcome: e.Outcome
) -> None:
    """Write what an act wrote and decided, before the part moves on."""
    course = run.course
    step = course.route.steps[data.step]
    start_step(run, draft, index, outcome)
    if step.load:
        join_load(run, draft, index, entry.n, data.vessel)
    if outcome.value is not None:
        values.write_given(run, draft, index, entry, data, outcome, outcome.value)
    if data.carried is not None:
        values.take_over(run, draft, index, entry.n, data)
    marker_moves.finish_step(course, draft, index, mark_of(run, entry))


def start_step(run: Run, draft: MarkerDraft, index: int, outcome: e.Outcome) -> None:
    """Start the step at an op: its window is ruled on and used up."""
    if outcome.window is not None:
        keep_window(run, draft, index, outcome)
    if draft.windows:
        marker_moves.begin_step(run.course, draft, index)


def scrapped_there(data: e.Did, part: str) -> bool:
    """Whether another run that carried a procedure out has scrapped a part."""
    there = data.carried.parts.get(part) if data.carried is not None else None
    return there is not None and there.result == Status.SCRAP.value


def join_load(run: Run, draft: MarkerDraft, index: int, n: int, vessel: str) -> None:
    """Put the part into the load that an entry makes, unless it is of one, or needs none."""
    op = run.route.step_at(index)
    if draft.load is not None or op is None or not op.step.load:
        return
    load = run.route.loads[op.step.load]
    passes = draft.passes[: len(run.route.within[load.first])]
    draft.load = LoadPlace(load.key, n, vessel, passes)


def keep_window(run: Run, draft: MarkerDraft, index: int, outcome: e.Outcome) -> None:
    """Keep how the window of a step that starts was ruled on, where its limits depend on values."""
    times, op = outcome.window, run.route.step_at(index)
    if times is None or op is None or op.step.window is None:
        return
    inputs = draw(draft, reads_of(op.step.window.least, op.step.window.most))
    passes = draft.passes[: len(run.route.within[index])]
    marker_moves.keep_decision(
        draft,
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


def lift_out(run: Run, draft: MarkerDraft, entry: e.Entry, outcome: e.Outcome) -> None:
    """Take the part out of its vessel, before it moves on."""
    soak = draft.soak
    if soak is None:
        raise Unfit(f"{draft.part} is in no vessel")
    detail = run.route.steps[soak.step].detail
    spent = (outcome.proven or 0, outcome.possible)
    adds_up = isinstance(detail, Dwell) and detail.adds_up
    draft.soak = None
    draft.status = Status.PLAY if draft.status is Status.AWAY and not draft.place else draft.status
    draft.carried = spent if adds_up else (0, 0)
    marker_moves.keep_decision(
        draft,
        Decision(
            draft.index,
            draft.passes,
            "dwell",
            outcome.verdict,
            "" if held(outcome.asks, draft.index) else outcome.verdict,
            soak.inputs,
            answered=tuple([ruling.today for ruling in outcome.rulings]),
            spent_ms=spent,
        ),
    )
    ago = entry.data.ago if isinstance(entry.data, e.CameOut) else 0
    note_spent(run, draft, soak.step, entry.n, draft.index, Elapsed(*spent))
    marker_moves.finish_step(run.course, draft, draft.index, mark_of(run, entry), ago)


def close_notice(run: Run, draft: MarkerDraft, entry: e.Entry, outcome: e.Outcome) -> None:
    """End a witness point, before the part moves on."""
    soak = draft.soak
    if soak is None:
        raise Unfit(f"{draft.part} waits for no witness")
    spent = Elapsed(outcome.proven or 0, outcome.possible)
    draft.soak = None
    note_spent(run, draft, soak.step, entry.n, draft.index, spent)
    marker_moves.finish_step(run.course, draft, draft.index, mark_of(run, entry))


def skip_step(course: Course, draft: MarkerDraft, step: str) -> None:
    """Leave out a step: its older values are forgotten and its window is spent."""
    detail = course.route.steps[step].detail
    marker_moves.begin_step(course, draft, draft.index)
    own = f"{SPENT}{step.replace('-', '_')}"
    name = detail.name if isinstance(detail, (Reading, Inspect, WorkOut)) else own
    names = {name, *course.route.steps[step].taken_names}
    for key in [k for k in draft.values if k[0] in names]:
        marker_moves.forget_value(draft, *key)
    ended = {other: end for other, end in draft.ended.items() if other != step}
    if len(ended) < len(draft.ended):
        draft.ended = ended


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


def settle_question(
    run: Run,
    draft: MarkerDraft,
    question: Question,
    answer: Answer,
    withdraws: tuple[str, ...],
) -> None:
    """Answer a question, before the part walks anywhere.

    Args:
        run: The run.
        draft: The part.
        question: Its question.
        answer: The answer chosen.
        withdraws: The other questions that the answer settles too.
    """
    act, asked = answer.act, draft.questions
    if act in (Act.ASIDE, Act.SCRAP, Act.STOP):
        status = {Act.ASIDE: Status.ASIDE, Act.SCRAP: Status.SCRAP}.get(act, draft.status)
        draft.status = status
        return
    if answer.most:
        marker_moves.count_edge(draft, marker_moves.edge_of(question, answer))
    settled = frozenset({question.id, *withdraws})
    if act is Act.AWAY and run.format >= WRITTEN_ONLY_SINCE and _is_fork(run, question):
        # Back from there it stands at the fork as before: what was asked there is still to settle.
        draft.status = Status.AWAY
        draft.place = answer.to
        return
    marker_moves.drop_questions(draft, settled)
    for one in asked:
        if one.id in settled and one.ask is Ask.CHANGED:
            marker_moves.stand_by(draft, one.about, one.today)
    _follow(run, draft, question, answer)


def _follow(run: Run, draft: MarkerDraft, question: Question, answer: Answer) -> None:
    """Let follow what an answer says, once its question stands no more."""
    act = answer.act
    if act is Act.REWORK:
        _rework(run, draft, question, answer)
    elif act in (Act.AGAIN, Act.AWAY):
        marker_moves.void_step(run.course, draft, question)
        if act is Act.AWAY:
            draft.status = Status.AWAY
            draft.place = answer.to
    elif act is Act.DETOUR:
        marker_moves.enter_detour(run.course, draft, question.step)
    elif act is Act.GO_ON:
        _let_stand(run, draft, question)


def _is_fork(run: Run, question: Question) -> bool:
    return question.gate and run.route.step_at(question.index) is None


def _rework(run: Run, draft: MarkerDraft, question: Question, answer: Answer) -> None:
    if answer.to:
        marker_moves.send_back(run.course, draft, run.route.index[answer.to])
        return
    decision = draft.decisions.get(question.about)
    tail = isinstance(run.route.ops[question.index], Tail)
    passes = decision.passes if decision is not None and tail else None
    marker_moves.send_back(run.course, draft, question.index, passes)


def _let_stand(run: Run, draft: MarkerDraft, question: Question) -> None:
    if question.ask is Ask.WINDOW and question.step in draft.windows:
        clock = replace(draft.windows[question.step], settled=question.today)
        draft.windows = {**draft.windows, question.step: clock}
        return
    if question.ask in (Ask.GUARD, Ask.REPEAT):
        return
    if question.ask is Ask.CHANGED:
        if question.gate:
            marker_moves.act_on(draft, question.about, question.today)
        return
    good = {Ask.OUTSIDE: "inside", Ask.DOUBT: "inside", Ask.INSIDE: "inside"}.get(question.ask)
    if good is None and question.ask in (Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE):
        good = "in time"
    if getattr(run.route.steps[question.step].detail, "inside", ()):
        good = None  # being inside has consequences of its own: it was acted on as it was ruled
    decision = draft.decisions.get(question.about)
    if good is None and decision is not None:
        good = decision.ruled
    marker_moves.act_on(draft, question.about, good or "")


def walk_answer(
    course: Course,
    draft: MarkerDraft,
    old: Marker,
    question: Question,
    answer: Answer,
    outcome: e.Outcome,
) -> None:
    """Send an answered part on from a finished step or a fork, or nowhere."""
    start = walks_from(course, old, draft, question, answer)
    if start is not None:
        step_on(course, draft, start, outcome.falls)
        return
    ahead = question.gate and question.index > old.index and course.route.step_at(question.index)
    if answer.act is Act.GO_ON and ahead and not held(draft.questions, question.index):
        draft.ahead = draft.ahead | {question.index}


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


def put_marker(run: Run, draft: MarkerDraft, to: str) -> None:
    """Put a part aside, to scrap, back in play, or back to a step."""
    statuses = {"aside": Status.ASIDE, "scrap": Status.SCRAP}
    if to in statuses:
        draft.status = statuses[to]
    elif to == "play":
        end = draft.index == len(run.route.ops) - 1
        draft.status = Status.AWAY if draft.place else Status.DONE if end else Status.PLAY
    else:
        marker_moves.send_back(run.course, draft, run.route.index[to])
