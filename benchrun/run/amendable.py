"""Things in a run that may be put right: values that count, acts that can be taken back."""

from decimal import Decimal

from benchrun import quantity
from benchrun.run.state import Run, Value
from benchrun.run.supply_use import using_words


def values_of(run: Run) -> list[Value]:
    """The readings, findings and kinds that still count, the newest first."""
    kept = (
        value
        for marker in run.each()
        for value in (*marker.values.values(), *(v for vs in marker.earlier.values() for v in vs))
    )
    # A figure is of the whole run: every part has it, under one id.
    own = {value.id: value for value in kept if not value.inputs}
    values = [value for value in own.values() if value.typed or value.word or value.absent]
    return sorted(values, key=lambda value: -value.n)


def kept_value_words(value: Value) -> str:
    """A value as it stands."""
    if value.number is None:
        return value.word or "not known"
    return quantity.in_words(Decimal(value.number), value.unit)


def uses_of(run: Run) -> list[tuple[int, str, str]]:
    """The uses by acts, the newest first: the entry, the supply, and how much in words."""
    return [
        (n, use.supply, words)
        for n in sorted(run.used, reverse=True)
        for use, words in zip(run.used[n], using_words(run.used[n]), strict=True)
    ]


def last_acts(run: Run) -> list[int]:
    """The lines that can be taken back: each the last of all its parts; the newest first."""
    return sorted({m.last for m in run.each() if m.before and not m.fixed}, reverse=True)
