"""Deciding what people settle: questions raised and answered, parts put aside, back, to scrap."""

from dataclasses import replace
from typing import Final

from benchrun.moment import Moment
from benchrun.procedure.route import Act
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run import marker_moves
from benchrun.run.advance import nearest_step, onward
from benchrun.run.commands import Refusal, Want
from benchrun.run.drafts import marker_draft
from benchrun.run.questions import ASIDE
from benchrun.run.start_checks import in_order, known_parts
from benchrun.run.state import GO_ON, Answer, Ask, Marker, Question, Run, Status
from benchrun.text import listed, shown

_TAKES_OUT: Final = frozenset({Act.REWORK, Act.DETOUR, Act.ASIDE, Act.AWAY, Act.SCRAP})
_MUST_BE_HERE: Final = frozenset({Act.REWORK, Act.DETOUR, Act.AWAY})
_KEEPS_ALL: Final = frozenset({Act.ASIDE, Act.SCRAP, Act.STOP})


def decide_raise(run: Run, command: c.Raise) -> e.Data | Refusal:
    """Decide a question that a person raises."""
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    says = shown(command.says.strip(), 500)
    if not says:
        return Refusal("Say what the query is.")
    parts = in_order(run, command.parts)
    gone = [p for p in parts if not run.markers[p].here]
    if gone:
        return Refusal(f"{listed(gone)}: not in work. Return it to work first.")
    each = {part: e.Outcome(asks=(raised(run, run.markers[part], says),)) for part in parts}
    step = nearest_step(run, run.markers[parts[0]].index)
    return e.Asked(step, parts, each, says)


def raised(run: Run, marker: Marker, says: str, count: int = 0) -> Question:
    """A question in a person's own words: it holds the part, whatever else it waits for."""
    answers = (
        ASIDE,
        Answer("scrap", Act.SCRAP, "Scrap it", reason=True),
        Answer(GO_ON, Act.GO_ON, "It is settled: go on", reason=True),
    )
    step = nearest_step(run, marker.index)
    return Question(f"{run.n}.{count}", Ask.RAISED, step, marker.index, says, answers, gate=False)


def decide_answer(run: Run, command: c.Settle, at: Moment) -> e.Data | Refusal:
    """Decide the answer to a question that one or more parts have."""
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    parts = in_order(run, command.parts)
    draft = e.Answered(parts, command.code, {}, command.reason.strip())
    each: dict[str, e.Outcome] = {}
    for part in parts:
        outcome = _answer_one(run, draft, part, command.questions.get(part, ""), at)
        if isinstance(outcome, Refusal):
            return outcome
        each[part] = outcome
    return replace(draft, each=each)


def _answer_one(
    run: Run, draft: e.Answered, part: str, question: str, at: Moment
) -> e.Outcome | Refusal:
    marker = run.markers[part]
    if marker.status in (Status.SCRAP, Status.ASIDE):
        return Refusal(f"{part} is not in work. Return it to work first.")
    try:
        asked, answer = f.the_question(marker, question, draft.code)
    except f.Unfit:
        return _no_answer(marker, question)
    if marker_moves.spent(marker, asked.step, answer):
        return Refusal(f"{part} has used up that rework. Choose another answer.")
    if answer.reason and not draft.reason:
        return Refusal(f"“{answer.text}” needs a reason.", Want.REASON)
    if marker.soak is not None and answer.act in _TAKES_OUT:
        return Refusal(f"{part} is still in. Take it out, then answer.")
    if marker.place and answer.act in _MUST_BE_HERE:
        return Refusal(f"{part} is away at {marker.place}. Receive it first, then answer.")
    return _settled(run, marker, asked, answer, at)


def _settled(run: Run, marker: Marker, asked: Question, answer: Answer, at: Moment) -> e.Outcome:
    withdraws: tuple[str, ...] = ()
    if asked.about and answer.act not in _KEEPS_ALL:
        # What was ruled then and what would be ruled today are answered by the one answer.
        others = (q for q in marker.questions if q.about == asked.about and q.id != asked.id)
        withdraws = tuple(q.id for q in others)
    outcome = e.Outcome(settles=asked.id, withdraws=withdraws)
    after = marker_draft(marker)
    f.settle_question(run, after, asked, answer, withdraws)
    start = f.walks_from(run.course, marker, after, asked, answer)
    if start is None:
        return outcome
    first = f.first_fall(run.course, marker, asked, answer)
    on = onward(run, after, start, at, first=first)
    return replace(outcome, falls=on.falls, asks=on.asks)


def _no_answer(marker: Marker, question: str) -> Refusal:
    asked = next((q for q in marker.questions if q.id == question), None)
    if asked is None:
        return Refusal(f"{marker.part} has no such open question. It may be answered already.")
    codes = listed(tuple(f"“{answer.text}”" for answer in asked.answers)) or "no answer as written"
    return Refusal(
        f"{marker.part}: this question takes {codes}. Anything else is a deviation, with a reason."
    )


def decide_put(run: Run, command: c.Put) -> e.Data | Refusal:
    """Decide to put parts aside, back into play, to scrap, or back to a step."""
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    parts = in_order(run, command.parts)
    for part in parts:
        refused = _may_put(run, run.markers[part], command.to)
        if refused:
            return refused
    reason = command.reason.strip()
    if command.to != "play" and not reason:
        return Refusal("This needs a reason.", Want.REASON)
    return e.Moved(parts, command.to, reason)


def _may_put(run: Run, marker: Marker, to: str) -> Refusal | None:
    part, status = marker.part, marker.status
    if marker.soak is not None:
        return Refusal(f"{part} is still in. Take it out first.")
    if to == "play":
        back = status in (Status.ASIDE, Status.SCRAP)
        return None if back else Refusal(f"{part} is in work already. Go on with it.")
    if to in ("aside", "scrap"):
        same = {"aside": Status.ASIDE, "scrap": Status.SCRAP}[to]
        there = Refusal(f"{part} is {status.value} already. Return it to work first.")
        return there if status is same else None
    if to not in run.route.index:
        return Refusal(
            f"{shown(to, 40)} is no step. Choose set aside, return to work, scrap or "
            "back to a step."
        )
    return _may_go_back(run, marker, run.route.index[to])


def _may_go_back(run: Run, marker: Marker, target: int) -> Refusal | None:
    if marker.status not in (Status.PLAY, Status.DONE):
        return Refusal(f"{marker.part} is not in work. Return it to work first.")
    course = run.course
    landing = course.landing(target, marker.index, marker.passes, marker.left)
    if course.order(target, landing) < course.order(*marker.at):
        return None
    return Refusal(
        f"{marker.part} has not passed that step. It can only be put back; to go forward, skip "
        "steps with a reason."
    )


def decide_got(run: Run, command: c.GetBack) -> e.Data | Refusal:
    """Decide that parts came back from being away without a plan."""
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    home = [p for p in command.parts if run.markers[p].status is not Status.AWAY]
    planned = [p for p in command.parts if run.markers[p].soak is not None]
    if home or planned:
        return Refusal(
            f"{listed(home or planned)} was not sent away outside the procedure. What was sent out "
            "as planned is taken out."
        )
    return e.GotBack(in_order(run, command.parts), command.reason.strip())
