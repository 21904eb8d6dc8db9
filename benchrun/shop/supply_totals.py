"""Old lines of the supplies' books, summed up so that their file stays small over the years.

A line goes into the sum only where its run is closed, so that no log will ever be held against it
again; a line with a comment of a person stays as it is. What is left, how often it was poured back
and every strength are the same afterwards, or nothing is written.
"""

from collections.abc import Callable, Iterable
from decimal import Decimal
from pathlib import Path
from typing import Final

from benchrun.plain_file import read_plain
from benchrun.shop.amounts import StockAmount
from benchrun.shop.book_file import BookFile
from benchrun.shop.file_writer import put_file, shop_lock
from benchrun.shop.supplies import SUPPLIES, Supply
from benchrun.shop.supply_lines import BACK, BEFORE, COUNTED, STRENGTHS, USED, SupplyLine
from benchrun.shop.yaml_editor import without_items

LARGE: Final = 48 * 1024
"""From this size on, in bytes: changing such a file takes a second already."""
_LATEST: Final = 12
"""So many of the latest lines of each book stay."""
_WORTH: Final = 50
"""For fewer lines the file is left alone."""
_LONG: Final = _LATEST + _WORTH // 2
"""A book with fewer lines is left alone."""


def any_long(supplies: Iterable[Supply]) -> bool:
    """Whether a supply's book has so many lines that some may be summed up."""
    return any(len(one.book) >= _LONG for one in supplies)


def sum_up(folder: Path, is_open: Callable[[str], bool]) -> int:
    """Sum up the old lines of a large supplies.yaml.

    Args:
        folder: The shop's folder.
        is_open: Whether the run of an id is still open.

    Returns:
        How many lines went into sums.

    Raises:
        BenchrunError: The disk refused.
    """
    path = folder / SUPPLIES.file
    if not path.is_file() or path.stat().st_size <= LARGE:
        return 0
    with shop_lock(folder):
        before = read_plain(path)
        sheet = SUPPLIES.parse(before, path)
        if sheet.faults:
            return 0  # what is not sound is put right by a person first
        text = before.decode("utf-8-sig")
        total = 0
        for at, movement in enumerate(sheet.rows):
            if len(movement.book) < _LONG:
                continue
            old = [n for n, line in enumerate(movement.book[:-_LATEST]) if _may_go(line, is_open)]
            if len(old) < _WORTH // 2:
                continue  # reading the places of all items again is what costs
            _, gone = without_items(text, (SUPPLIES.key, at, "book"), old)
            if len(gone) < _WORTH // 2 or (line := _sum_of(movement, gone)) is None:
                continue
            text, _ = without_items(text, (SUPPLIES.key, at, "book"), list(gone), line)
            total += len(gone)
        if total < _WORTH:
            return 0
        mark = before[:3] if before.startswith(b"\xef\xbb\xbf") else b""
        content = mark + text.encode()
        if not _alike(sheet, SUPPLIES.parse(content, path)):
            return 0
        put_file(path, content, before)
        return total


def _may_go(line: SupplyLine, is_open: Callable[[str], bool]) -> bool:
    return line.deed not in STRENGTHS and not (line.run and is_open(line.run))


def _sum_of(supply: Supply, gone: tuple[int, ...]) -> dict[str, str] | None:
    """The line that stands for others, in the place of the first of them; None where none can."""
    unit, first = supply.amount.unit, gone[0]
    old = [supply.book[n] for n in gone]
    kept = [line for n, line in enumerate(supply.book) if n not in gone]
    later = (line for n, line in enumerate(supply.book) if n > first and n not in gone)
    if any(line.deed == COUNTED for line in later):
        used = sum((_spent(line, unit) for line in old if line.deed != COUNTED), Decimal(0))
    else:
        without = sum((_spent(line, unit) for line in kept), Decimal(0))
        used = supply.amount.value - without - supply.left.value
    if used < 0:
        return None
    runs = {(line.run, line.entry) for line in old if line.deed == BACK and line.entry is not None}
    by_hand = sum(line.deed == BACK and line.entry is None for line in old)
    back = sum(supply.used_by(run, entry) < 0 for run, entry in runs if entry is not None)
    reuses = by_hand + back + sum(line.reuses for line in old)
    lines = sum(line.lines or 1 for line in old)
    totals = {
        "on": max(line.on for line in old).isoformat(),
        BEFORE: StockAmount(used, unit).typed,
        "lines": str(lines),
    }
    return {**totals, "reuses": str(reuses)} if reuses else totals


def _spent(line: SupplyLine, unit: str) -> Decimal:
    if line.deed in STRENGTHS or line.deed == COUNTED:
        return Decimal(0)
    size = line.amount.to(unit)
    return size if line.deed in (USED, BEFORE) else -size


def _alike(old: BookFile[Supply], new: BookFile[Supply]) -> bool:
    """Whether each supply stands as it stood, but for the lines of its book."""
    if new.faults or len(old.rows) != len(new.rows):
        return False
    return all(
        (a.id, a.left.value, a.reuses, list(a.strengths.values()), a.about())
        == (b.id, b.left.value, b.reuses, list(b.strengths.values()), b.about())
        for a, b in zip(old.rows, new.rows, strict=True)
    )
