"""How values, times and lists of parts are worded in every form of a report."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.run import entries as e
from benchrun.text import listed, span

_LARGE: Final = 12
_FEW_LEFT: Final = 3


def value_words(number: str | None, unit: str, word: str = "") -> str:
    """A value with its unit, or the word of a finding."""
    return word if number is None else quantity.in_words(Decimal(number), unit)


def given_words(given: e.Given) -> str:
    """A value as an entry holds it."""
    return value_words(given.number, given.unit, given.word)


def spell_words(proven: int | None, possible: int | None) -> str:
    """How long it was, and how sure that is."""
    if proven is None:
        return ""
    if possible is None:
        return f"{span(proven)} proven, no upper bound known"
    if span(possible) == span(proven):
        return span(proven)
    return f"{span(proven)} proven, {span(possible)} possible"


def bounds_words(least: int | None, most: int | None) -> str:
    """The limits of a length of time."""
    words = [f"least {span(least)}"] if least is not None else []
    words += [f"most {span(most)}"] if most is not None else []
    return ", ".join(words)


def when(utc: str) -> str:
    """Day and minute: `2026-03-02 17:30`."""
    return f"{utc[:10]} {utc[11:16]}"


def clock(utc: str) -> str:
    """Time of day to the second."""
    return utc[11:19]


def parts_words(parts: Iterable[str], all_parts: Iterable[str]) -> str:
    """Name parts; the whole of a batch is said as such, and nearly the whole of a large one."""
    named, batch = tuple(parts), tuple(all_parts)
    if len(named) > 1 and set(named) == set(batch):
        return "both parts" if len(named) == 2 else f"all {len(named)} parts"
    left = [part for part in batch if part not in set(named)]
    if len(batch) > _LARGE and len(left) <= _FEW_LEFT and set(named) < set(batch):
        return f"all but {listed(left)}"
    return listed(named, most=60)


def grouped(words: Mapping[str, str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Parts under the words that are true of them, in the order in which they come up."""
    found: dict[str, list[str]] = {}
    for part, said in words.items():
        found.setdefault(said, []).append(part)
    return tuple((said, tuple(parts)) for said, parts in found.items())
