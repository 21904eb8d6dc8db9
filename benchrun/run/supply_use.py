"""An act's use of the shop's supplies: how much, worked out from what is known of its parts."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Context, Decimal
from typing import Final

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.procedure.parameter import Parameter, Undetermined
from benchrun.procedure.route import PARTS, Step, Uses
from benchrun.quantity import Measure
from benchrun.run.commands import Refusal
from benchrun.run.state import ORIGINS_SINCE, Origin, Run, Use, Value
from benchrun.run.verdict import draw, drawn_of, knowns, origin
from benchrun.text import shown

_FIGURES: Final = Context(prec=4)
"""A tin is never poured from more closely than to four figures."""


def used(
    run: Run, step: Step, parts: tuple[str, ...], stated: tuple[Use, ...]
) -> tuple[Use, ...] | Refusal:
    """The uses of a step for parts, of the tins that were told.

    Args:
        run: The run as it stands.
        step: The step.
        parts: Who does it at once, in order.
        stated: Which tin each supply comes from, and amounts that were typed; their `amount` and
            `unit` are not looked at.

    Returns:
        One for each supply that the step uses, or why what was told will not do.
    """
    if not step.uses and not stated:
        return ()
    tins = {use.supply: use for use in stated}
    strange = [name for name in tins if name not in {use.supply for use in step.uses}]
    if strange or len(tins) < len(stated):
        name = shown(strange[0] if strange else stated[0].supply, 40)
        return Refusal(f"Step {step.number} does not use {name!r}, or it was told twice.")
    uses = []
    for use in step.uses:
        tin = tins.get(use.supply, Use(use.supply))
        worked_out = _amount(run, step, use, parts)
        amount: Measure | Refusal | None = worked_out
        if tin.typed:
            amount = read_amount(use.supply, tin.typed, worked_out.unit if worked_out else "")
        if isinstance(amount, Refusal):
            return amount
        number = quantity.plain(amount.value) if amount else ""
        unit = amount.unit if amount else ""
        told_by = None if amount is None or tin.typed else _origin(run, use, parts, amount)
        uses.append(replace(tin, amount=number, unit=unit, back=use.back, origin=told_by))
    return tuple(uses)


def amounts(run: Run, step: Step, parts: tuple[str, ...]) -> tuple[Use, ...]:
    """The uses of a step for parts, without saying of which tin."""
    uses = used(run, step, parts, ())
    return () if isinstance(uses, Refusal) else uses


def using_words(uses: Iterable[Use]) -> tuple[str, ...]:
    """The use in words: `45 ml of paint`; `back: 2 l of ...` for what goes back."""
    words = []
    for use in uses:
        known = quantity.in_words(Decimal(use.amount), use.unit) if use.amount else ""
        text = f"{known} of {use.supply}" if known else use.supply
        words.append(f"back: {text}" if use.back else text)
    return tuple(words)


def allowed(step: Step, uses: Uses, parts: int) -> Measure | None:
    """The amount to allow for a batch before anything is known of it; None where it cannot be told.

    Args:
        step: The step.
        uses: What it uses of one supply.
        parts: How many parts the batch has.
    """
    count = {PARTS: Measure(str(parts), Decimal(parts), "")}
    for parameter in (uses.amount, uses.allow):
        if parameter is None or not parameter.reads <= count.keys():
            continue
        try:
            measure = parameter.measure(count)
        except Undetermined:
            continue
        times = 1 if step.together and parameter is uses.amount else parts
        return Measure("", measure.value * times, measure.unit)
    return None


def _amount(run: Run, step: Step, uses: Uses, parts: tuple[str, ...]) -> Measure | None:
    """The sum over the parts; None where it follows from something that is not known."""
    groups = [parts] if step.gathers else [(part,) for part in parts]
    total: Measure | None = None
    for some in groups:
        values = drawn_of(run, step, some, uses.amount.reads)
        amount = _worked_out(uses.amount, values, len(parts))
        if amount is None:
            return None
        if total is not None:
            added = total.value + quantity.convert(amount.value, amount.unit, total.unit)
            amount = Measure("", added, total.unit)
        total = amount
    return (
        None if total is None else Measure("", _FIGURES.plus(total.value).normalize(), total.unit)
    )


def _origin(run: Run, uses: Uses, parts: tuple[str, ...], amount: Measure) -> Origin | None:
    """The origin of an amount worked out; None for a constant, and in an older log."""
    if run.format < ORIGINS_SINCE or not uses.amount.reads:
        return None
    known = [v for part in parts for v in draw(run.markers[part], uses.amount.reads)]
    return origin("amount", uses.amount, amount, known)


def _worked_out(amount: Parameter, values: Iterable[Value], parts: int) -> Measure | None:
    count = Measure(str(parts), Decimal(parts), "")
    try:
        measure = amount.measure({PARTS: count, **knowns(values)})
    except Undetermined:
        return None
    return measure if measure.value >= 0 else None


def read_amount(supply: str, typed: str, unit: str) -> Measure | Refusal:
    """An amount as somebody typed it.

    Args:
        supply: Of what.
        typed: The text; where `unit` is empty it may be of any kind, or a bare number of pieces.
        unit: The unit that it is told in, where that is known.
    """
    said = ""
    for guess in (unit,) if unit else ("", "ml", "g", "m", "m²"):
        try:
            read = quantity.read(typed, guess)
            value = quantity.convert(read.value, read.unit, guess)
        except BenchrunError as error:
            said = said or error.message
            continue
        if value < 0:
            return Refusal(f"{supply}: {shown(typed, 40)} is less than nothing.")
        return Measure(read.text, value, guess)
    return Refusal(f"{supply}: {said}")
