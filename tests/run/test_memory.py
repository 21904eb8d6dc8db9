"""Things worked out of a run are kept while the run is there, and no longer."""

import gc
import weakref

from benchrun.moment import Moment
from benchrun.procedure.route import End, Route
from benchrun.run.course import Course
from benchrun.run.memory import remembered
from benchrun.run.state import Run

NOW = Moment(1_770_000_000_000, 60_000, "b", True)


class Result:
    """Something that can be watched."""


def test_it_is_worked_out_once_for_a_run_and_a_moment_and_goes_with_the_run():
    made = []

    @remembered
    def work_out(run, at):
        made.append(at)
        return Result()

    run = Run(Course(Route((End(),), ((),), {}, {}, {})))
    first = weakref.ref(work_out(run, NOW))
    assert work_out(run, NOW) is first()
    assert made == [NOW]
    other = Run(run.course)
    kept = weakref.ref(work_out(other, NOW))
    del run
    gc.collect()
    assert first() is None
    assert kept() is not None
    assert len(made) == 2
