"""The shop's supplies: what is left of each tin, and whether it is still good.

What is left is never written down by the program: it follows from the amount that was bought and
the lines of the row's own book, so that it always reconciles.
"""

import datetime as dt
import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from itertools import compress
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import (
    Life,
    Money,
    StockAmount,
    amount_from,
    read_day,
    read_life,
    read_money,
    read_positive,
    same_kind,
)
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow
from benchrun.shop.figures import FIGURES, FIGURES_WORDS, BookFigure, figures_of_row
from benchrun.shop.folder import Shop
from benchrun.shop.supply_lines import (
    BACK,
    BEFORE,
    COUNTED,
    LINE_KEYS,
    STRENGTH,
    STRENGTHS,
    STRUCK,
    UNUSED,
    USED,
    SupplyLine,
    read_count,
    read_line,
)
from benchrun.shopmath.coating import film
from benchrun.text import count

_NO_WORD: Final = re.compile(r"[\W_]+")


@lean_dataclass(frozen=True, slots=True)
class Supply:
    """One tin, bottle, roll or bath.

    Attributes:
        id: What the log calls it.
        name: What it is.
        also: What procedures call it, besides its name.
        amount: What was in it when it was entered.
        lot: The maker's lot.
        opened: The day it was opened.
        best_before: The last day on which it is good while closed.
        keeps: How long it keeps once opened.
        least: When less than this is left it is short.
        solids: Volume solids of a paint in per cent.
        weakest: The strength below which a bath is spent.
        most_reuses: How often it may be poured back.
        book: What was done with it, in order.
        out_of_use: Why it is not to be used, or empty.
        price: What it cost when it was full, or None.
    """

    id: str
    name: str
    also: tuple[str, ...]
    amount: StockAmount
    lot: str
    opened: dt.date | None
    best_before: dt.date | None
    keeps: Life | None
    least: StockAmount | None
    solids: Decimal | None
    weakest: StockAmount | None
    most_reuses: int | None
    book: tuple[SupplyLine, ...]
    out_of_use: str
    note: str
    figures: tuple[BookFigure, ...] = ()
    price: Money | None = None

    @property
    def left(self) -> StockAmount:
        """The amount left, by its book: bought, less used, and back; a count starts afresh."""
        value = self.amount.value
        for line in self.book:
            if line.deed in STRENGTHS:
                continue
            size = line.amount.to(self.amount.unit)
            if line.deed == COUNTED:
                value = size
            else:
                value += -size if line.deed in (USED, BEFORE) else size
        return StockAmount(value, self.amount.unit)

    def used_by(self, run: str, entry: int) -> Decimal:
        """How much an entry of a run used by its book, less what went back; in `amount`'s unit."""
        total = Decimal(0)
        for line in self.book:
            if (line.run, line.entry) == (run, entry) and line.deed in (USED, UNUSED, BACK):
                size = line.amount.to(self.amount.unit)
                total += size if line.deed == USED else -size
        return total

    def entries_of(self, run: str) -> tuple[int, ...]:
        """The entries of a run that have lines in its book."""
        return tuple(line.entry for line in self.book if line.run == run and line.entry is not None)

    @property
    def reuses(self) -> int:
        """How often it was poured back; what a run took back again does not count."""
        backs = [line for line in self.book if line.deed == BACK]
        by_hand = sum(line.entry is None for line in backs)
        entries = {(line.run, line.entry) for line in backs if line.entry is not None}
        before = sum(line.reuses for line in self.book)
        return before + by_hand + sum(self.used_by(run, entry) < 0 for run, entry in entries)

    @property
    def strength(self) -> SupplyLine | None:
        """When its strength was last measured, and what that showed."""
        return max(self.strengths.values(), key=lambda line: line.on, default=None)

    @property
    def strengths(self) -> Mapping[tuple[str, int], SupplyLine]:
        """Each measured strength that stands, by the run and the entry that read it, latest first.

        A line of the same entry corrects the one before it, or strikes it out. What a person wrote
        has no entry, and stands under its place in the book.
        """
        lines: dict[tuple[str, int], SupplyLine] = {}
        for place, line in enumerate(self.book):
            key = (line.run, line.entry) if line.entry is not None else ("", place)
            if line.deed == STRENGTH:
                lines[key] = line
            elif line.deed == STRUCK:
                lines.pop(key, None)
        return dict(reversed(lines.items()))

    @property
    def good_until(self) -> dt.date | None:
        """The last day on which it is good, by the earlier of its two dates."""
        ends = [self.best_before] if self.best_before else []
        if self.opened and self.keeps:
            ends.append(self.keeps.end(self.opened))
        return min(ends, default=None)

    def called(self, need: str) -> bool:
        """Whether a procedure's need such as `steel etch, enough to cover` may mean this."""
        return _named_in((self.name, *self.also), need) > 0

    def about(self) -> str:
        """Everything that a log must say of it to stand alone, in one line."""
        parts = [self.name, f"lot {self.lot or 'unknown'}", f"{self.left.words} left"]
        if self.opened:
            parts.append(f"opened {self.opened}")
        if self.good_until:
            parts.append(f"good until {self.good_until}")
        if self.reuses:
            parts.append(f"poured back {count(self.reuses, 'time')}")
        if self.strength:
            parts.append(f"strength {self.strength.amount.words} on {self.strength.on}")
        return "; ".join(parts)


