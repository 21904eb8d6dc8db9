"""Values as entries write and correct them: what a part keeps, and what it was worked out from."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from benchrun.procedure.grammar import pass_name
from benchrun.procedure.route import Inspect, Reading, WorkOut
from benchrun.run import entries as e
from benchrun.run import marker_moves
from benchrun.run.drafts import MarkerDraft, marker_draft
from benchrun.run.state import Decision, Marker, Run, Value
from benchrun.run.verdict import draw, reads_of

Revisions = Mapping[tuple[int, str, str], e.Revision]


class Unfit(ValueError):
    """An entry that does not fit the run it is folded into."""


def write_given(
    run: Run,
    draft: MarkerDraft,
    index: int,
    entry: e.Entry,
    data: e.Did,
    outcome: e.Outcome,
    given: e.Given,
) -> None:
    """Write the value that an entry gives, and keep how it was ruled on.

    Raises:
        Unfit: The step takes no value.
    """
    step = run.route.steps[data.step]
    detail = step.detail
    if not isinstance(detail, (Reading, Inspect, WorkOut)):
        raise Unfit(f"{data.step} takes no value")
    passes = draft.passes[: len(run.route.within[index])]
    op = run.route.step_at(index)
    place = op.place if op is not None else ""
    whose = ("", draft.part)
    own = [value for value in data.inputs if step.gathers or value.part in whose]
    inputs = tuple([_input(run, draft, value) for value in own])
    value = Value(
        n=entry.n,
        part=draft.part,
        step=step.id,
        name=detail.name,
        place=place,
        number=None if given.number is None else Decimal(given.number),
        unit=given.unit,
        word=given.word,
        typed=given.typed,
        where=run.course.order(index, passes),
        doubt=Decimal(given.doubt or 0),
        inputs=inputs,
    )
    marker_moves.write_value(draft, value)
    read = _limits_read(detail)
    if not outcome.verdict and not read:
        return
    pending = bool(outcome.asks) and any(q.gate and q.index == index for q in outcome.asks)
    sort = "finding" if isinstance(detail, Inspect) else "limit"
    acted = "" if pending else outcome.verdict
    rests_on = (value, *draw(draft, read))
    marker_moves.keep_decision(
        draft, Decision(index, passes, sort, outcome.verdict, acted, rests_on)
    )


def take_over(run: Run, draft: MarkerDraft, index: int, n: int, data: e.Did) -> None:
    """Write what another run, which carried a procedure out, found of the part."""
    step = run.route.steps[data.step]
    there = data.carried.parts.get(draft.part) if data.carried is not None else None
    where = run.course.order(index, draft.passes[: len(run.route.within[index])])
    for name, (there_name, _) in zip(step.taken_names, step.carries_values, strict=True):
        given = there.values.get(there_name) if there is not None else None
        if given is None:
            marker_moves.forget_value(draft, name, "")
            continue
        number = None if given.number is None else Decimal(given.number)
        doubt = Decimal(given.doubt or 0)
        marker_moves.write_value(
            draft,
            Value(
                n, draft.part, step.id, name, "", number, given.unit, given.word, "", where, doubt
            ),
        )


def _limits_read(detail: Reading | Inspect | WorkOut) -> frozenset[str]:
    """The names that the limits of a value read, beside the value itself."""
    if isinstance(detail, Inspect):
        return frozenset()
    return reads_of(detail.low, detail.high) - {detail.name}


def _input(run: Run, marker: Marker, written: e.Input) -> Value:
    name = pass_name(written.name)[1]
    key = (name, written.place)
    # Of another part only what the entry says of it: what a part keeps rests on its own entries.
    own = written.part in ("", marker.part)
    known = (*marker.earlier.get(key, ()), *filter(None, (marker.values.get(key),))) if own else ()
    kept = next((value for value in known if value.n == written.n), None)
    if kept is not None:
        return kept if name == written.name else replace(kept, name=written.name)
    number = None if written.number is None else Decimal(written.number)
    step = run.course.writers.get(name, "")
    return Value(
        written.n,
        written.part,
        step,
        written.name,
        written.place,
        number,
        written.unit,
        written.word,
        "",
        (),
    )


def revised(marker: Marker, table: Revisions) -> MarkerDraft:
    """A draft of a marker with values replaced wherever they are kept, in decisions and clocks."""
    draft = marker_draft(marker)
    soak = marker.soak
    draft.values = {k: revise(v, table) for k, v in marker.values.items()}
    draft.earlier = {k: tuple(revise(v, table) for v in vs) for k, vs in marker.earlier.items()}
    draft.decisions = {
        k: replace(d, inputs=tuple(revise(v, table) for v in d.inputs))
        for k, d in marker.decisions.items()
    }
    draft.soak = soak and replace(soak, inputs=tuple(revise(v, table) for v in soak.inputs))
    return draft


def revise(value: Value, table: Revisions) -> Value:
    """One value, replaced if the table names it, with its inputs likewise."""
    change = table.get(value.id)
    inputs = tuple(revise(used, table) for used in value.inputs)
    if change is None:
        return value if inputs == value.inputs else replace(value, inputs=inputs)
    number = value.number if change.number is None else Decimal(change.number)
    doubt = value.doubt if change.doubt is None else Decimal(change.doubt)
    return replace(value, number=number, word=change.word, doubt=doubt, inputs=inputs)
