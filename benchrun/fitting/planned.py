"""How much of each supply a batch needs at least, as far as a procedure tells before the start."""

from collections.abc import Iterator

from benchrun.procedure.route import Detour, Guard, Head, Procedure, Step, StepOp, Tail
from benchrun.run.supply_use import allowed
from benchrun.shop.amounts import Amount, same_kind


def planned(procedure: Procedure, parts: int) -> dict[str, Amount]:
    """What the steps use at least, by what the procedure calls each supply.

    Counted is what every part goes through, a repeat as often as it must be made. What stands under
    a condition may not come up, and what follows from readings counts by what is allowed for it.

    Args:
        procedure: What is to be carried out.
        parts: How many parts the batch has.
    """
    found: dict[str, Amount] = {}
    for step, times in _surely_done(procedure):
        for uses in step.uses:
            one = allowed(step, uses, parts)
            known = found.get(uses.supply)
            if one is None or uses.back or (known and not same_kind(one.unit, known.unit)):
                continue
            amount = Amount(one.value * times, one.unit)
            if known:
                amount = Amount(known.value + amount.to(known.unit), known.unit)
            found[uses.supply] = amount
    return found


def _surely_done(procedure: Procedure) -> Iterator[tuple[Step, int]]:
    """The steps that no condition stands before, each with how often it is done at least."""
    ops, index, times = procedure.route.ops, 0, 1
    while index < len(ops):
        op = ops[index]
        if isinstance(op, Guard | Detour):
            index = op.past
            continue
        if isinstance(op, Head):
            tail = ops[op.tail]
            times *= tail.least if isinstance(tail, Tail) else 1
        elif isinstance(op, Tail):
            times //= op.least
        elif isinstance(op, StepOp):
            yield op.step, times
        index += 1
