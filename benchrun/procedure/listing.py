"""The route of a procedure in words, in the order in which a reader follows it."""

from collections.abc import Iterator

from benchrun.procedure.parameter import FitLimit
from benchrun.procedure.route import (
    Attended,
    Consequence,
    Detour,
    Dwell,
    End,
    Guard,
    Head,
    Hold,
    Inspect,
    Load,
    Op,
    Procedure,
    Reading,
    Step,
    StepOp,
    Tail,
    Window,
    Witness,
    WorkOut,
)


def route_listing(procedure: Procedure) -> str:
    """List a procedure's route: steps, guards, repeats, gather points, windows.

    Returns:
        Lines of text, indented by what they stand in.
    """
    lines = [f"{procedure.id}, revision {procedure.revision}: {procedure.title}"]
    lines += _header_lines(procedure)
    stage, depth, standing = "", 0, tuple[str, ...]()
    closing: dict[int, int] = {}
    loads = {load.first: load for load in procedure.route.loads.values()}
    for index, op in enumerate(procedure.route.ops):
        depth -= closing.pop(index, 0)
        if index in loads:
            lines.append(f"{'  ' * (depth + 1)}{_load_line(loads[index], procedure)}")
            depth += 1
            closing[loads[index].past] = closing.get(loads[index].past, 0) + 1
        if isinstance(op, Tail):
            depth -= 1
        if isinstance(op, StepOp):
            if op.step.stage != stage and depth == 0:
                stage = op.step.stage
                lines.append(f"{stage}")
            if op.place not in _first_places(op):
                continue
            if op.step.standing != standing:
                lines.extend(_standing_lines(standing, op.step.standing, depth + 1))
                standing = op.step.standing
        lines.extend(f"{'  ' * (depth + 1)}{line}" for line in _op_lines(op, procedure))
        if isinstance(op, Guard | Detour):
            depth += 1
            closing[op.past] = closing.get(op.past, 0) + 1
        elif isinstance(op, Head):
            depth += 1
    return "\n".join(lines) + "\n"


def _header_lines(procedure: Procedure) -> Iterator[str]:
    """The kinds of part with their values, and the figures that the procedure asks for."""
    for kind in procedure.route.kinds.values():
        values = (
            f"{name} {value if isinstance(value, str) else value.words}"
            for name, value in kind.values.items()
        )
        yield f"  kind {kind.id}: {', '.join((kind.title, *values))}"
    for figure in procedure.route.figures.values():
        whose = f"{figure.belongs} {figure.of}".strip()
        without = ", may lack" if figure.optional else ""
        yield f"  figure {figure.name}: {figure.ask} ({figure.unit}, of the {whose}{without})"


def _load_line(load: Load, procedure: Procedure) -> str:
    vessels = (procedure.route.vessels[name] for name in load.vessels)
    words = (
        one.title + (f", which holds {one.capacity}" if one.capacity is not None else "")
        for one in vessels
    )
    return f"{load.title}: has the {', or the '.join(words)}   [{load.key}]"


def _standing_lines(before: tuple[str, ...], now: tuple[str, ...], depth: int) -> list[str]:
    ended = [f"no longer: {caution}" for caution in before if caution not in now]
    begun = [f"from here on: {caution}" for caution in now if caution not in before]
    return [f"{'  ' * depth}{line}" for line in (*ended, *begun)]


def _first_places(op: StepOp) -> tuple[str, ...]:
    return op.step.detail.places[:1] if isinstance(op.step.detail, Reading) else ("",)


def _op_lines(op: Op, procedure: Procedure) -> list[str]:
    match op:
        case StepOp():
            return _step_lines(op.step, procedure)
        case Guard():
            return [f"if {op.condition.text}:   [{op.key}]"]
        case Detour():
            return [f"if {op.step} is late, at most {op.most} times:   [{op.key}]"]
        case Head():
            return [f"repeat {op.title}:   [{op.key}]"]
        case Tail():
            return [_again(op)]
        case End():
            return ["done"]


def _again(tail: Tail) -> str:
    least = f"at least {tail.least}"
    most = f", at most {tail.most}" if tail.most is not None else ""
    until = f", until {tail.until.text}" if tail.until is not None else ""
    if tail.until is None:
        return f"again, {tail.least} times in all   [{tail.key}]"
    return f"again, {least}{most}{until}   [{tail.key}]"


