"""Deciding amendments: a wrong value corrected, a mis-tap taken back."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.grammar import ROUND
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Act, Consequence, Dwell, Inspect, Reading, Step, WorkOut
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run import values as v
from benchrun.run.advance import nearest_step
from benchrun.run.answering import raised
from benchrun.run.commands import Refusal, Want
from benchrun.run.durations import worked_out
from benchrun.run.dwelling import time_consequences, times_of
from benchrun.run.measurement import AGAIN, doubt_of, limit_consequences, read_of
from benchrun.run.part_values import of_kind
from benchrun.run.questions import changed_question
from benchrun.run.run_figures import checked
from benchrun.run.start_checks import known_parts
from benchrun.run.state import ORIGINS_SINCE, Ask, Decision, Marker, Question, Run, Value
from benchrun.run.supply_use import read_amount
from benchrun.run.verdict import (
    EARLY,
    IN_TIME,
    PERHAPS_EARLY,
    judge_again,
    judge_value,
    limits,
)
from benchrun.run.vessels import fits_into, inside, over_capacity, part_vessel
from benchrun.shopmath.accepting import INSIDE
from benchrun.text import listed

Table = dict[tuple[int, str, str], e.Revision]
EARLY_OR_IN_TIME: Final = frozenset({IN_TIME, EARLY, PERHAPS_EARLY})
BACK_TO_FORK: Final = 3  # times a part may go back to one fork after corrections; enough to settle


def decide_correct(run: Run, command: c.Correct) -> e.Data | Refusal:
    """Decide the correction of one value: what follows from it, and what must be asked."""
    if run.ended:
        return Refusal("The run is closed. Its record stays as it was signed.")
    figure = _figure_of(run, command)
    refused = None if figure is not None else known_parts(run, (command.part,), command.seen)
    if refused:
        return refused
    if not command.reason.strip():
        return Refusal("A correction needs a reason.", Want.REASON)
    if any(use.supply == command.place for use in run.used.get(command.of, ())):
        return _other_amount(run, command)
    value = figure or _find(run, command)
    if value is None:
        return Refusal(
            f"Entry {command.of} holds no value of {command.part} that still counts. Correct an "
            "entry with a reading or a finding."
        )
    step = run.route.steps.get(value.step)
    if (step is not None and isinstance(step.detail, WorkOut)) or (step is None and value.inputs):
        return Refusal("A worked-out value follows from its readings. Correct one of those.")
    given = _given_at_begin(run, value, command) if step is None else _given(step, value, command)
    if isinstance(given, Refusal):
        return given
    if _same(value, given):
        return Refusal("That is already the recorded value.")
    copies = (value,) if step is None else _copies(run, step, value)
    table = {copy.id: _revision(copy, given) for copy in copies}
    failed = _derive(run, table)
    if failed:
        return failed
    return _corrected(run, command, value, given, table)


def _figure_of(run: Run, command: c.Correct) -> Value | None:
    """The figure that a correction means, or None where it means something else."""
    figure = run.figures.get(command.place) if not command.part else None
    return figure if figure is not None and figure.n == command.of else None


def _other_amount(run: Run, command: c.Correct) -> e.Corrected | Refusal:
    """Correct how much of a supply an act used; nothing else hangs on that."""
    use = next(use for use in run.used[command.of] if use.supply == command.place)
    amount = read_amount(use.supply, command.typed, use.unit)
    if isinstance(amount, Refusal):
        return amount
    number = quantity.plain(amount.value)
    if (number, amount.unit) == (use.amount, use.unit):
        return Refusal("That is already the recorded amount.")
    given = e.Given(typed=amount.text, number=number, unit=amount.unit)
    reason = command.reason.strip()
    return e.Corrected(command.of, command.part, given, reason, (), command.place)


def _corrected(
    run: Run, command: c.Correct, value: Value, given: e.Given, table: Table
) -> e.Corrected:
    each = {}
    for marker in run.each():
        outcome = _rejudged(run, marker, table)
        if outcome is not None:
            each[marker.part] = outcome
    parts = tuple(part for part in run.parts if part in each)
    reason = command.reason.strip()
    return e.Corrected(
        command.of,
        command.part,
        given,
        reason,
        parts,
        value.id[2],
        each,
        command.tool,
        command.document,
        command.page,
    )


def _same(value: Value, given: e.Given) -> bool:
    doubt = quantity.plain(value.doubt) if value.doubt else ""
    return (given.number, given.word, given.doubt) == (_plain(value.number), value.word, doubt)


def _copies(run: Run, step: Step, value: Value) -> tuple[Value, ...]:
    """The value, and where several parts share a reading, what it wrote to the others."""
    if not step.shared:
        return (value,)
    pooled = (value for marker in run.each() for value in _pool(marker))
    return _unique(
        copied for copied in pooled if (copied.n, copied.place) == (value.n, value.place)
    )


def _revision(value: Value, given: e.Given) -> e.Revision:
    doubt = None if Decimal(given.doubt or 0) == value.doubt else given.doubt or "0"
    return e.Revision(value.n, value.part, given.number, value.id[2], given.word, doubt)


def _plain(number: Decimal | None) -> str | None:
    return None if number is None else quantity.plain(number)


def _find(run: Run, command: c.Correct) -> Value | None:
    """The value named, as the part or whatever rests on it keeps it."""
    wanted = (command.of, command.part, command.place)
    own = run.markers.get(command.part)
    for marker in ([own] if own else []) + [m for m in run.each() if m is not own]:
        for value in _pool(marker):
            if value.id == wanted and (value.step or value.name == command.place != ROUND):
                return value
    return None


def _pool(marker: Marker) -> Iterator[Value]:
    """Every value that a part or a decision of it still rests on, inputs of inputs included."""
    kept: list[Value] = [*marker.values.values()]
    for values in marker.earlier.values():
        kept += values
    for decision in marker.decisions.values():
        kept += decision.inputs
    if marker.soak is not None:
        kept += marker.soak.inputs
    while kept:
        value = kept.pop()
        yield value
        kept += value.inputs


def _given(step: Step, value: Value, command: c.Correct) -> e.Given | Refusal:
    detail = step.detail
    if isinstance(detail, Inspect):
        names = tuple(finding.name for finding in detail.findings)
        if command.finding not in names:
            return Refusal(f"Say what was found: {listed(names)}.")
        return e.Given(word=command.finding)
    if not isinstance(detail, Reading):
        return Refusal("Only a reading or a finding can be corrected.")
    try:
        measure = read_of(detail, command.typed)
        number = quantity.convert(measure.value, measure.unit, detail.unit)
        doubt = doubt_of(command.tool) if command.tool else value.doubt
    except BenchrunError as error:
        return Refusal(error.message)
    return e.Given(
        typed=measure.text,
        number=quantity.plain(number),
        unit=detail.unit,
        doubt=quantity.plain(doubt) if doubt else "",
    )


def _given_at_begin(run: Run, value: Value, command: c.Correct) -> e.Given | Refusal:
    """The value, as put right, of what no step wrote: a figure, or the kind of a part."""
    if not value.part:
        spec = checked(run.route.figures[value.name], e.FigureSpec(value.name, command.typed))
        if isinstance(spec, Refusal):
            return spec
        if spec.number is None:
            return Refusal("Type what the figure is.")
        return e.Given(typed=spec.typed, number=spec.number, unit=spec.unit)
    names = tuple(run.route.kinds)
    if command.finding not in names:
        return Refusal(f"Say which kind it is: {listed(names, most=20)}.")
    return e.Given(word=command.finding)


def _derive(run: Run, table: Table) -> Refusal | None:
    """Work out again every value that rests on a revised one, until nothing more follows."""
    pool = {v.id: v for m in run.each() for v in _pool(m) if v.inputs}
    grown = True
    while grown:
        grown = False
        for key, value in pool.items():
            if not any(used.id in table for used in value.inputs):
                continue
            revision = _worked_again(run, value, table)
            if isinstance(revision, Refusal):
                return revision
            if revision is not None and table.get(key) != revision:
                table[key] = revision
                grown = True
    return None


def _worked_again(run: Run, value: Value, table: Table) -> e.Revision | Refusal | None:
    inputs = [v.revise(used, table) for used in value.inputs]
    if not value.step:
        return of_kind(value, run.route.kinds, inputs[0].word) if inputs else None
    detail = run.route.steps[value.step].detail
    if not isinstance(detail, WorkOut):
        return None
    try:
        result, doubt = worked_out(detail, inputs)
    except (Missing, FormulaError) as error:
        number = run.route.steps[value.step].number
        return Refusal(
            f"With this, step {number} cannot be worked out for {value.part}: {error}. Put the "
            f"part back to step {number} first, then correct."
        )
    changed = None if doubt == value.doubt else quantity.plain(doubt)
    return e.Revision(value.n, value.part, _plain(result), value.place, doubt=changed)


def _rejudged(run: Run, marker: Marker, table: Table) -> e.Outcome | None:
    """The outcome of the correction for one part; None when nothing of it is touched."""
    own = [table[v.id] for v in _unique(_pool(marker)) if v.id in table]
    if not own:
        return None
    revised = v.revised(marker, table)
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
        relimited=tuple(_relimits(run, marker, revised)),
    )
    return _relimited(run, marker, revised, outcome)


def _relimits(run: Run, marker: Marker, revised: Marker) -> Iterator[e.Relimit]:
    """The values that other limits hold for now, with how they are ruled on by these."""
    for key, decision in revised.decisions.items():
        op = run.route.step_at(decision.index)
        detail = op.step.detail if op is not None else None
        if decision.sort != "limit" or not isinstance(detail, (Reading, WorkOut)):
            continue
        own = next((value for value in decision.inputs if value.name == detail.name), None)
        before = limits(detail, marker.decisions[key].inputs)
        now = limits(detail, decision.inputs)
        if own is None or own.number is None or now == before or run.format < ORIGINS_SINCE:
            continue
        ruled = judge_value(detail, own.number, own.doubt, decision.inputs)
        low, high = _plain(ruled.low) or "", _plain(ruled.high) or ""
        yield e.Relimit(own.n, own.part, own.place, low, high, ruled.ruling)


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
    about = decision.key
    standing = [q for q in marker.questions if q.ask is Ask.CHANGED and q.about == about]
    if decision.accepts(today) or _now_inside(run, decision, today):
        withdraws += [q.id for q in standing]
        return
    if any(q.today == today for q in standing):
        return
    withdraws += [q.id for q in standing]
    step = run.route.steps[nearest_step(run, decision.index)]
    pending = any(
        q.gate and q.about == about and q.ask is not Ask.CHANGED for q in marker.questions
    )
    consequences = _consequences(step, decision, today, pending)
    asks.append(
        changed_question(
            run, len(asks), marker, step, decision, today, consequences, pending=pending
        )
    )


def _now_inside(run: Run, decision: Decision, today: str) -> bool:
    """Whether a value that had no limits, for want of a figure, is inside them and goes on."""
    op = run.route.step_at(decision.index)
    inside = getattr(op.step.detail, "inside", ()) if op is not None else ()
    return decision.sort == "limit" and not decision.ruled and today == INSIDE and not inside


def _consequences(
    step: Step, decision: Decision, today: str, pending: bool
) -> tuple[Consequence, ...]:
    """The consequences of today's ruling, beside letting the old one stand."""
    detail = step.detail
    if decision.sort == "limit" and isinstance(detail, (Reading, WorkOut)):
        again = (AGAIN,) if isinstance(detail, Reading) else ()
        return limit_consequences(detail, today) or again
    if decision.sort == "finding" and isinstance(detail, Inspect):
        return next(
            (finding.consequences for finding in detail.findings if finding.name == today), ()
        )
    if decision.sort == "window":
        return step.window.late if step.window is not None and today not in EARLY_OR_IN_TIME else ()
    if decision.sort == "dwell":
        return time_consequences(step, today)
    if decision.sort in ("guard", "repeat") and not pending:
        return (Consequence(Act.REWORK, "", BACK_TO_FORK, "Go back and decide it again"),)
    return ()


