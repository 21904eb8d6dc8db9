"""Parts steered to the limits which chance does not come to, one value bettered at a time."""

import random
from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal

from value_walk import Choice, Decided, Ended, Limit, Walk

from benchrun.procedure.parameter import FindingTable
from benchrun.procedure.route import Procedure, Reading, WorkOut

_STEPS = [Decimal(text) for text in ("0.001", "0.01", "0.1", "0.5", "1", "2", "5", "20", "100")]
_PATIENCE, _TRIES = 40, 300
_GRAIN = Decimal("0.001")


def limits_of(procedure: Procedure) -> set[Limit]:
    """Every limit: the step, the side, and each row of a table by a finding that gives it."""
    found: set[Limit] = set()
    for step in procedure.route.steps.values():
        if not isinstance(step.detail, Reading | WorkOut):
            continue
        for side, given in (("low", step.detail.low), ("high", step.detail.high)):
            if given is not None:
                rows = [*given.rows] if isinstance(given, FindingTable) else [""]
                found |= {(step.id, side, row) for row in rows}
    return found


def rests_on(procedure: Procedure, names: frozenset[str]) -> set[str]:
    """All names that these rest on, through sums; they themselves among them."""
    sums = {
        step.detail.name: step.detail.formula.reads
        for step in procedure.route.steps.values()
        if isinstance(step.detail, WorkOut)
    }
    found: set[str] = set()
    more = [*names]
    while more:
        one = more.pop().rpartition(" ")[2]
        if one not in found:
            found.add(one)
            more += sums.get(one, ())
    return found


def steered(procedure: Procedure, number: int, tries: int) -> Iterator[Walk]:
    """All tries of one part: a value that its end rests on is changed, and kept if it helps."""
    best = Walk(procedure, random.Random(f"{procedure.id} steered {number}"))
    best.go()
    yield best
    for again in range(tries):
        if best.ended is None:
            return
        chance = random.Random(f"{procedure.id} steered {number} {again}")
        other = Walk(procedure, chance, decided=_changed(best, best.ended, chance))
        other.go()
        yield other
        if _good(other) >= _good(best):
            best = other


def all_steered(procedure: Procedure, wanted: set[Limit]) -> Iterator[Walk]:
    """Tries of part after part until every limit that is wanted was looked at, or patience ends."""
    tried: set[Limit] = set()
    for number in range(_PATIENCE):
        for walk in steered(procedure, number, _TRIES):
            yield walk
            tried |= walk.tried
            if wanted <= tried:
                return


def _good(walk: Walk) -> tuple[bool, int, Decimal]:
    far = Decimal(0) if walk.ended is None else -walk.ended.far
    return walk.ended is None, walk.furthest, far


def _changed(walk: Walk, ended: Ended, chance: random.Random) -> dict[Decided, Choice]:
    """The choices of a part, with one of those that its end rests on made otherwise."""
    names = rests_on(walk.procedure, ended.names)
    decided = {key: walk.decided[key] for key in walk.writes}
    open_to = [key for key, name in walk.writes.items() if name in names]
    if not open_to:
        return {}
    one = chance.choice(open_to)
    now = decided[one]
    alike = [key for key in open_to if walk.writes[key] == walk.writes[one]]
    if not isinstance(now, Decimal) or chance.random() < 0.15:
        for key in alike:
            del decided[key]
        return decided
    moved = now + _step(walk, one, ended, chance)
    for key in alike if chance.random() < 0.5 else [one]:
        decided[key] = moved
    return decided


def _step(walk: Walk, key: Decided, ended: Ended, chance: random.Random) -> Decimal:
    """A step of any size, also so far as the value was outside."""
    now = walk.decided[key]
    assert isinstance(now, Decimal)
    sizes = [*_STEPS, ended.far, ended.far / 2, abs(now) / 2, abs(now)]
    size = chance.choice(sizes) * chance.choice([-1, 1])
    return (now + size).quantize(_GRAIN, ROUND_HALF_EVEN) - now
