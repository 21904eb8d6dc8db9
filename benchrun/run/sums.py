"""Sums in words: a formula with the numbers put in where it reads a name, and what it comes to."""

import re
from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Final

from benchrun import quantity
from benchrun.moment import Moment
from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.grammar import timed_step
from benchrun.procedure.route import WorkOut
from benchrun.run.durations import duration_words, since_values, worked_out
from benchrun.run.state import Run, Value
from benchrun.run.verdict import drawn_of

_TOKEN: Final = re.compile(r'"[^"]*"|(?:(?:all|before|last) +(?=[A-Za-z_]))?[A-Za-z_][A-Za-z_0-9]*')
_SIGNS: Final = ((" - ", " − "), (" * ", " × "))


def drawn(values: list[tuple[str, str]], of: str = "") -> str:
    """One value with its unit, or several: `61.966, 61.964, 61.968 mm`, `21.5 °C (8 times)`.

    Args:
        values: Numbers with the names of their units; a finding is in quotes, without a unit.
        of: The name that they are of; lengths of time are told as such.
    """
    if timed_step(of):
        return duration_words(number for number, _ in values)
    name = values[0][1]
    unit = quantity.unit_named(name).shown if name and quantity.known(name) else name
    numbers = [number for number, _ in values]
    if all(number.startswith('"') for number in numbers) or len(numbers) == 1:
        return " ".join((", ".join(dict.fromkeys(numbers)), unit)).strip()
    if len(set(numbers)) == 1:
        return f"{numbers[0]} {unit}".strip() + f" ({len(numbers)} times)"
    runs = [(number, len(list(same))) for number, same in groupby(numbers)]
    listed_numbers = ", ".join(n if count == 1 else f"{n} ({count} times)" for n, count in runs)
    return f"{listed_numbers} {unit}".strip()


def filled_in(formula: str, numbers: Mapping[str, str]) -> str:
    """A formula with the numbers put in where it reads a name.

    Names of functions, of arguments (`air=`), and words in quotes stay as they are.
    """
    for name, words in numbers.items():
        if timed_step(name):
            kind, _, step = name.rpartition(" ")
            formula = formula.replace(f"{kind.replace(' ', '_')}({step})", words)

    def put(match: re.Match[str]) -> str:
        word, rest = match[0], formula[match.end() :].lstrip()
        named = rest.startswith("(") or (rest.startswith("=") and not rest.startswith("=="))
        before = formula[: match.start()].rstrip()
        if word.startswith('"') or named or before.endswith(".") or word not in numbers:
            return word
        alone = before.endswith("(") and rest.startswith(")")
        return numbers[word] if alone or "," not in numbers[word] else f"[{numbers[word]}]"

    return _TOKEN.sub(put, formula)


def sum_words(detail: WorkOut, values: Iterable[Value]) -> str | None:
    """A sum as it is done at the bench: `bore mean 61.967 mm − ring 62.000 mm = −0.033 mm`.

    Returns:
        The words, or None while a value is missing or the sum cannot be done.
    """
    known = tuple(values)
    try:
        result, _ = worked_out(detail, known)
    except (Missing, FormulaError):
        return None
    if result is None:
        return None
    by_name: dict[str, list[tuple[str, str]]] = {}
    for value in known:
        number = f'"{value.word}"' if value.number is None else quantity.plain(value.number)
        by_name.setdefault(value.name, []).append((number, value.unit))
    named = {
        name: f"{name.replace('_', ' ')} {drawn(some, name)}" for name, some in by_name.items()
    }
    text = filled_in(detail.formula.text, named)
    for plain, sign in _SIGNS:
        text = text.replace(plain, sign)
    return f"{text} = {quantity.in_words(result, detail.unit)}"


def sums_of(
    run: Run, step: str, parts: tuple[str, ...], at: Moment | None = None
) -> tuple[tuple[str, str], ...]:
    """The sums of a step for parts: whose it is (empty for all together), and the sum.

    Args:
        run: The run.
        step: The step.
        parts: Its parts.
        at: Now, for sums that ask how long ago something was.
    """
    the_step = run.route.steps[step]
    detail = the_step.detail
    if not isinstance(detail, WorkOut):
        return ()
    groups = [("", parts)] if the_step.gathers else [(part, (part,)) for part in parts]
    sums = []
    for whose, some in groups:
        reads = detail.formula.reads
        values = drawn_of(run, the_step, some, reads)
        if at is not None:
            values += [v for part in some for v in since_values(run, part, reads, at)]
        words = sum_words(detail, values)
        if words is not None:
            sums.append((whose, words))
    return tuple(sums)
