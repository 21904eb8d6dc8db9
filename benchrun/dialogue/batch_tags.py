"""The tags of a batch: typed, counted, or those of the last run; a part in a few words."""

from typing import Final

from benchrun.errors import BenchrunError
from benchrun.procedure.route import Procedure
from benchrun.record.folder import run_folders
from benchrun.run.entries import Opened, read_data
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Part
from benchrun.text import count

LONGEST_TAG: Final = 24


def part_words(part: Part) -> str:
    """A part in a few words, behind its tag: name, side and numbers, where it is."""
    words = ", ".join(filter(None, (part.name, part.identity)))
    return f"{words}; {part.where}" if part.where else words


def typed_tags(procedure: Procedure, typed: str) -> tuple[str, ...]:
    """The tags of a batch from what was typed: a number, or tags with commas between.

    Raises:
        BenchrunError: It is no batch that the procedure takes.
    """
    batch, typed = procedure.batch, typed.strip()
    if typed.isdigit():
        number = int(typed)
        if not batch.least <= number <= batch.most:
            raise BenchrunError(
                f"{count(number, 'part')}: this procedure takes {batch.least} to {batch.most}"
            )
        name = batch.part[: LONGEST_TAG - 4].strip()
        if number == 1:
            return (name,)
        return tuple(f"{name} {place}" for place in range(1, number + 1))
    tags = tuple(tag.strip() for tag in typed.split(",") if tag.strip())
    if not tags:
        raise BenchrunError("type how many parts there are, or their tags")
    return tags


def last_parts(shop: Shop, procedure: Procedure) -> tuple[str, ...]:
    """The tags of the last run of the same procedure in this shop, or none."""
    named = [f for f in run_folders(shop.runs) if f.run[11:-5] == procedure.id[:40]]
    for folder in reversed(named):
        try:
            line = folder.read().lines[0]
            data = read_data(line.kind, line.data)
        except (BenchrunError, ValueError, IndexError):
            continue
        if isinstance(data, Opened):
            return tuple(spec.part for spec in data.parts)
    return ()
