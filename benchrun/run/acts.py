"""Deciding acts at a step: do, reading, inspect, work out, hold, and leaving a step out."""

from dataclasses import dataclass, replace
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.route import (
    Act,
    Consequence,
    Do,
    Finding,
    Hold,
    Inspect,
    Reading,
    Step,
    WorkOut,
)
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.asking import off_limits, question, window_question
from benchrun.run.clocks import WindowState
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.course import key_of
from benchrun.run.judge import DOUBT, INSIDE, draw, in_unit, judge_value, knowns
from benchrun.run.onward import onward
from benchrun.run.ready import (
    gathered,
    in_order,
    in_window,
    known_parts,
    may_begin,
    right_hand,
)
from benchrun.run.state import Ask, Marker, Question, Run, Value
from benchrun.text import listed, shown

AGAIN = Consequence(Act.AGAIN)
SET_ASIDE = Consequence(Act.ASIDE)


@dataclass(frozen=True, slots=True)
class Making:
    """An entry in the making: the run, the moment, who, and the command."""

    run: Run
    at: Moment
    hand: Hand
    command: c.Do


def decide_do(run: Run, command: c.Do, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Decide a do, reading, inspect, work out or hold."""
    step = run.route.steps.get(command.step)
    if step is None:
        return Refusal(f"The procedure has no step {shown(command.step, 40)}.")
    begun = may_start(run, step, command.parts, command.seen, at, command.reason)
    if not isinstance(begun, Start):
        return begun
    refused = right_hand(step, hand, command.reason) or _critical(step, command)
    if refused:
        return refused
    command = replace(command, parts=begun.parts)
    making = Making(run, at, hand, command)
    match step.detail:
        case Do():
            return _finish(making, step, begun, {})
        case Hold():
            return _hold(making, step, step.detail, begun)
        case Reading():
            return _reading(making, step, step.detail, begun)
        case Inspect():
            return _inspect(making, step, step.detail, begun)
        case WorkOut():
            return _work_out(making, step, step.detail, begun)
    return Refusal(f"Step {step.number} is a dwell: put the parts in instead.")


@dataclass(frozen=True, slots=True)
class Start:
    """A start that may be made: its parts in order, who is left behind, the windows kept."""

    parts: tuple[str, ...]
    without: tuple[str, ...]
    windows: dict[str, WindowState]


def may_start(
    run: Run, step: Step, parts: tuple[str, ...], seen: int, at: Moment, reason: str
) -> Start | e.Asked | Refusal:
    """Check the start of a step by parts; a closed window becomes a question instead."""
    refused = known_parts(run, parts, seen)
    if refused:
        return refused
    parts = in_order(run, parts)
    for part in parts:
        refused = may_begin(run, run.markers[part], step)
        if refused:
            return refused
    without = gathered(run, step, parts, reason)
    if isinstance(without, Refusal):
        return without
    windows = in_window(run, step, parts, at, reason)
    if isinstance(windows, Refusal):
        return windows
    late = {part: state for part, state in windows.items() if state.late}
    if late:
        return _ask_late(run, step, late)
    return Start(parts, without, windows)


def _ask_late(run: Run, step: Step, late: dict[str, WindowState]) -> e.Asked:
    each = {}
    for part, state in late.items():
        marker = run.markers[part]
        asks = window_question(run.n, marker, step, state, index=marker.index)
        each[part] = e.Outcome(
            asks=(asks,),
            verdict=state.ruling,
            proven=state.since_most.proven_ms,
            possible=state.since_most.possible_ms,
        )
    return e.Asked(step.id, tuple(late), each)


def _critical(step: Step, command: c.Do) -> Refusal | None:
    if step.critical and not command.sure:
        return Refusal("This cannot be undone. Say once more that it is to be done.", Want.SURE)
    return None


def window_outcome(state: WindowState | None) -> e.Outcome:
    """What an entry says of the window that a part has kept, or not."""
    if state is None:
        return e.Outcome()
    soon = "too soon" if state.too_soon else ""
    return e.Outcome(verdict=soon, proven=state.since.proven_ms, possible=state.since.possible_ms)


def _finish(
    making: Making,
    step: Step,
    start: Start,
    outcomes: dict[str, e.Outcome],
    **more: object,
) -> e.Did:
    """Make the entry: for each part, fold what it did so far, then see where it goes on."""
    run, command = making.run, making.command
    each = {
        part: outcomes.get(part, window_outcome(start.windows.get(part))) for part in start.parts
    }
    draft = e.Did(
        step.id,
        start.parts,
        each,
        reason=command.reason.strip(),
        without=start.without,
        tool=command.tool,
    )
    draft = replace(draft, **more)  # type: ignore[arg-type]  # the fields of Did, by name
    entry = e.Entry(run.n, making.at, making.hand.id, draft)
    each = {part: _with_falls(making, entry, draft, part) for part in start.parts}
    return replace(draft, each={part: one for part, one in each.items() if one != e.Outcome()})


def _with_falls(making: Making, entry: e.Entry, draft: e.Did, part: str) -> e.Outcome:
    run, outcome = making.run, draft.each[part]
    old = run.markers[part]
    index = f.act_index(run.course, old, draft.step)
    if old.soak is not None or f.held(outcome.asks, index):
        return outcome
    after = f.acted(run, old, index, entry, draft, outcome)
    on = onward(run, after, index + 1, making.at, count=len(outcome.asks))
    return replace(outcome, falls=on.falls, asks=(*outcome.asks, *on.asks))


def _hold(making: Making, step: Step, detail: Hold, start: Start) -> e.Did | Refusal:
    hand, reason = making.hand, making.command.reason
    if detail.role and detail.role not in hand.roles:
        return Refusal(f"This is signed by a {detail.role}. Hand over to one.")
    flags: tuple[str, ...] = ()
    if detail.other or detail.after_hours is not None:
        own = tuple(p for p in start.parts if _too_near(making, detail, p))
        if own and not reason.strip():
            later = f", or the same one {detail.after_hours} h later" if detail.after_hours else ""
            return Refusal(
                f"{hand.name or hand.id} did the work on {listed(own)}. Let another person "
                f"sign{later}, or give a reason.",
                Want.REASON,
            )
        flags = ("checked by who did the work",) if own else ()
    says = f"{hand.name or hand.id}: {detail.says or step.text}"
    return _finish(making, step, start, {}, says=says, flags=flags)


def _too_near(making: Making, detail: Hold, part: str) -> bool:
    done = making.run.markers[part].doers.get(making.hand.id)
    if done is None:
        return False
    if detail.after_hours is None:
        return True
    return making.run.timeline.elapsed(done, making.at).proven_ms < detail.after_hours * 3_600_000


def _reading(making: Making, step: Step, detail: Reading, start: Start) -> e.Data | Refusal:
    if len(start.parts) > 1 and not step.together:
        return Refusal("A reading belongs to one part. Choose one part.")
    try:
        measure = quantity.read(making.command.typed, detail.unit)
        number = quantity.convert(measure.value, measure.unit, detail.unit)
        doubt = Decimal(making.command.tool.uncertainty or 0) if making.command.tool else Decimal(0)
    except BenchrunError as error:
        return Refusal(error.message)
    given = e.Given(
        typed=measure.text,
        number=quantity.plain(number),
        unit=detail.unit,
        doubt=quantity.plain(doubt) if doubt else "",
    )
    outcomes = {
        part: _judged(making, step, detail, part, given, number, doubt) for part in start.parts
    }
    op = making.run.route.step_at(_index(making.run, start.parts[0], step))
    return _finish(making, step, start, outcomes, place=op.place if op else "")


def _index(run: Run, part: str, step: Step) -> int:
    return f.act_index(run.course, run.markers[part], step.id)


def _judged(
    making: Making,
    step: Step,
    detail: Reading | WorkOut,
    part: str,
    given: e.Given,
    number: Decimal,
    doubt: Decimal,
) -> e.Outcome:
    run = making.run
    marker = run.markers[part]
    own = Value(run.n, part, step.id, detail.name, "", number, detail.unit, "", "", (), doubt)
    read = frozenset[str]()
    for formula in (detail.low, detail.high):
        read |= formula.reads if formula else frozenset()
    verdict = judge_value(detail, number, doubt, (own, *draw(marker, read - {detail.name})))
    asks: tuple[Question, ...] = ()
    if verdict.ruling not in ("", INSIDE):
        asks = (
            _ask_limit(
                run,
                marker,
                step,
                detail,
                number,
                verdict.ruling,
                off_limits(step, number, detail.unit, verdict),
            ),
        )
    return e.Outcome(
        value=given,
        verdict=verdict.ruling,
        low="" if verdict.low is None else quantity.plain(verdict.low),
        high="" if verdict.high is None else quantity.plain(verdict.high),
        asks=asks,
    )


def _ask_limit(
    run: Run,
    marker: Marker,
    step: Step,
    detail: Reading | WorkOut,
    number: Decimal,
    ruling: str,
    says: str,
) -> Question:
    doubtful = ruling == DOUBT
    index = f.act_index(run.course, marker, step.id)
    return question(
        run.n,
        0,
        marker,
        step,
        Ask.DOUBT if doubtful else Ask.OUTSIDE,
        says,
        limit_consequences(detail, doubtful=doubtful),
        index=index,
        about=_about(run, marker, index),
    )


def _about(run: Run, marker: Marker, index: int) -> str:
    return key_of(index, marker.passes[: len(run.route.within[index])])


def limit_consequences(detail: Reading | WorkOut, *, doubtful: bool) -> tuple[Consequence, ...]:
    """What may follow a value off its limits: measuring again and setting aside always."""
    if isinstance(detail, WorkOut):
        return detail.outside
    named = detail.doubt if doubtful and detail.doubt else detail.outside
    return (AGAIN, *named)


def _inspect(making: Making, step: Step, detail: Inspect, start: Start) -> e.Data | Refusal:
    name = making.command.finding
    finding = next((one for one in detail.findings if one.name == name), None)
    if finding is None:
        names = listed(tuple(one.name for one in detail.findings))
        return Refusal(f"Say what was found: {names}.")
    outcomes = {part: _found(making, step, finding, part) for part in start.parts}
    return _finish(making, step, start, outcomes)


def _found(making: Making, step: Step, finding: Finding, part: str) -> e.Outcome:
    run = making.run
    marker = run.markers[part]
    asks: tuple[Question, ...] = ()
    if not finding.plain:
        index = f.act_index(run.course, marker, step.id)
        asks = (
            question(
                run.n,
                0,
                marker,
                step,
                Ask.FINDING,
                f"Found: {finding.name}.",
                finding.consequences,
                index=index,
                about=_about(run, marker, index),
            ),
        )
    return e.Outcome(value=e.Given(word=finding.name), verdict=finding.name, asks=asks)


def _work_out(making: Making, step: Step, detail: WorkOut, start: Start) -> e.Data | Refusal:
    run = making.run
    outcomes: dict[str, e.Outcome] = {}
    inputs: dict[tuple[int, str, str], Value] = {}
    groups = [start.parts] if step.together else [(part,) for part in start.parts]
    for parts in groups:
        drawn = [v for part in parts for v in draw(run.markers[part], detail.formula.reads)]
        try:
            number = in_unit(detail.formula.value(knowns(drawn), detail.unit), detail.unit)
        except Missing as error:
            return Refusal(f"{listed(parts)}: it cannot be worked out, {error} is not known yet.")
        except FormulaError as error:
            return Refusal(f"{listed(parts)}: it cannot be worked out: {error.message}")
        if number is None:
            return Refusal(f"{detail.formula.text} does not come to a value in {detail.unit}.")
        inputs.update({v.id: v for v in drawn})
        given = e.Given(number=quantity.plain(number), unit=detail.unit)
        for part in parts:
            outcomes[part] = _judged(making, step, detail, part, given, number, Decimal(0))
    return _finish(making, step, start, outcomes, inputs=tuple(map(_as_input, inputs.values())))


def _as_input(value: Value) -> e.Input:
    number = None if value.number is None else quantity.plain(value.number)
    return e.Input(value.n, value.part, value.name, number, value.place, value.unit, value.word)


def decide_late(run: Run, command: c.FindLate, at: Moment) -> e.Data | Refusal:
    """Decide the question about parts whose window before a step has closed."""
    step = run.route.steps.get(command.step)
    if step is None:
        return Refusal(f"The procedure has no step {shown(command.step, 40)}.")
    found = may_start(run, step, command.parts, command.seen, at, "")
    if isinstance(found, Start):
        return Refusal("Its window is still open. Go on with the step.")
    return found


def decide_skip(run: Run, command: c.Skip, at: Moment) -> e.Data | Refusal:
    """Decide to leave out the step at which parts stand."""
    step = run.route.steps.get(command.step)
    if step is None:
        return Refusal(f"The procedure has no step {shown(command.step, 40)}.")
    refused = known_parts(run, command.parts, command.seen)
    if refused:
        return refused
    parts = in_order(run, command.parts)
    for part in parts:
        marker = run.markers[part]
        refused = may_begin(run, marker, step)
        if refused:
            return refused
        if marker.soak is not None:
            return Refusal(f"{part} is still in. Leave this step out after lifting.")
    if not command.reason.strip():
        return Refusal("Leaving a step out needs a reason.", Want.REASON)
    each = {}
    for part in parts:
        after = f.skipped(run.course, run.markers[part], step.id)
        on = onward(run, after, run.course.ops_of(step.id)[-1] + 1, at)
        if on.falls or on.asks:
            each[part] = e.Outcome(falls=on.falls, asks=on.asks)
    return e.Skipped(step.id, parts, command.reason.strip(), each)
