"""Deciding amendments: a wrong value corrected, a mis-tap taken back."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.route import Act, Consequence, Dwell, Inspect, Reading, Step, WorkOut
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.acts import limit_consequences
from benchrun.run.asking import changed_question
from benchrun.run.commands import Refusal, Want
from benchrun.run.course import key_of
from benchrun.run.judge import (
    INSIDE,
    OffTable,
    in_unit,
    judge_again,
    knowns,
    span_ms,
)
from benchrun.run.onward import nearest_step
from benchrun.run.soaking import time_consequences
from benchrun.run.state import Ask, Decision, Marker, Question, Run, Value
from benchrun.text import listed

Table = dict[tuple[int, str, str], e.Revision]


def decide_correct(run: Run, command: c.Correct) -> e.Data | Refusal:
    """Decide the correction of one value: what follows from it, and what must be asked."""
    if run.ended:
        return Refusal("The run is closed; its record stands as it is signed.")
    if not command.reason.strip():
        return Refusal("A correction needs a reason.", Want.REASON)
    value = _find(run, command)
    if value is None:
        return Refusal(
            f"Entry {command.of} holds no value of {command.part} that still counts. Correct an "
            "entry with a reading or a finding."
        )
    step = run.route.steps[value.step]
    if isinstance(step.detail, WorkOut):
        return Refusal("A worked-out value follows from its readings. Correct one of those.")
    given = _given(step, command)
    if isinstance(given, Refusal):
        return given
    if given.number == _plain(value.number) and given.word == value.word:
        return Refusal("That is the value that stands. Nothing to correct.")
    table: Table = {
        value.id: e.Revision(value.n, value.part, given.number, value.place, given.word)
    }
    _derive(run, table)
    each = {}
    for marker in run.each():
        outcome = _rejudged(run, marker, table)
        if outcome is not None:
            each[marker.part] = outcome
    parts = tuple(part for part in run.parts if part in each)
    return e.Corrected(
        command.of, command.part, given, command.reason.strip(), parts, value.place, each
    )


def _plain(number: Decimal | None) -> str | None:
    return None if number is None else quantity.plain(number)


def _find(run: Run, command: c.Correct) -> Value | None:
    marker = run.markers.get(command.part)
    wanted = (command.of, command.part, command.place)
    for value in _pool(marker) if marker else ():
        if value.id == wanted and value.step:
            return value
    return None


def _pool(marker: Marker) -> Iterator[Value]:
    """Every value that a part or a decision of it still rests on, inputs of inputs included."""
    kept: list[Value] = [*marker.values.values()]
    for decision in marker.decisions.values():
        kept += decision.inputs
    if marker.soak is not None:
        kept += marker.soak.inputs
    while kept:
        value = kept.pop()
        yield value
        kept += value.inputs


def _given(step: Step, command: c.Correct) -> e.Given | Refusal:
    detail = step.detail
    if isinstance(detail, Inspect):
        names = tuple(one.name for one in detail.findings)
        if command.finding not in names:
            return Refusal(f"Say what was found: {listed(names)}.")
        return e.Given(word=command.finding)
    if not isinstance(detail, Reading):
        return Refusal("Only a reading or a finding can be corrected.")
    try:
        measure = quantity.read(command.typed, detail.unit)
        number = quantity.convert(measure.value, measure.unit, detail.unit)
    except BenchrunError as error:
        return Refusal(error.message)
    return e.Given(typed=measure.text, number=quantity.plain(number), unit=detail.unit)


def _derive(run: Run, table: Table) -> None:
    """Work out again every value that rests on a revised one, until nothing more follows."""
    pool = {v.id: v for m in run.each() for v in _pool(m) if v.inputs}
    grown = True
    while grown:
        grown = False
        for key, value in pool.items():
            if key in table or not any(one.id in table for one in value.inputs):
                continue
            revision = _worked_again(run, value, table)
            if revision is not None:
                table[key] = revision
                grown = True


def _worked_again(run: Run, value: Value, table: Table) -> e.Revision | None:
    detail = run.route.steps[value.step].detail if value.step else None
    if not isinstance(detail, WorkOut):
        return None
    inputs = [f.revise(one, table) for one in value.inputs]
    try:
        result = in_unit(detail.formula.value(knowns(inputs), detail.unit), detail.unit)
    except (Missing, FormulaError):
        return None
    return e.Revision(value.n, value.part, _plain(result), value.place)


def _rejudged(run: Run, marker: Marker, table: Table) -> e.Outcome | None:
    """What the correction means for one part; None when nothing of it is touched."""
    own = [table[v.id] for v in _unique(_pool(marker)) if v.id in table]
    if not own:
        return None
    revised = f.revised(marker, table)
    rulings: list[e.Ruling] = []
    asks: list[Question] = []
    withdraws: list[str] = []
    for key, before in marker.decisions.items():
        after = revised.decisions[key]
        if after.inputs == before.inputs:
            continue
        today = _today(run, after)
        rulings.append(e.Ruling(key, today))
        _ask_again(run, marker, after, today, asks, withdraws)
    outcome = e.Outcome(
        revised=tuple(own),
        rulings=tuple(rulings),
        asks=tuple(asks),
        withdraws=tuple(withdraws),
    )
    return _relimited(run, marker, revised, outcome)


def _unique(values: Iterable[Value]) -> tuple[Value, ...]:
    return tuple({v.id: v for v in values}.values())


def _today(run: Run, decision: Decision) -> str:
    op = run.route.ops[decision.index]
    at_step = run.route.step_at(decision.index)
    detail = at_step.step.detail if at_step else None
    return judge_again(decision, detail, op, decision.inputs)


def _ask_again(
    run: Run,
    marker: Marker,
    decision: Decision,
    today: str,
    asks: list[Question],
    withdraws: list[str],
) -> None:
    about = key_of(decision.index, decision.passes)
    standing = [q for q in marker.questions if q.ask is Ask.CHANGED and q.about == about]
    if decision.accepts(today):
        withdraws += [q.id for q in standing]
        return
    if any(q.today == today for q in standing):
        return
    withdraws += [q.id for q in standing]
    step = run.route.steps[nearest_step(run, decision.index)]
    pending = any(
        q.gate and q.about == about and q.ask is not Ask.CHANGED for q in marker.questions
    )
    consequences = _consequences(step, decision, today)
    asks.append(
        changed_question(
            run.n, len(asks), marker, step, decision, today, consequences, gate=pending
        )
    )


def _consequences(step: Step, decision: Decision, today: str) -> tuple[Consequence, ...]:
    """What the procedure lets follow from today's ruling, beside letting the old one stand."""
    detail = step.detail
    if decision.sort == "limit" and isinstance(detail, Reading | WorkOut) and today != INSIDE:
        return limit_consequences(detail, doubtful=today == "in doubt")
    if decision.sort == "finding" and isinstance(detail, Inspect):
        return next((one.consequences for one in detail.findings if one.name == today), ())
    if decision.sort == "dwell":
        return time_consequences(step, today)
    if decision.sort in ("guard", "repeat"):
        return (Consequence(Act.REWORK, step.id, 3, f"Go back to step {step.number}"),)
    return ()


