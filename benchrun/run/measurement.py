"""Deciding acts that write a value: a reading, an inspection, a worked-out value."""

from decimal import Decimal, InvalidOperation

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.route import Act, Consequence, Finding, Inspect, Reading, Step, WorkOut
from benchrun.quantity import Measure
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.commands import Refusal, Want
from benchrun.run.course import position_key
from benchrun.run.durations import plain_doubt, since_values, worked_out
from benchrun.run.entry_builder import Making, Start, draft_of, finish
from benchrun.run.questions import off_limits, question
from benchrun.run.state import Ask, Marker, Question, Run, Value, altered
from benchrun.run.verdict import (
    as_input,
    draw,
    drawn_of,
    judge_value,
    origins,
    reads_of,
)
from benchrun.shopmath.accepting import DOUBT, INSIDE, OUTSIDE
from benchrun.text import listed, shown

AGAIN = Consequence(Act.AGAIN)


def decide_reading(making: Making, step: Step, detail: Reading, start: Start) -> e.Data | Refusal:
    """Decide a reading: of one part, or of all that take part where they share its value."""
    if len(start.parts) > 1 and not step.shared:
        return Refusal("A reading belongs to one part. Choose one part.")
    try:
        measure = read_of(detail, making.command.typed)
        number = quantity.convert(measure.value, measure.unit, detail.unit)
        doubt = doubt_of(making.command.tool)
    except BenchrunError as error:
        return Refusal(error.message)
    unfit = unfit_tool(making.command.tool)
    if unfit and not making.command.reason.strip():
        return Refusal(unfit, Want.REASON)
    given = e.Given(
        typed=measure.text,
        number=quantity.plain(number),
        unit=detail.unit,
        doubt=quantity.plain(doubt) if doubt else "",
    )
    outcomes = {
        part: _judged(making, step, detail, part, given, number, doubt) for part in start.parts
    }
    first = making.run.markers[start.parts[0]]
    op = making.run.route.step_at(f.act_index(making.run.course, first, step.id))
    draft = altered(draft_of(making, step, start), place=op.place if op else "")
    return finish(making, start, draft, outcomes)


def read_of(detail: Reading, typed: str) -> Measure:
    """A reading as it is typed; of pieces their number, or those meant: `2, 5` or `#3`.

    Raises:
        BenchrunError: It is none.
    """
    names = [name.strip() for name in typed.split(",")]
    if not detail.pieces or (len(names) < 2 and not typed.strip().startswith("#")):
        return quantity.read(typed, detail.unit)
    if "" in names or len(set(names)) < len(names):
        raise BenchrunError(
            f"{shown(typed, 40)!r}: name each of {detail.pieces} once, with commas between: 2, 5"
        )
    return Measure(typed.strip(), Decimal(len(names)), "")


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
    read = reads_of(detail.low, detail.high)
    known = (own, *draw(marker, read - {detail.name}))
    verdict = judge_value(detail, number, doubt, known)
    asks: tuple[Question, ...] = ()
    consequences = limit_consequences(detail, verdict.ruling)
    if any(consequence.act is not Act.GO_ON for consequence in consequences) or verdict.ruling in (
        OUTSIDE,
        DOUBT,
    ):
        index = f.act_index(run.course, marker, step.id)
        asks = (
            question(
                run,
                0,
                marker,
                step,
                Ask(verdict.ruling),
                off_limits(number, detail.unit, doubt, verdict),
                consequences,
                index=index,
                about=_about(run, marker, index),
            ),
        )
    return e.Outcome(
        value=given,
        verdict=verdict.ruling,
        low="" if verdict.low is None else quantity.plain(verdict.low),
        high="" if verdict.high is None else quantity.plain(verdict.high),
        asks=asks,
        origins=origins(run, {"low": detail.low, "high": detail.high}, known),
    )


def _about(run: Run, marker: Marker, index: int) -> str:
    return position_key(index, marker.passes[: len(run.route.within[index])])