@lru_cache(maxsize=16_384)
def _named_in(names: tuple[str, ...], need: str) -> int:
    """How long the longest of some names is that a need holds; 0 where it holds none."""
    wanted = _plain(need)
    return max((len(name) for name in map(_plain, names) if name in wanted), default=0)


def _plain(text: str) -> str:
    """A name in plain words, with a space around them."""
    return f" {' '.join(_NO_WORD.sub(' ', text.casefold()).split())} "


def spoiled(supply: Supply, today: dt.date) -> tuple[str, ...]:
    """Why a supply is not good on a day; each text continues its name."""
    faults = []
    if supply.out_of_use:
        faults.append(f"is out of use: {supply.out_of_use}")
    if supply.good_until and supply.good_until < today:
        faults.append(f"was good until {supply.good_until}{_why_so_long(supply)}")
    if supply.most_reuses is not None and supply.reuses > supply.most_reuses:
        faults.append(
            f"was poured back {count(supply.reuses, 'time')}; {supply.most_reuses} are allowed"
        )
    strength = supply.strength
    if supply.weakest and strength and _weak(strength.amount, supply.weakest):
        faults.append(
            f"had a strength of {strength.amount.words} on {strength.on}; below "
            f"{supply.weakest.words} it is spent"
        )
    if supply.weakest and strength is None:
        faults.append("has a least strength, which was never measured")
    return tuple(faults)


def _why_so_long(supply: Supply) -> str:
    """Which of its two dates ended it, where that is how long it has been open."""
    if supply.opened and supply.keeps and supply.keeps.end(supply.opened) == supply.good_until:
        return f", {supply.keeps.words} after opening"
    return ""


def _weak(strength: StockAmount, weakest: StockAmount) -> bool:
    return strength.to(weakest.unit) < weakest.value


def short(supply: Supply, needed: StockAmount | None = None) -> str:
    """The shortage of a supply, in words continuing its name; empty when there is none.

    Args:
        supply: Which.
        needed: What the next run needs of it, or None for its own least amount.
    """
    left = supply.left
    if left.value <= 0:
        return (
            f"is {StockAmount(-left.value, left.unit).words} overdrawn"
            if left.value
            else "is used up"
        )
    wanted = needed or supply.least
    if wanted is None or left.value >= wanted.to(left.unit):
        return ""
    return f"has {left.words} left of {wanted.words} " + ("needed" if needed else "to be kept")


def paint_needed(
    supply: Supply,
    area: Decimal,
    dft: Decimal,
    coats: int = 1,
    *,
    loss: Decimal = Decimal(0),
    thinner: Decimal = Decimal(0),
) -> StockAmount:
    """How much of a paint coats an area; see `shopmath.coating.film`.

    Args:
        supply: The paint; its file gives the volume solids.
        area: Area in m².
        dft: Dry film of one coat in µm.
        coats: How many coats.
        loss: Share lost in brush, pot and spray, %.
        thinner: Thinner added, % of the paint's volume.

    Returns:
        Millilitres of paint before thinning.

    Raises:
        BenchrunError: Its solids are not known, or a figure is one that no paint has.
    """
    if supply.solids is None:
        raise BenchrunError(
            f"{supply.id} has no solids: write the volume solids of its sheet, in %"
        )
    result = film(dft, supply.solids, thinner, area, Decimal(coats), loss)
    paint = result.outputs["paint"]
    return StockAmount(Decimal(str(paint.value)), paint.unit)


