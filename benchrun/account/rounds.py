"""Walks through a log for what was done round after round: coats, passes, strokes."""

from collections.abc import Iterator, Mapping

from benchrun.account.act_facts import RepeatFacts
from benchrun.account.walker import Takers
from benchrun.procedure.route import Detour, Guard, Head, Kind, Procedure, Step, Tail
from benchrun.run import entries as e


class RoundWalk:
    """Counts, for each repeat, the step that makes a round of it: its last unconditional act."""

    def __init__(self, procedure: Procedure) -> None:
        self._made: dict[str, dict[str, list[tuple[int, str, str]]]] = {}
        self._counted = {step.id: (title, step) for title, step in _counted(procedure)}

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Did: self._done,
            e.CameOut: self._done,
            e.Retracted: self._taken_back,
        }

    def _done(self, entry: e.Entry, data: e.Did | e.CameOut) -> None:
        if data.step in self._counted:
            for part in data.parts:
                rows = self._made.setdefault(data.step, {}).setdefault(part, [])
                rows.append((entry.n, entry.at.utc, entry.by))

    def _taken_back(self, _: e.Entry, data: e.Retracted) -> None:
        for parts in self._made.values():
            for part in data.parts:
                parts[part] = [row for row in parts.get(part, []) if row[0] != data.of]

    def facts(self) -> Iterator[RepeatFacts]:
        """Each repeat with the parts that went through it alike."""
        for step_id, (title, step) in self._counted.items():
            yield from _groups(title, step, self._made.get(step_id, {}))


def _groups(
    title: str, step: Step, passes: Mapping[str, list[tuple[int, str, str]]]
) -> Iterator[RepeatFacts]:
    alike: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for part, rows in passes.items():
        if rows:
            alike.setdefault(tuple((utc, by) for _, utc, by in rows), []).append(part)
    for rounds, parts in alike.items():
        yield RepeatFacts(title, step.number, step.text, tuple(parts), rounds)


def _counted(procedure: Procedure) -> Iterator[tuple[str, Step]]:
    ops = procedure.route.ops
    for start, head in enumerate(ops):
        if not isinstance(head, Head):
            continue
        end = next(i for i, op in enumerate(ops) if isinstance(op, Tail) and op.key == head.key)
        inside = list(_unconditional(procedure, start, end))
        acts = [step for step in inside if step.kind is Kind.DO] or inside
        if acts:
            yield head.title, acts[-1]


def _unconditional(procedure: Procedure, start: int, end: int) -> Iterator[Step]:
    """The steps of a repeat that every round takes: none behind a guard, none of a detour."""
    at = start + 1
    while at < end:
        op = procedure.route.ops[at]
        if isinstance(op, (Guard, Detour)):
            at = op.past
            continue
        step = procedure.route.step_at(at)
        if step is not None:
            yield step.step
        at += 1
