"""The question of which kind each part of a batch is, where the procedure has several."""

import re
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import Say, Turn, called, choose, text
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.procedure.route import PartKind, Procedure
from benchrun.run.entries import PartSpec
from benchrun.shop.folder import Shop
from benchrun.shop.parts import read_parts
from benchrun.text import shown

_SEPARATORS: Final = re.compile(r"[\s,+.;]+")
_RANGE: Final = re.compile(r"([0-9]{1,4})(?:[-–]([0-9]{1,4}))?")


def ask_kinds(
    shop: Shop, procedure: Procedure, parts: tuple[PartSpec, ...]
) -> Generator[Turn, object, tuple[PartSpec, ...]]:
    """Ask for the kinds that the parts book does not tell; nothing where it is left.

    Args:
        shop: Whose parts book tells some of them.
        procedure: Which kinds there are.
        parts: The batch.
    """
    kinds = procedure.route.kinds
    if not kinds:
        return parts
    known: dict[str, str] = yield from called(lambda: _of_book(shop, kinds, parts))
    asked = tuple(spec.part for spec in parts if spec.part not in known)
    if asked:
        answer = yield from _of_person(kinds, asked)
        if answer is None:
            return ()
        known |= answer
    return tuple(replace(spec, kind=known[spec.part]) for spec in parts)


def _of_book(
    shop: Shop, kinds: Mapping[str, PartKind], parts: Sequence[PartSpec]
) -> dict[str, str]:
    """The kinds that the parts book tells: by its own word, else by the side."""
    rows = {row.id: row for row in read_parts(shop).rows}
    known: dict[str, str] = {}
    for spec in parts:
        row = rows.get(spec.part)
        words = (row.kind, row.side) if row is not None else ()
        kind = next((word for word in words if word in kinds), "")
        if kind:
            known[spec.part] = kind
    return known


def _of_person(
    kinds: Mapping[str, PartKind], asked: tuple[str, ...]
) -> Generator[Turn, object, dict[str, str] | None]:
    """One key where all are of one kind; else which are of each, the last kind taking the rest."""
    options = [Option(kind.title) for kind in kinds.values()]
    if len(asked) > 1:
        options.append(Option("several kinds", "which are of each is asked next"))
    place = yield from choose(Choose(f"Which kind: {part_names(asked)}", tuple(options)))
    if place is None:
        return None
    if place < len(kinds):
        return dict.fromkeys(asked, tuple(kinds)[place])
    *first, last = kinds.values()
    known: dict[str, str] = {}
    for kind in first:
        left = {n: part for n, part in enumerate(asked, 1) if part not in known}
        chosen = (yield from _parts_of(kind, left)) if left else ()
        if chosen is None:
            return None
        known |= dict.fromkeys(chosen, kind.id)
    return {part: known.get(part, last.id) for part in asked}


def _parts_of(
    kind: PartKind, left: Mapping[int, str]
) -> Generator[Turn, object, tuple[str, ...] | None]:
    """Ask which are of a kind; a part keeps its number through all kinds."""
    numbered = ", ".join(numbered_words(left))
    said = f"{numbered}. Type numbers and ranges, such as 1-3+5; 0 where none is."
    typed = ""
    while True:
        typed = yield from text(Text(f"Which are: {kind.title}", said, typed=typed))
        if not typed:
            return None
        try:
            return numbered_parts(typed, left)
        except BenchrunError as error:
            yield Say(error.message, strong=True)


def numbered_words(left: Mapping[int, str]) -> Iterator[str]:
    """Parts with their numbers, those of one stem in a row together: `1 to 3 are clip 1–3`."""
    numbers = list(left)
    while numbers:
        many = next(n for n in range(len(numbers), 0, -1) if _in_a_row(numbers[:n], left))
        some, numbers = numbers[:many], numbers[many:]
        names = part_names([left[number] for number in some])
        yield f"{some[0]} to {some[-1]} are {names}" if many > 1 else f"{some[0]} is {names}"


def _in_a_row(numbers: Sequence[int], left: Mapping[int, str]) -> bool:
    """Whether numbers follow each other and their parts have one stem."""
    together = numbers[-1] - numbers[0] == len(numbers) - 1
    return together and ", " not in part_names([left[number] for number in numbers])


def numbered_parts(typed: str, parts: Mapping[int, str]) -> tuple[str, ...]:
    """The parts that numbers and ranges name: `1-3+5`, `2 4`; none for 0.

    Args:
        typed: What was typed.
        parts: The parts, each with its number; a range may span numbers that are taken already.

    Raises:
        BenchrunError: A number names no part, or it is no number.
    """
    chosen: set[int] = set()
    for word in filter(None, _SEPARATORS.split(typed.strip())):
        match = _RANGE.fullmatch(word)
        low, high = (int(match[1]), int(match[2] or match[1])) if match else (0, -1)
        if match is not None and low == high == 0:
            continue
        if not 1 <= low <= high or low not in parts or high not in parts:
            free = ", ".join(map(str, parts))
            raise BenchrunError(f"{shown(word, 20)!r} is no number or range of these: {free}")
        chosen.update(range(low, high + 1))
    return tuple(part for number, part in parts.items() if number in chosen)
