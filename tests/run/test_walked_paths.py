"""The walk over paths held against random runs: where a part comes, the walk says it may come."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from random_routes import Author, Pick
from run_people import let_pass
from run_world import World
from test_properties import QUIET, reading

from benchrun.procedure.compile import Compiled, compile_shape
from benchrun.procedure.paths.span import Span, base_number
from benchrun.procedure.paths.walk import Walk
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import Guard
from benchrun.procedure.shapes import ProcedureShape
from benchrun.procedure.units import UnitValue
from benchrun.procedure.yamlread import read_yaml
from benchrun.run import entries as e
from benchrun.run.offers import Deed
from benchrun.run.state import Value

CHOICES = st.binary(min_size=20, max_size=160)
ACTS = st.binary(min_size=60, max_size=400)


def compiled(content: bytes) -> Compiled | None:
    """A procedure as the walk takes it, or None where the loader refuses it."""
    data = read_yaml(content)
    problems = Problems(data)
    found = compile_shape(ProcedureShape.model_validate(data), content, problems)
    return None if problems.errors else found


class WalkedRun:
    """A run carried out as it is written; at every entry the walk is held against it.

    Attributes:
        forks: How many falls of forks were compared, over all runs.
        values: How many values were.
    """

    forks = values = 0

    def __init__(self, found: Compiled, parts: int) -> None:
        self.route = found.procedure.route
        self.walk = Walk(found.layout, self.route.kinds)
        self.world = World(self.route, [1] * parts)
        self.forked = {op.key: i for i, op in enumerate(self.route.ops) if _falls(op)}
        self.read = 0

    def go_on(self, pick: Pick) -> None:
        """Take something that is ready, as the procedure has it."""
        ready = [offer for offer in self.world.offered() if offer.ready and offer.parts]
        ready = [o for o in ready if o.question is None or o.question.answers]
        ready = [o for o in ready if o.deed is not Deed.CLOSE]
        if ready and pick(6):
            offer = ready[pick(len(ready))]
            self.world.take(offer, offer.parts, pick)
        else:
            let_pass(self.world, pick)
        self.compare()

    def compare(self) -> None:
        """Every part stands where the walk came, with a value that it holds for possible."""
        for marker in self.world.run.each():
            assert marker.index in self.walk.known, (marker.index, marker.part)
            known, here = self.walk.known[marker.index], self.route.step_at(marker.index)
            for (name, _), value in marker.values.items():
                judged = here is None or here.step.id != value.step
                if name in known and judged:
                    WalkedRun.values += 1
                    assert _holds(known[name], value), (marker.index, name, value, known[name])
        for entry in self.world.entries[self.read :]:
            for outcome in getattr(entry.data, "each", {}).values():
                self._fallen(outcome)
        self.read = len(self.world.entries)

    def _fallen(self, outcome: e.Outcome) -> None:
        for fall in outcome.falls:
            key, _, way = fall.rpartition("=")
            if key in self.forked and way in ("true", "false"):
                WalkedRun.forks += 1
                assert (way == "true") in self.walk.truths[self.forked[key]], fall


def _falls(op: object) -> bool:
    return isinstance(op, Guard) and bool(op.condition.reads)


def _holds(domain: Span | frozenset[str], value: Value) -> bool:
    if isinstance(domain, frozenset):
        return value.word in domain
    return value.number is None or domain.holds(base_number(UnitValue(value.number, value.unit)))


def walk_along(choices: bytes, acts: bytes) -> None:
    """Carry a random procedure out and compare."""
    found = compiled(Author(reading(choices)).procedure())
    assume(found is not None)
    pick = reading(acts)
    run = WalkedRun(found, 1 + pick(3))
    for _ in range(10 + pick(30)):
        run.go_on(pick)


def test_a_random_run_goes_only_where_the_walk_may_come() -> None:
    WalkedRun.forks = WalkedRun.values = rounds = 0
    check = settings(max_examples=150, deadline=None, suppress_health_check=QUIET)
    # How many forks and values come up in a round is chance.
    while (WalkedRun.forks <= 20 or WalkedRun.values <= 300) and rounds < 8:
        check(given(CHOICES, ACTS)(walk_along))()
        rounds += 1
    print(f"{WalkedRun.forks} forks and {WalkedRun.values} values compared")
    assert WalkedRun.forks > 20
    assert WalkedRun.values > 300


@pytest.mark.long
@pytest.mark.timeout(0)
def test_many_random_runs_go_only_where_the_walk_may_come() -> None:
    check = settings(max_examples=10_000, deadline=None, suppress_health_check=QUIET, database=None)
    check(given(CHOICES, ACTS)(walk_along))()
