"""Times that cannot be kept: a window shorter than the dwells in it, a tending that never comes."""

import heapq
from collections.abc import Iterator, Mapping

from benchrun.procedure.layout import Layout
from benchrun.procedure.paths.bounds import Known, parameter_span
from benchrun.procedure.paths.span import End
from benchrun.procedure.phrases import in_time
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import Detour, Dwell, Guard, Step, StepOp, Tail
from benchrun.text import listed

NOTICE = "notice"


def add_time_faults(layout: Layout, known: Mapping[int, Known], problems: Problems) -> None:
    """Add windows that close before their step can be come to, and tendings that never fall due.

    Args:
        layout: The route.
        known: For each op that is reached, what may be known there.
        problems: Takes what is wrong.
    """
    for step in layout.steps.values():
        here = known.get(layout.index[step.id])
        if here is not None:
            _window(layout, step, known, problems)
            _tending(layout, step, here, problems)


def _window(layout: Layout, step: Step, known: Mapping[int, Known], problems: Problems) -> None:
    if step.window is None or step.window.most is None:
        return
    target = layout.index[step.id]
    most = parameter_span(step.window.most, known[target]).high
    ways = [
        way
        for source in step.window.after
        if source in layout.index
        for way in [_shortest(layout, _last(layout, source), target, known)]
        if way is not None
    ]
    if not ways:
        return
    least, dwells = min(ways, key=lambda way: way[0])
    if least > most:
        said = _time(least), _time(most)
        problems.error(
            (*layout.paths[step.id], "window", "most"),
            f"the window closes after {said[1]}, and {listed(dwells)} before this step takes at "
            f"least {said[0]}: allow more, or begin the window later",
        )


def _tending(layout: Layout, step: Step, known: Known, problems: Problems) -> None:
    detail = step.detail
    if not isinstance(detail, Dwell) or detail.tend_every is None or detail.most is None:
        return
    every = parameter_span(detail.tend_every, known).low
    most = parameter_span(detail.most, known).high
    if every > most:
        problems.error(
            (*layout.paths[step.id], "tend", "every"),
            f"every {_time(every)} is longer than most {_time(most)}: it would never be tended",
        )


def _time(seconds: End) -> str:
    return in_time(int(seconds * 1000))


def _last(layout: Layout, step: str) -> int:
    """The last op of a step."""
    return max(
        index
        for index, op in enumerate(layout.ops)
        if isinstance(op, StepOp) and op.step.id == step
    )


def _shortest(
    layout: Layout, source: int, target: int, known: Mapping[int, Known]
) -> tuple[End, list[str]] | None:
    """The least time that dwells take from the end of one step to another, and which they are."""
    waiting: list[tuple[End, int, list[str]]] = [(0, source + 1, [])]
    seen: set[int] = set()
    while waiting:
        time, index, dwells = heapq.heappop(waiting)
        if index == target:
            return time, dwells
        if index in seen:
            continue
        seen.add(index)
        op = layout.ops[index]
        if isinstance(op, StepOp):
            least = _least(op.step, known.get(index, {}))
            dwells = [*dwells, op.step.id] if least else dwells
            time = time + least
        for follower in _followers(op, index):
            if follower < len(layout.ops):
                heapq.heappush(waiting, (time, follower, dwells))
    return None


def _least(step: Step, known: Known) -> End:
    detail = step.detail
    if not isinstance(detail, Dwell) or detail.least is None or detail.least.key == (NOTICE,):
        return 0
    return max(parameter_span(detail.least, known).low, 0)


def _followers(op: object, index: int) -> Iterator[int]:
    yield index + 1
    if isinstance(op, Guard | Detour):
        yield op.past
    elif isinstance(op, Tail):
        yield op.head + 1
