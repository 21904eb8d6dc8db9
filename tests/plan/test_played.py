"""Whoever keeps to the plan misses fewer windows, and is done when the plan said."""

import random
from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st
from played import ETCH, PAINT, PRESS, World, courses, play_next_step

from benchrun.plan.evening import plan_evening
from benchrun.plan.score import faults


def test_keeping_to_the_plan_misses_at_most_half_the_windows_of_always_taking_the_next_step():
    count = 6
    by_plan, by_next, parts, lasts = courses(count, ((ETCH, 3), (PAINT, 2), (PRESS, 1)))
    assert by_next >= count
    assert by_plan <= by_next / 2
    assert parts >= 0.8 * 6 * count
    assert lasts >= 0.8 * count


class Stopped(Exception):
    """A course that was gone far enough."""


class Watched(World):
    """A shop that is looked at after so many waits."""

    def __init__(self, luck, batches, waits):
        super().__init__(luck, batches)
        self.left = waits

    def wait(self, minutes):
        super().wait(minutes)
        self.left -= 1
        if not self.left:
            raise Stopped


@given(
    st.integers(0, 2**32),
    st.integers(1, 40),
    st.tuples(st.integers(1, 4), st.integers(1, 3), st.integers(1, 2)),
)
@settings(max_examples=25)
def test_in_the_middle_of_any_course_the_plan_has_no_fault_and_is_the_same_again(
    seed, waits, counts
):
    texts = (ETCH, PAINT, PRESS)
    world = Watched(random.Random(seed), tuple(zip(texts, counts, strict=True)), waits)
    with suppress(Stopped):
        play_next_step(world)
    evening = plan_evening(world.ahead(), world.now, rounds=2, ranges=False)
    assert faults(evening.workload, evening.plan) == []
    again = plan_evening(world.ahead(), world.now, rounds=2, ranges=False)
    assert again.plan == evening.plan
    told = set(evening.plan.starts) | set(evening.plan.unplaced)
    assert told == {train.id for train in evening.workload.trains}