def _step_lines(step: Step, procedure: Procedure) -> list[str]:
    lines: list[str] = []
    if step.together:
        lines.append("all parts gather here")
    elif step.shared and not step.load:
        lines.append("one value for all parts that are here")
    lines.extend(f"{caution.signal}: {caution.hazard}" for caution in step.cautions)
    lines.append(f"{step.number} {step.kind}: {step.text}   [{step.id}]")
    notes = [*_detail_notes(step, procedure), *_window_notes(step.window)]
    notes += [
        f"{'gives back' if use.back else 'uses'} {use.amount.text} of {use.supply}"
        for use in step.uses
    ]
    notes += _order_notes(step)
    if step.set_up:
        notes.append("once a sitting, by the first load")
    if step.who:
        notes.append(f"by the {step.who}")
    if step.people > 1:
        notes.append(f"needs {step.people} people")
    if step.critical:
        notes.append("cannot be undone: its start is entered before it is done")
    lines.extend(f"    {note}" for note in notes)
    return lines


def _order_notes(step: Step) -> list[str]:
    """When a step may be done out of its turn."""
    notes: list[str] = []
    if step.before_out:
        notes.append(f"done while {step.ahead_of} runs, before it ends")
    elif step.ahead_of:
        notes.append(f"may be done while {step.ahead_of} runs")
    if step.left_out:
        notes.append("skipped where it is not done by then")
    if step.any_order:
        notes.append(f"in any order within {step.any_order}")
    return notes


def _detail_notes(step: Step, procedure: Procedure) -> list[str]:
    detail = step.detail
    match detail:
        case Witness():
            notice = detail.least.text if detail.least is not None else "no notice"
            return [f"somebody is told and waited for, {notice} at most"]
        case Dwell():
            return _dwell_notes(detail, procedure)
        case Reading():
            spots = [place for place in detail.places if place]
            where = [f"at {', '.join(spots)}"] if spots else []
            gauge = [f"with the {detail.instrument}"] if detail.instrument else []
            doubt = _ways("in doubt", detail.doubt)
            where += [f"counts {detail.pieces}, by number or by name"] if detail.pieces else []
            return [*where, *gauge, *_limit_notes(detail), *doubt]
        case WorkOut():
            return [f"{detail.name} = {detail.formula.text}", *_limit_notes(detail)]
        case Inspect():
            return [
                note
                for finding in detail.findings
                for note in _ways(finding.name, finding.consequences)
            ]
        case Hold():
            role = f"the {detail.role} signs" if detail.role else "anybody signs"
            other = ", not who did the work" if detail.other else ""
            later = f", or the same {detail.after_hours} h later" if detail.after_hours else ""
            waived = "; whoever signs may waive it, with a reason" if detail.waivable else ""
            return [f"{role}{other}{later}{waived}: {detail.says}"]
        case _:
            return []


def _dwell_notes(dwell: Dwell, procedure: Procedure) -> list[str]:
    notes: list[str] = []
    if dwell.vessel:
        vessel = procedure.route.vessels[dwell.vessel]
        holds = f", holds {vessel.capacity}" if vessel.capacity is not None else ""
        notes.append(f"in the {vessel.title}{holds}")
    if dwell.place:
        notes.append(f"away at {dwell.place}")
    for word, span in (("least", dwell.least), ("most", dwell.most), ("aim", dwell.aim)):
        if span is not None:
            notes.append(f"{word} {span.text}")
    if dwell.tend_every is not None:
        notes.append(f"every {dwell.tend_every.text}: {dwell.tend}")
    if dwell.attended is not Attended.NO:
        notes.append("attended" + (" to end it" if dwell.attended is Attended.TO_END else ""))
    return [*notes, *_ways("early", dwell.early), *_ways("late", dwell.late)]


def _limit_notes(detail: Reading | WorkOut) -> list[str]:
    ways = [*_ways("outside", detail.outside), *_ways("inside", detail.inside)]
    if isinstance(detail.low, FitLimit):
        return [f"fit {detail.low.text}", *ways]
    ways += ["is on the front of a record"] if detail.characteristic else []
    low = [f"from {detail.low.text}"] if detail.low is not None else []
    high = [f"up to {detail.high.text}"] if detail.high is not None else []
    return [*low, *high, *ways]


def _window_notes(window: Window | None) -> list[str]:
    if window is None:
        return []
    least = f", not sooner than {window.least.text}" if window.least is not None else ""
    most = f", not later than {window.most.text}" if window.most is not None else ""
    room = "" if window.room_counts else "; waiting for room does not count"
    return [f"after {' or '.join(window.after)}{least}{most}{room}", *_ways("late", window.late)]


def _ways(when: str, ways: tuple[Consequence, ...]) -> list[str]:
    return [f"{when}: {', or '.join(way.text for way in ways)}"] if ways else []
