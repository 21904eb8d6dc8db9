"""Lengths of time as values: how long a dwell took, how long it is since a step.

Each is a pair, the time that is proven and the time that is possible, as an entry tells elapsed
time. A sum over them is done with either; where the results differ its own doubt tells so.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.moment import Elapsed, Mark, Moment
from benchrun.procedure.formula import Known, Missing
from benchrun.procedure.grammar import SINCE, SPENT, timed_step
from benchrun.procedure.route import WorkOut
from benchrun.run.course import Course
from benchrun.run.drafts import MarkerDraft
from benchrun.run.state import EndMark, Run, Value
from benchrun.run.verdict import in_unit, knowns
from benchrun.text import span

PROVEN: Final = "proven"
POSSIBLE: Final = "possible"
_SECOND: Final = 1000


def note_spent(run: Run, draft: MarkerDraft, step: str, n: int, index: int, spent: Elapsed) -> None:
    """Write how long a dwell took, where a sum reads it.

    Args:
        run: The run.
        draft: The part as it came out.
        step: The dwell.
        n: The entry that ended it.
        index: The op of the dwell.
        spent: How long it took.
    """
    name = f"{SPENT}{step.replace('-', '_')}"
    if name not in run.course.timed:
        return
    depth = len(run.route.within[index])
    where = run.course.order(index, draft.passes[:depth])
    kept = {key: value for key, value in draft.values.items() if key[0] != name}
    kept |= {value.key: value for value in _pair(n, draft.part, step, name, where, spent)}
    draft.values = kept


def _pair(
    n: int, part: str, step: str, name: str, where: tuple[int, ...], spent: Elapsed
) -> Iterable[Value]:
    for place, ms in ((PROVEN, spent.proven_ms), (POSSIBLE, spent.possible_ms)):
        if ms is not None:
            number = Decimal(ms) / _SECOND
            yield Value(n, part, step, name, f"{name}, {place}", number, "s", "", "", where)


def note_end(
    course: Course, draft: MarkerDraft, step: str, mark: Mark, ago: int, index: int
) -> None:
    """Keep the moment at which a step ended, where a sum asks how long ago that is."""
    if f"{SINCE}{step.replace('-', '_')}" in course.timed:
        where = course.order(index, draft.passes[: len(course.route.within[index])])
        draft.ended = {**draft.ended, step: EndMark(mark, ago, where)}


def since_values(run: Run, part: str, names: frozenset[str], at: Moment) -> Iterable[Value]:
    """How long it is, for a part, since each step that a sum asks about.

    Args:
        run: The run.
        part: The part.
        names: The names that the sum reads.
        at: Now.
    """
    for name in sorted(names):
        step = run.course.timed.get(name, "")
        end = run.markers[part].ended.get(step)
        if name.startswith(SINCE) and end is not None:
            spent = run.timeline.elapsed(end.mark, at)
            possible = None if spent.possible_ms is None else spent.possible_ms + end.ago_ms
            yield from _pair(run.n, part, step, name, (), Elapsed(spent.proven_ms, possible))


def worked_out(detail: WorkOut, values: Iterable[Value]) -> tuple[Decimal | None, Decimal]:
    """The result of a sum in its unit, and its doubt where it rests on times that are not certain.

    Raises:
        Missing: A value that it rests on is not known, or nobody knows how long something took.
        FormulaError: The sum cannot be done.
    """
    known = tuple(values)
    if not any(timed_step(name) for name in detail.formula.reads):
        return in_unit(detail.formula.value(knowns(known), detail.unit), detail.unit), Decimal(0)
    results = [
        in_unit(detail.formula.value(_at_bound(known, bound), detail.unit), detail.unit)
        for bound in (PROVEN, POSSIBLE)
    ]
    least, most = results
    if least is None or most is None:
        return None, Decimal(0)
    return (least + most) / 2, abs(most - least) / 2


def _at_bound(values: tuple[Value, ...], bound: str) -> Mapping[str, Known]:
    """Values for a formula, with one end of each length of time."""
    proven = {(v.name, v.part) for v in values if v.place.endswith(PROVEN) and timed_step(v.name)}
    possible = {(v.name, v.part) for v in values if v.place.endswith(POSSIBLE)}
    unsure = {name for name, part in proven - possible}
    if unsure:
        raise Missing(frozenset(unsure))
    taken = (
        replace(v, place="") if timed_step(v.name) else v
        for v in values
        if not timed_step(v.name) or v.place.endswith(bound)
    )
    return knowns(taken)


def duration_words(numbers: Iterable[str]) -> str:
    """Lengths of time in seconds as words: `1 h 5 min`, or from the least to the most."""
    seconds = sorted({Decimal(number) for number in numbers})
    ends = [span(int(one * _SECOND)) for one in (seconds[0], seconds[-1])]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def plain_doubt(doubt: Decimal) -> str:
    """The doubt of a value as an entry keeps it."""
    return quantity.plain(doubt) if doubt else ""
