"""What the tests of traps ask of a shipped procedure."""

from shipped import procedure

from benchrun.procedure.parameter import Parameter
from benchrun.procedure.route import Act, Dwell, Inspect, Tail

MIN, H, D = 60_000, 3_600_000, 86_400_000


def ms(given: Parameter | None) -> int | None:
    """A length of time that depends on nothing, in milliseconds."""
    return None if given is None else given.milliseconds({})


def dwell(name: str, step: str) -> Dwell:
    detail = procedure(name).route.steps[step].detail
    assert isinstance(detail, Dwell)
    return detail


def ways(name: str, step: str, finding: str) -> list[Act]:
    detail = procedure(name).route.steps[step].detail
    assert isinstance(detail, Inspect)
    found = next(one for one in detail.findings if one.name == finding)
    return [way.act for way in found.consequences]


def most_after(name: str, step: str) -> tuple[tuple[str, ...], int | None]:
    window = procedure(name).route.steps[step].window
    assert window is not None
    return window.after, ms(window.most)


def tails(name: str) -> dict[str, Tail]:
    return {op.key: op for op in procedure(name).route.ops if isinstance(op, Tail)}


def guarded(name: str, step: str, words: str) -> bool:
    """Whether a warning about something stands before a step."""
    cautions = procedure(name).route.steps[step].cautions
    return any(words in one.hazard.lower() for one in cautions)
