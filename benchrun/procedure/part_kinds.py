"""The kinds of part that one batch may hold, and the values that differ from kind to kind."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from benchrun.procedure.formula import FormulaError, parse_formula
from benchrun.procedure.grammar import RESERVED
from benchrun.procedure.header_shapes import KindShape
from benchrun.procedure.header_values import KIND, PartKind
from benchrun.procedure.marked import Path
from benchrun.procedure.parameter_builder import FIT
from benchrun.procedure.problems import Problems
from benchrun.procedure.surroundings import Named, Surroundings
from benchrun.procedure.units import FINDING, a
from benchrun.quantity import Measure, dimension
from benchrun.text import listed, meant

_QUANTITY: Final = re.compile(r"[+−-]?[0-9]+(?:\.[0-9]+)?(?: .*)?")


def part_kinds(shapes: Mapping[str, KindShape], around: Surroundings) -> Mapping[str, PartKind]:
    """The kinds of a procedure; `kind` and the names of their values are known from here on.

    Args:
        shapes: What stands under `kinds`.
        around: Takes the names and what is wrong.
    """
    kinds = {
        name: PartKind(name, shape.title, _values(shape, ("kinds", name, "values"), around))
        for name, shape in shapes.items()
    }
    if not kinds:
        return kinds
    around.names[KIND] = Named("", "", FINDING, False, tuple(kinds), ("kinds",), tuple(kinds))
    if len(kinds) == 1:
        said = "one kind is none: write two or more, or delete this"
        around.problems.lacks(("kinds",), said)
    for name in dict.fromkeys(name for kind in kinds.values() for name in kind.values):
        lacking = [kind for kind, shape in shapes.items() if name not in shape.values]
        if lacking:
            said = f"kind {listed(lacking)} has no {name!r}: every kind needs every value"
            around.problems.lacks(("kinds", lacking[0]), said)
        _name_value(name, kinds, around)
    return kinds


def tied(pair: Sequence[str], kinds: Mapping[str, PartKind], problems: Problems) -> tuple[str, ...]:
    """The kinds that belong together, one part of each.

    Args:
        pair: What stands under `pair` of the batch.
        kinds: The kinds of the procedure.
        problems: Takes what is wrong.
    """
    path: Path = ("batch", "pair")
    for name in pair:
        if name not in kinds:
            would = meant(name, kinds) if kinds else "the procedure has no `kinds`"
            problems.error(path, f"{name!r} is no kind of part: {would}")
    if pair and len(set(pair)) < max(len(pair), 2):
        problems.error(path, "a pair is of two or more kinds, each named once")
    return tuple(pair)


def _values(shape: KindShape, path: Path, around: Surroundings) -> Mapping[str, Measure | str]:
    values: dict[str, Measure | str] = {}
    for name, text in shape.values.items():
        where = (*path, name)
        if name in RESERVED or name == KIND:
            around.problems.error(
                where, f"{name!r} has a meaning of its own: choose another name", key=True
            )
            continue
        try:
            values[name] = _value(text)
        except ValueError as error:
            around.problems.error(where, str(error))
    return values


def _value(text: str) -> Measure | str:
    """A quantity where the text is one, else the word itself.

    Raises:
        ValueError: It begins like a quantity and is none.
    """
    if not _QUANTITY.fullmatch(text) or FIT.fullmatch(text):
        return text
    try:
        value = parse_formula(text).value({})
    except FormulaError as error:
        raise ValueError(error.message) from None
    return Measure(text, value.value, value.unit) if isinstance(value, Measure) else text


def _name_value(name: str, kinds: Mapping[str, PartKind], around: Surroundings) -> None:
    """Make a value of the kinds known by its name; it is of one dimension."""
    first = next(kind for kind in kinds.values() if name in kind.values)
    path: Path = ("kinds", first.id, "values", name)
    measures = [kind.values[name] for kind in kinds.values() if name in kind.values]
    sorts = {FINDING if isinstance(one, str) else dimension(one.unit) for one in measures}
    if len(sorts) > 1:
        words = " and ".join(sorted("a word" if sort == FINDING else a(sort) for sort in sorts))
        around.problems.error(path, f"{name!r} is {words}: one name measures one thing", key=True)
    value = first.values[name]
    if isinstance(value, str):
        found = tuple(dict.fromkeys(str(one) for one in measures))
        around.names[name] = Named("", "", FINDING, False, found, path, found)
    else:
        numbers = [
            one.to(value.unit)
            for one in measures
            if isinstance(one, Measure) and dimension(one.unit) == dimension(value.unit)
        ]
        named = Named("", value.unit, dimension(value.unit), False, (), path)
        around.names[name] = replace(named, low=min(numbers), high=max(numbers))
