"""Raising questions: what is asked, in which words, with which answers; the cautious one first."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.moment import Elapsed
from benchrun.procedure.route import Act, Consequence, Detour, Guard, Step, Tail
from benchrun.run.clocks import WindowState
from benchrun.run.course import position_key
from benchrun.run.effects import FIRST
from benchrun.run.marker_moves import spent
from benchrun.run.state import (
    GO_ON,
    WRITTEN_ONLY_SINCE,
    Answer,
    Ask,
    Decision,
    Marker,
    Question,
    Run,
)
from benchrun.run.verdict import Verdict
from benchrun.shopmath.accepting import verdict_words
from benchrun.text import span
from benchrun.wording import elapsed_words, ruling_words, time_limits

GOOD: Final = frozenset({"inside", "in time"})
ASIDE: Final = Answer("aside", Act.ASIDE, "Set it aside")
_CODES: Final = {
    Act.GO_ON: GO_ON,
    Act.AGAIN: "again",
    Act.DETOUR: FIRST,
    Act.ASIDE: "aside",
    Act.SCRAP: "scrap",
    Act.STOP: "stop",
}
_AGAIN_IN_WORDS: Final = {
    "reading": "Measure again",
    "inspect": "Look again",
    "dwell": "Put in again",
}
_NEEDS_REASON: Final = frozenset({Ask.OUTSIDE, Ask.DOUBT, Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE})


def answers(
    marker: Marker,
    step: Step,
    consequences: Iterable[Consequence],
    ask: Ask,
    *,
    counted: bool = True,
    older: bool = False,
) -> tuple[Answer, ...]:
    """The answers that a question takes: what the procedure lets follow and is not spent.

    Where they are not `counted`, none is ever spent by taking it. An `older` log offers setting
    aside as well.
    """
    given: list[Answer] = []
    for consequence in consequences:
        answer = _answer(step, consequence, ask)
        if not counted:
            answer = replace(answer, most=None)
        if not spent(marker, step.id, answer) and answer.code not in {a.code for a in given}:
            given.append(answer)
    if older and all(answer.act is not Act.ASIDE for answer in given):
        given.append(ASIDE)
    return tuple(given)


def code_of(consequence: Consequence) -> str:
    """The code of the answer that lets a consequence follow."""
    return _CODES.get(consequence.act) or f"{consequence.act.value} {consequence.to}".strip()


def _answer(step: Step, consequence: Consequence, ask: Ask) -> Answer:
    code = code_of(consequence)
    text = consequence.text or consequence.act.value
    if consequence.act is Act.AGAIN:
        text = _AGAIN_IN_WORDS.get(step.kind.value, "Again")
    elif consequence.act is Act.GO_ON and ask in _NEEDS_REASON | {Ask.WINDOW}:
        text = "Go on as it is"
    reason = consequence.act is Act.GO_ON and ask in _NEEDS_REASON | {Ask.WINDOW}
    return Answer(
        code, consequence.act, text[:1].upper() + text[1:], consequence.to, consequence.most, reason
    )


def older(run: Run) -> bool:
    """Whether the log of a run is of a number in which questions took more than what is written."""
    return run.format < WRITTEN_ONLY_SINCE


def question(
    run: Run,
    count: int,
    marker: Marker,
    step: Step,
    ask: Ask,
    says: str,
    consequences: Iterable[Consequence],
    *,
    index: int,
    gate: bool = True,
    about: str = "",
) -> Question:
    """One question of the next entry about a step."""
    offered = answers(marker, step, consequences, ask, older=older(run))
    return Question(f"{run.n}.{count}", ask, step.id, index, says, offered, gate, about)


def off_limits(number: Decimal, unit: str, doubt: Decimal, verdict: Verdict) -> str:
    """Say how far a value is from the limit that it breaks or comes too near to."""
    words = verdict_words(number, verdict.low, verdict.high, doubt, unit)
    words = words or "its limits cannot be worked out yet"
    return f"{quantity.in_words(number, unit)}: {words}."


def off_time(verdict: str, spent: Elapsed, least: int | None, most: int | None) -> str:
    """Say how a time that was spent stands to its limits."""
    said = ruling_words(verdict).capitalize()
    spent_words = elapsed_words(
        spent.proven_ms, spent.possible_ms, told_late=spent.told_late, beside=(least, most)
    )
    return f"{said}: {spent_words} ({time_limits(least, most)})."


def window_question(
    run: Run,
    marker: Marker,
    step: Step,
    state: WindowState,
    *,
    index: int,
    fork: bool = False,
    count: int = 0,
) -> Question:
    """Ask what to do about a window that has closed, or may have."""
    late = step.window.late if step.window else ()
    doubt = state.ruling != "late"
    spent_words = elapsed_words(
        state.since_most.proven_ms,
        state.since_most.possible_ms,
        told_late=state.since_most.told_late,
        beside=(state.most,),
    )
    how = "Could be" if doubt else "Too"
    says = f"{how} late: {spent_words} (at most {span(state.most or 0)})."
    old, counted = older(run), not state.for_room
    offered = list(answers(marker, step, late, Ask.WINDOW, counted=counted, older=old))
    if not old:
        offered = [replace(one, to="over") if one.act is Act.GO_ON else one for one in offered]
    elif all(answer.act is not Act.GO_ON for answer in offered):
        text = "Take it as in time" if doubt else "Go on as it is"
        offered.append(Answer(GO_ON, Act.GO_ON, text, "over", None, reason=True))
    return Question(
        f"{run.n}.{count}",
        Ask.WINDOW,
        step.id,
        index,
        says,
        tuple(offered),
        gate=fork,
        today=state.ruling,
    )


def fork_question(
    run: Run, count: int, passes: tuple[int, ...], op: Guard | Tail, index: int, step: str
) -> Question:
    """Ask which way a guard or the end of a repeat falls when the rules cannot tell."""
    about = position_key(index, passes)
    if isinstance(op, Guard):
        says = f"It is not known whether {op.condition.text}."
        choices = [
            Answer("yes", Act.GO_ON, "It is so: do these steps", "true", None, reason=True),
            Answer("no", Act.GO_ON, "It is not so: leave them out", "false", None, reason=True),
        ]
        choices += [ASIDE] if older(run) else []
        return Question(
            f"{run.n}.{count}", Ask.GUARD, step, index, says, tuple(choices), about=about
        )
    until = op.until.text if op.until else ""
    says = f"Pass {passes[-1]} is done; it is not so, or not known, that {until}."
    choices = [
        Answer("again", Act.AGAIN, "One more pass", "again", None, reason=True),
        Answer(GO_ON, Act.GO_ON, "Leave it at this", "leave", None, reason=True),
    ]
    choices = [ASIDE, *choices] if older(run) else choices
    return Question(f"{run.n}.{count}", Ask.REPEAT, step, index, says, tuple(choices), about=about)


def changed_question(
    run: Run,
    count: int,
    marker: Marker,
    step: Step,
    decision: Decision,
    today: str,
    consequences: tuple[Consequence, ...],
    *,
    pending: bool,
) -> Question:
    """Ask what follows when a correction changes how a decision would be ruled.

    Args:
        run: The run; its `n` is the entry that asks.
        count: How many questions it has asked of the part already.
        marker: The part.
        step: The step that the decision is told to be at.
        decision: The decision.
        today: How it would be ruled today.
        consequences: What the procedure lets follow from that.
        pending: Whether the part still waits there for the answer to a question about it.
    """
    before = f"ruled {decision.ruled}" if decision.ruled else "not judged"
    says = f"After a correction this would be ruled {today}; it was {before}."
    choices = _changed_answers(run, marker, step, today, consequences, pending)
    return Question(
        f"{run.n}.{count}",
        Ask.CHANGED,
        step.id,
        decision.index,
        says,
        choices,
        pending,
        decision.key,
        today,
    )


def _changed_answers(
    run: Run,
    marker: Marker,
    step: Step,
    today: str,
    consequences: tuple[Consequence, ...],
    pending: bool,
) -> tuple[Answer, ...]:
    plain = bool(consequences) and all(consequence.act is Act.GO_ON for consequence in consequences)
    acts = (Act.GO_ON, Act.DETOUR) if pending else (Act.GO_ON, Act.DETOUR, Act.AGAIN)
    kept = [c for c in consequences if c.act not in acts]
    choices = answers(marker, step, kept, Ask.CHANGED, older=older(run))
    good = today in GOOD and all(c.act in (Act.GO_ON, Act.AGAIN) for c in consequences)
    if pending and (plain or good):
        return (Answer(GO_ON, Act.GO_ON, f"Go on: it is {today}"), *choices)
    text = f"Go by it: {today}" if pending else "Let it stand"
    return (*choices, Answer(GO_ON, Act.GO_ON, text, "", None, reason=True))


def detour_spent(marker: Marker, op: Detour) -> bool:
    """Whether a part has gone round a detour as often as it may."""
    return marker.counts.get(f"{op.step}>{FIRST}", 0) >= op.most
