"""The properties of a run, as state machines over random procedures and random people."""

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, assume, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from random_routes import Pick, random_route
from run_people import PEOPLE_DO, Deeds
from run_world import World

CHOICES = st.integers(0, 2**40 - 1)
QUIET = (HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large)


def picking(number: int) -> Pick:
    """Choices drawn from one number, the least of each first."""
    rest = [number]

    def pick(below: int) -> int:
        rest[0], chosen = divmod(rest[0], below)
        return chosen

    return pick


def reading(choices: bytes) -> Pick:
    """Choices drawn from bytes; none of them left means the least."""
    rest = iter(choices)
    return lambda below: next(rest, 0) % below


class RandomRun(RuleBasedStateMachine):
    """A random procedure carried out by random people; every entry is checked (`run_checks`)."""

    world: World

    @initialize(choices=st.binary(min_size=20, max_size=160), sizes=st.integers(0, 2**12 - 1))
    def begin(self, choices: bytes, sizes: int) -> None:
        pick = picking(sizes)
        parts = [1 + pick(2) for _ in range(1 + pick(4))]
        route = random_route(reading(choices))
        assume(route is not None)
        self.world = World(route, parts)

    @invariant()
    def every_part_is_offered_something(self) -> None:
        self.world.offered()

    @invariant()
    def the_true_time_lies_between_proven_and_possible(self) -> None:
        self.world.true_elapsed()

    def teardown(self) -> None:
        if hasattr(self, "world"):
            self.world.close()


def _rule_of(deeds: Deeds) -> Callable[..., None]:
    def act(self: RandomRun, choices: int) -> None:
        deeds(self.world, picking(choices))

    return act


for name, (weight, deeds) in PEOPLE_DO.items():
    for count in range(min(weight, 3)):
        slug = f"{name.replace(' ', '_')}_{count}"
        act = _rule_of(deeds)
        act.__name__ = act.__qualname__ = slug
        setattr(RandomRun, slug, rule(choices=CHOICES)(act))


def test_random_runs_keep_every_property() -> None:
    short = settings(max_examples=400, stateful_step_count=30, suppress_health_check=QUIET)
    run_state_machine_as_test(RandomRun, settings=short)


@pytest.mark.long
@pytest.mark.timeout(0)
def test_fifty_thousand_random_runs_keep_every_property() -> None:
    long = settings(
        max_examples=2_000, stateful_step_count=30, suppress_health_check=QUIET, database=None
    )
    begun = World.begun
    for done in range(1, 26):  # what is tried is remembered to be tried only once: not for ever
        run_state_machine_as_test(RandomRun, settings=long)
        print(f"{done * 2_000} examples, {World.begun - begun} runs", flush=True)
    assert World.begun - begun >= 50_000