def _relimited(run: Run, marker: Marker, revised: Marker, outcome: e.Outcome) -> e.Outcome:
    """Give an open clock its new limits at once; ask where its table does not tell them."""
    before, after = marker.soak, revised.soak
    if before is None or after is None or before.inputs == after.inputs:
        return outcome
    step = run.route.steps[after.step]
    if not isinstance(step.detail, Dwell):
        return outcome
    try:
        return times_of(run, step.detail, after.inputs, replace(outcome, verdict="limits"))
    except Undetermined as error:
        says = f"Its time limits stay as they were: {error}."
        return replace(outcome, asks=(*outcome.asks, raised(run, marker, says, len(outcome.asks))))


def decide_retract(run: Run, command: c.Retract) -> e.Data | Refusal:
    """Decide to take back a mis-tap: only the last entry of every part that it touched."""
    if run.ended:
        return Refusal("The run is closed; nothing can be undone.")
    last = [m for m in run.each() if m.last == command.of]
    if not last or not last[0].before:
        return Refusal(
            f"Entry {command.of} cannot be undone: it is not the last of its parts, or it "
            "moved none. Correct it, or put the part back to a step."
        )
    if last[0].fixed:
        return Refusal("A signature cannot be undone. Put the part back to a step instead.")
    joined = command.of in run.figures_before and len(last) != len(run.parts)
    if len(last) != last[0].mates or joined:
        return Refusal(
            f"Entry {command.of} cannot be undone: some of its parts have moved on. Correct "
            "it, or put the part back to a step."
        )
    parts = tuple(m.part for m in last)
    refused = known_parts(run, parts, command.seen) or _overfills(run, last, command.reason)
    return refused or e.Retracted(command.of, parts, command.reason.strip())


def _overfills(run: Run, markers: Iterable[Marker], reason: str) -> Refusal | None:
    """Refuse to take a lift back into a vessel that was filled since, unless there is a reason."""
    back: dict[str, list[str]] = {}
    for marker in markers:
        had = part_vessel(run, marker.before[-1])
        if had and not part_vessel(run, marker):
            back.setdefault(had, []).append(marker.part)
    for vessel, parts in back.items():
        whole = any(run.markers[part].before[-1].load is not None for part in parts)
        alone = not inside(run, vessel) and fits_into(run, vessel, parts)
        over = not alone if whole else over_capacity(run, vessel, parts) > 0
        if over and not reason.strip():
            how = "it is not for them alone" if whole else "it is over capacity"
            return Refusal(
                f"The {run.route.vessels[vessel].title} was filled since: with {part_names(parts)} "
                f"back in it {how}. Give a reason.",
                Want.REASON,
            )
    return None