def serving(supplies: BookFile[Supply], need: str) -> tuple[Supply, ...]:
    """The supplies that a procedure's need may mean; those of the longest name win."""
    lengths = supplies.each(("serving", need), lambda row: _named_in((row.name, *row.also), need))
    named = list(compress(zip(supplies.rows, lengths, strict=True), lengths))
    longest = max((length for _, length in named), default=0)
    return tuple(row for row, length in named if length == longest)


def read_supplies(shop: Shop) -> BookFile[Supply]:
    """The supplies of a shop, with what is wrong in their file."""
    return SUPPLIES.read(shop.path)


def _made(row: BookRow) -> Supply:
    row.text("amount", needed=True)
    amount = row.take("amount", read_positive, StockAmount(Decimal(1), ""))
    lines = []
    for inner in row.items("book", LINE_KEYS):
        lines.append(read_line(inner, amount.unit))
        row.gather(inner)
    least = row.take("least", read_positive, None)
    if least and not same_kind(least.unit, amount.unit):
        row.wrong("least", f"least: {least.words} is not an amount like {amount.words}")
    weakest = row.take("weakest", read_positive, None)
    for line in lines:
        if weakest and line.deed in STRENGTHS and not same_kind(line.amount.unit, weakest.unit):
            row.wrong("book", f"strength: {line.amount.words} is not like {weakest.words}")
    return Supply(
        id=row.id(),
        name=row.text("name", needed=True),
        also=row.texts("also"),
        amount=amount,
        lot=row.text("lot"),
        opened=row.take("opened", read_day, None),
        best_before=row.take("best before", read_day, None),
        keeps=row.take("keeps", read_life, None),
        least=least,
        solids=row.take("solids", _percent, None),
        weakest=weakest,
        most_reuses=row.take("most reuses", read_count, None),
        book=tuple(lines),
        out_of_use=row.text("out of use"),
        note=row.text("note"),
        figures=figures_of_row(row),
        price=row.take("price", read_money, None),
    )


def _percent(text: str) -> Decimal:
    amount = amount_from(text)
    if amount.unit != "%" or not 0 < amount.value <= 100:
        raise BenchrunError(f"{text[:40]!r} must be over 0 % and up to 100 %")
    return amount.value


SUPPLIES: Final = BookForm(
    "supplies.yaml",
    "supplies",
    "supply",
    {
        "id": "its short name: small letters, digits, hyphens",
        "name": "what it is",
        "also": "other names that procedures use for it: [paint, primer]",
        "amount": "what was in it when it came: 1 l, 2.5 kg, or a bare number for pieces",
        "lot": "the maker's lot",
        "price": "what it cost when it was full: 18.00 EUR; runs and parts then tell their share",
        "opened": "the day it was opened: 2026-03-02",
        "best before": "the last day while it is closed",
        "keeps": "how long once opened, by its data sheet: 6 months",
        "least": "when less than this is left it is short",
        "solids": "volume solids of a paint, by its data sheet: 60 %",
        "weakest": "the strength below which a bath is spent: 10 %",
        "most reuses": "how often it may be filtered and poured back",
        "book": "what was done with it, a line each; what is left follows from these lines",
        FIGURES: FIGURES_WORDS,
        "out of use": "why it must not be used",
        "note": "anything else",
    },
    _made,
    "What is used up in this shop: one row a can, bottle, roll or bath, so that its lot is known.",
    (
        "Begin like this, or with benchrun:",
        "  supplies:",
        "    - id: primer-1",
        "      name: primer",
        "      amount: 1 l",
        "      lot: P 71",
        "      book:",
        "        - {on: 2026-03-02, used: 40 ml}",
        "",
        "Lines of a book:",
        "  - {on: 2026-03-02, used: 40 ml, why: first coat}",
        "  - {on: 2026-03-02, back: 700 ml, why: filtered}       poured back to be used again",
        "  - {on: 2026-03-09, counted: 850 ml}                   a look into the can",
        "  - {on: 2026-03-09, strength: 12 %}                    of a bath",
        "A run enters what its steps used, with `run` and `entry`, the number in its log; what it",
        "undid or corrected stands as `unused`. A strength that it read is entered likewise:",
        "the last line of an entry holds, and `struck` takes it out. The row of one used up",
        "may be taken out once its runs are closed: their logs keep its lot.",
        "When the file grows large, old lines of closed runs are summed up in one, `before`; those",
        "with a comment stay.",
    ),
    smaller="take old lines out of the longest book, with one line {on: DAY, counted: WHAT IS "
    "LEFT} in their place",
)