def unfit_tool(tool: e.Tool | None) -> str:
    """Why a reading with an instrument needs a reason; empty when it needs none."""
    if tool is None or not tool.misgivings:
        return ""
    why = "; it ".join(tool.misgivings)
    return f"{tool.name} {why}. Use another, or give a reason to use it anyway."


def doubt_of(tool: e.Tool | None) -> Decimal:
    """The expanded uncertainty of an instrument, in the unit of the reading; 0 if none is known.

    Raises:
        BenchrunError: It is no number, or less than nothing.
    """
    uncertainty = tool.uncertainty if tool else ""
    try:
        doubt = Decimal(uncertainty or 0)
    except InvalidOperation:
        doubt = Decimal("NaN")
    if not doubt.is_finite() or doubt < 0:
        raise BenchrunError(f"The uncertainty {shown(uncertainty, 40)!r} is no number from 0 up.")
    return doubt


def limit_consequences(detail: Reading | WorkOut, ruling: str) -> tuple[Consequence, ...]:
    """The consequences of how a value was ruled on; off its limits measuring again is one always.

    Args:
        detail: The reading or worked-out value.
        ruling: inside, outside or in doubt; empty where it has no limits.
    """
    if ruling not in (OUTSIDE, DOUBT):
        return detail.inside if ruling == INSIDE else ()
    if isinstance(detail, WorkOut):
        return detail.outside
    named = detail.doubt if ruling == DOUBT and detail.doubt else detail.outside
    # A procedure may say how often; it is then not offered without end beside that.
    return named if any(consequence.act is Act.AGAIN for consequence in named) else (AGAIN, *named)


def decide_inspect(making: Making, step: Step, detail: Inspect, start: Start) -> e.Data | Refusal:
    """Decide an inspection: one finding for all parts named."""
    name = making.command.finding
    finding = next((finding for finding in detail.findings if finding.name == name), None)
    if finding is None:
        names = listed(tuple(finding.name for finding in detail.findings))
        return Refusal(f"Say what was found: {names}.")
    outcomes = {part: _found(making, step, finding, part) for part in start.parts}
    return finish(making, start, draft_of(making, step, start), outcomes)


def _found(making: Making, step: Step, finding: Finding, part: str) -> e.Outcome:
    run = making.run
    marker = run.markers[part]
    asks: tuple[Question, ...] = ()
    if not finding.plain:
        index = f.act_index(run.course, marker, step.id)
        asks = (
            question(
                run,
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


def decide_work_out(making: Making, step: Step, detail: WorkOut, start: Start) -> e.Data | Refusal:
    """Decide a worked-out value: for each part by itself, or of all parts where done together."""
    run = making.run
    outcomes: dict[str, e.Outcome] = {}
    inputs: dict[tuple[int, str, str], Value] = {}
    groups = [start.parts] if step.gathers else [(part,) for part in start.parts]
    for parts in groups:
        drawn = drawn_of(run, step, parts, detail.formula.reads)
        drawn += [
            v for part in parts for v in since_values(run, part, detail.formula.reads, making.at)
        ]
        try:
            number, doubt = worked_out(detail, drawn)
        except Missing as error:
            return Refusal(
                f"{part_names(parts)}: it cannot be worked out, {error} is not known yet. Send it "
                "back to read it, or skip with a reason."
            )
        except FormulaError as error:
            return Refusal(
                f"{part_names(parts)}: it cannot be worked out: {error.message}. Correct a "
                "reading, or skip this step with a reason."
            )
        if number is None:
            return Refusal(
                f"{detail.formula.text} does not come to a value in {detail.unit}. Skip this "
                "step with a reason."
            )
        inputs.update({v.id: v for v in drawn})
        given = e.Given(number=quantity.plain(number), unit=detail.unit, doubt=plain_doubt(doubt))
        for part in parts:
            outcomes[part] = _judged(making, step, detail, part, given, number, doubt)
    rests_on = tuple(map(as_input, inputs.values()))
    return finish(making, start, altered(draft_of(making, step, start), inputs=rests_on), outcomes)
