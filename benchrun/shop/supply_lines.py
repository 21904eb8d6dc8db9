"""The lines of a supply's book: what was done with it, as the file holds them."""

import datetime as dt
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import StockAmount, amount_from, read_day, same_kind
from benchrun.shop.book_row import BookRow

USED, BACK, COUNTED, STRENGTH, UNUSED = "used", "back", "counted", "strength", "unused"
STRUCK, BEFORE = "struck", "before"
DEEDS: Final = (USED, BACK, COUNTED, STRENGTH, UNUSED, STRUCK, BEFORE)
STRENGTHS: Final = (STRENGTH, STRUCK)
LINE_KEYS: Final = (*DEEDS, "on", "run", "entry", "why", "lines", "reuses")


@lean_dataclass(frozen=True, slots=True)
class SupplyLine:
    """One line of a supply's book.

    Attributes:
        on: The day.
        deed: used, back (filtered or poured back for another use), counted (what a look into the
            tin showed), strength (of a bath), unused (entered by a run that took it back), struck
            (a strength that its run took back), or before (what older lines came to).
        amount: How much, or how strong.
        run: The run it was for, or empty.
        why: Anything else.
        entry: The entry of that run's log which says so, or None where a person wrote the line.
        lines: How many older lines it sums up.
        reuses: How often, by those, it was poured back.
    """

    on: dt.date
    deed: str
    amount: StockAmount
    run: str = ""
    why: str = ""
    entry: int | None = None
    lines: int = 0
    reuses: int = 0


def read_line(row: BookRow, unit: str) -> SupplyLine:
    """A line; what is wrong with it is told by its row.

    Args:
        row: What stands in the file.
        unit: The unit that its supply is kept in.
    """
    row.text("on", needed=True)
    given = [deed for deed in DEEDS if deed in row.data]
    if len(given) != 1:
        row.fault(row.data.at, f"a line of the book has one of {', '.join(DEEDS)}")
        return SupplyLine(dt.date.min, USED, StockAmount(Decimal(0), unit))
    deed = given[0]
    amount = row.take(deed, amount_from, StockAmount(Decimal(0), unit))
    if amount.value < 0:
        row.wrong(deed, f"{deed}: {amount.words} is less than nothing")
    if deed in STRENGTHS and amount.unit == "%" and amount.value > 100:
        row.wrong(deed, f"{deed}: {amount.words} is more than all of it")
    if deed not in STRENGTHS and not same_kind(amount.unit, unit):
        row.wrong(deed, f"{deed}: {amount.words} is not in a unit like {unit or 'pieces'}")
    return SupplyLine(
        row.take("on", read_day, dt.date.min),
        deed,
        amount,
        row.text("run"),
        row.text("why"),
        row.take("entry", _entry, None),
        row.take("lines", _entry, 0),
        row.take("reuses", read_count, 0),
    )


def _entry(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise BenchrunError(f"{text[:40]!r} must be the number of an entry")
    return int(text)


def read_count(text: str) -> int:
    """A whole number of times.

    Raises:
        BenchrunError: It is none, or a very large one.
    """
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise BenchrunError(f"{text[:40]!r} must be a whole number")
    return int(text)
