"""Walking on after an act: evaluate the forks on the way, record how they fell, ask if unknown."""

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Detour, Guard, StepOp, Tail
from benchrun.run.clocks import window
from benchrun.run.course import Fork
from benchrun.run.effects import FIRST
from benchrun.run.questions import detour_spent, fork_question, window_question
from benchrun.run.state import Marker, Question, Run
from benchrun.run.verdict import LATE, draw, judge_fork


@lean_dataclass(frozen=True, slots=True)
class Onward:
    """How the forks fell, and the question that stopped the walk, if one did."""

    falls: tuple[str, ...]
    asks: tuple[Question, ...] = ()


def onward(
    run: Run, marker: Marker, index: int, at: Moment, *, count: int = 0, first: str = ""
) -> Onward:
    """Walk a part on from an op.

    Args:
        run: The run; its `n` is the entry that is being made.
        marker: The part as the act left it.
        index: The op to begin with.
        at: Now; it decides whether a late detour is taken.
        count: How many questions the entry has raised for the part already.
        first: Which way the first fork falls, when a person has said so.
    """
    falls: list[str] = []
    asks: list[Question] = []
    given = [first] if first else []

    def choose(op: Fork, here: int, passes: tuple[int, ...]) -> str | None:
        way = given.pop() if given else _way(run, marker, op, here, passes, at)
        if way is None or way == "ask":
            asks.append(_ask(run, marker, op, here, passes, at, count))
            return None
        falls.append(f"{op.key}={way}")
        return way

    run.course.walk((index, marker.passes), marker.left, marker.ahead, choose)
    return Onward(tuple(falls), tuple(asks))


def _way(
    run: Run, marker: Marker, op: Fork, index: int, passes: tuple[int, ...], at: Moment
) -> str | None:
    if isinstance(op, Detour):
        state = window(run, marker, run.route.steps[op.step], at)
        if state is None or detour_spent(marker, op) or state.too_soon or not state.late:
            return "over"
        return FIRST if state.ruling == LATE else None
    formula = op.condition if isinstance(op, Guard) else op.until
    if formula is None:
        return judge_fork(op, passes, ())
    return judge_fork(op, passes, draw(marker, formula.reads, passes))


def _ask(
    run: Run, marker: Marker, op: Fork, index: int, passes: tuple[int, ...], at: Moment, count: int
) -> Question:
    if isinstance(op, (Guard, Tail)):
        return fork_question(run, count, passes, op, index, nearest_step(run, index))
    step = run.route.steps[op.step]
    state = window(run, marker, step, at)
    if state is None:
        raise AssertionError("a detour asks only about a running window")
    return window_question(run, marker, step, state, index=index, fork=True, count=count)


def nearest_step(run: Run, index: int) -> str:
    """The step that a fork is told to be at: the next one on the course, or the last."""
    ops = run.route.ops
    for op in (*ops[index:], *reversed(ops[:index])):
        if isinstance(op, StepOp):
            return op.step.id
    raise AssertionError("a route has steps")