def _relimited(run: Run, marker: Marker, revised: Marker, outcome: e.Outcome) -> e.Outcome:
    """Give an open clock its new limits at once."""
    before, after = marker.soak, revised.soak
    if before is None or after is None or before.inputs == after.inputs:
        return outcome
    detail = run.route.steps[after.step].detail
    if not isinstance(detail, Dwell):
        return outcome
    try:
        least, most = span_ms(detail.least, after.inputs), span_ms(detail.most, after.inputs)
    except OffTable:
        least, most = before.least, before.most
    return replace(outcome, verdict="limits", least=least, most=most)


def decide_retract(run: Run, command: c.Retract) -> e.Data | Refusal:
    """Decide to take back a mis-tap: only the last entry of every part that it touched."""
    if run.ended:
        return Refusal("The run is closed; nothing can be taken back.")
    last = [m for m in run.each() if m.last == command.of]
    if not last or not last[0].before:
        return Refusal(
            f"Entry {command.of} cannot be taken back: it is not the last of its parts, or it "
            "moved none. Correct it, or put the part back to a step."
        )
    if last[0].fixed:
        return Refusal("A signature cannot be taken back. Put the part back to a step instead.")
    if len(last) != last[0].mates:
        return Refusal(
            f"Entry {command.of} cannot be taken back: some of its parts have moved on. Correct "
            "it, or put the part back to a step."
        )
    parts = tuple(m.part for m in last)
    stale = [p for p in parts if run.touched[p] > command.seen]
    if stale:
        return Refusal(f"{listed(stale)} moved on meanwhile. Look again, then choose.")
    return e.Retracted(command.of, parts, command.reason.strip())
