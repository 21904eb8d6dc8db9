"""The shop's instruments: what each can measure, how well, and until when that is vouched for.

Sources: a tenth of the tolerance, a quarter at the least: the rule of ten and its fall-back, as
`shopmath.accepting` gives them, from memory (the latter ANSI/NCSL Z540.3).
"""

import datetime as dt
import re
from contextlib import suppress
from decimal import Decimal
from functools import lru_cache
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import convert, in_words, plain, read
from benchrun.shop.amounts import StockAmount, amount_from, read_day, read_range, same_kind
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow
from benchrun.shop.figures import FIGURES, FIGURES_WORDS, BookFigure, figures_of_row
from benchrun.shop.folder import Shop
from benchrun.shopmath.accepting import unit_of_difference
from benchrun.text import shown

TENTH: Final = 10
_PERCENT: Final = re.compile(r"(?P<number>[0-9.,]+) ?%")


@lean_dataclass(frozen=True, slots=True)
class ShopInstrument:
    """An instrument of the shop.

    Attributes:
        id: What the log calls it.
        name: What it is.
        also: What procedures call it, besides its name.
        low, high: The ends of its range, in one unit; None where it has none, as a gauge of one
            size or a set of feelers.
        unit: What it measures in; empty where nothing says it.
        resolution: Its smallest step, in the unit of differences; None when unknown.
        uncertainty: Its expanded uncertainty, in the unit of differences, or of the reading when
            `relative`; None when unknown.
        relative: Whether the uncertainty is in per cent of what is read, as of a torque wrench.
        calibrated: When it was last calibrated.
        until: The last day on which that is good.
        by: Who calibrated it, and the certificate.
        out_of_use: Why it is not to be used, or empty.
    """

    id: str
    name: str
    also: tuple[str, ...]
    low: StockAmount | None
    high: StockAmount | None
    unit: str
    resolution: StockAmount | None
    uncertainty: Decimal | None
    relative: bool
    calibrated: dt.date | None
    until: dt.date | None
    by: str
    out_of_use: str
    note: str
    figures: tuple[BookFigure, ...] = ()

    @property
    def range_words(self) -> str:
        """Its range for people; empty where it has none."""
        if self.low is None or self.high is None:
            return ""
        return f"{plain(self.low.value)} to {self.high.words}"

    def measures(self, unit: str) -> bool:
        """Whether it may measure what a unit is of."""
        return not self.unit or same_kind(self.unit, unit)

    def reaches(self, value: Decimal, unit: str) -> bool:
        """Whether a value lies within its range, where it has one."""
        if self.low is None or self.high is None:
            return True
        return self.low.to(unit) <= value <= self.high.to(unit)

    def called(self, name: str) -> bool:
        """Whether a procedure that says `name` may mean this instrument."""
        wanted = name.casefold()
        return wanted in {self.id, self.name.casefold(), *(one.casefold() for one in self.also)}

    def uncertainty_at(self, value: Decimal, unit: str) -> Decimal | None:
        """Its expanded uncertainty at a value, as a difference in the value's unit.

        Args:
            value: What was read.
            unit: Its unit, of the dimension that the instrument measures.

        Returns:
            None when it is not known.
        """
        if self.uncertainty is None:
            return None
        if self.relative:
            return abs(value) * self.uncertainty / 100
        own, other = unit_of_difference(self.unit), unit_of_difference(unit)
        return convert(self.uncertainty, own, other)

    def state(self, today: dt.date) -> str:
        """The fault in its calibration or use on a day, in words; empty when there is none."""
        if self.out_of_use:
            return f"is out of use: {self.out_of_use}"
        if self.calibrated and self.calibrated > today:
            return f"says that it was calibrated on {self.calibrated}, which is still to come"
        if self.until and self.until < today:
            return f"is past its calibration date, {self.until}"
        return ""

    def about(self) -> str:
        """Everything that a log must say of it to stand alone, in one line."""
        parts = [self.name]
        if self.range_words:
            parts.append(f"range {self.range_words}")
        if self.resolution is not None:
            parts.append(f"resolution {self.resolution.words}")
        parts.append(f"expanded uncertainty {self.uncertainty_words}")
        parts.append(f"calibrated {self.calibrated or 'never, as far as is known'}")
        if self.until:
            parts.append(f"good until {self.until}")
        if self.by:
            parts.append(f"by {self.by}")
        return "; ".join(parts)

    def step_in(self, unit: str) -> Decimal | None:
        """Its smallest step in the unit of differences of a reading's unit; None when unknown."""
        if self.resolution is None:
            return None
        return self.resolution.to(unit_of_difference(unit))

    @property
    def uncertainty_words(self) -> str:
        """Its expanded uncertainty for people."""
        if self.uncertainty is None:
            return "unknown"
        if self.relative:
            return f"{plain(self.uncertainty)} % of the reading"
        return in_words(self.uncertainty, unit_of_difference(self.unit))


def misgivings(
    instrument: ShopInstrument,
    today: dt.date,
    unit: str,
    *,
    value: Decimal | None = None,
    low: Decimal | None = None,
    high: Decimal | None = None,
    resolution: Decimal | None = None,
    calibrated: bool = False,
    least_ratio: int = 4,
) -> tuple[str, ...]:
    """Why a reading with an instrument needs a reason; nothing when it is fit for it.

    Args:
        instrument: Which.
        today: The day of the reading.
        unit: The unit of the reading; the limits and the value are in it.
        value: What was read, or None before it is.
        low: The lower limit of the reading, or None.
        high: The upper limit, or None.
        resolution: The coarsest resolution that the procedure allows, or None.
        calibrated: Whether the procedure asks for a calibrated instrument.
        least_ratio: How many times finer than the tolerance the instrument must be.

    Returns:
        One text a reason, each continuing the instrument's name.

    Raises:
        BenchrunError: It measures something else.
    """
    if not instrument.measures(unit):
        raise BenchrunError(
            f"{instrument.name} measures in {instrument.unit}: it cannot give a reading in {unit}"
        )
    found = [instrument.state(today)]
    if calibrated and instrument.calibrated is None:
        found.append("has no calibration date, and the procedure asks for a calibrated one")
    if value is not None:
        found.append(_outside(instrument, value, unit))
    found.append(_too_coarse(instrument, unit, resolution))
    if low is not None and high is not None:
        at = max(abs(low), abs(high)) if value is None else value
        found += _ratios(instrument, unit, at, high - low, least_ratio)
    return tuple(one for one in found if one)


def _outside(instrument: ShopInstrument, value: Decimal, unit: str) -> str:
    if instrument.reaches(value, unit):
        return ""
    return f"measures {instrument.range_words}; {in_words(value, unit)} is outside that"


def _too_coarse(instrument: ShopInstrument, unit: str, allowed: Decimal | None) -> str:
    step = instrument.step_in(unit)
    if step is None or allowed is None or step <= allowed:
        return ""
    difference = unit_of_difference(unit)
    return (
        f"shows steps of {in_words(step, difference)}; the procedure asks for "
        f"{in_words(allowed, difference)} or finer"
    )


def _ratios(
    instrument: ShopInstrument, unit: str, at: Decimal, tolerance: Decimal, least: int
) -> list[str]:
    sizes = {
        "its uncertainty": instrument.uncertainty_at(at, unit),
        "its steps": instrument.step_in(unit),
    }
    return [
        f"is too coarse: the tolerance of {in_words(tolerance, unit_of_difference(unit))} is less "
        f"than {least} times {name}, {in_words(size, unit_of_difference(unit))}"
        for name, size in sizes.items()
        if size and tolerance < least * size
    ]


def below_a_tenth(instrument: ShopInstrument, unit: str, low: Decimal, high: Decimal) -> bool:
    """Whether an instrument misses the rule of ten for limits, though it may be fit."""
    return bool(_ratios(instrument, unit, max(abs(low), abs(high)), high - low, TENTH))


def read_instruments(shop: Shop) -> BookFile[ShopInstrument]:
    """The instruments of a shop, with what is wrong in their file."""
    return INSTRUMENTS.read(shop.path)


def _made(row: BookRow) -> ShopInstrument:
    name = row.text("name", needed=True)
    ends = row.take("range", read_range, None)
    low, high = ends or (None, None)
    unit = high.unit if high is not None else _own_unit(row)
    unknown: tuple[Decimal | None, bool] = (None, False)
    uncertainty, relative = row.take("uncertainty", lambda text: _uncertainty(text, unit), unknown)
    made = ShopInstrument(
        id=row.id(),
        name=name,
        also=row.texts("also"),
        low=low,
        high=high,
        unit=unit,
        resolution=row.take("resolution", lambda text: _difference(text, unit), None),
        uncertainty=uncertainty,
        relative=relative,
        calibrated=row.take("calibrated", read_day, None),
        until=row.take("until", read_day, None),
        by=row.text("by"),
        out_of_use=row.text("out of use"),
        note=row.text("note"),
        figures=figures_of_row(row),
    )
    if made.calibrated and made.until and made.until < made.calibrated:
        row.wrong("until", f"until: {made.until} is before {made.calibrated}, its calibration")
    return made


def _own_unit(row: BookRow) -> str:
    """The unit of an instrument without a range, by its step or its uncertainty."""
    for text in (row.text("resolution"), row.text("uncertainty")):
        if text and _PERCENT.fullmatch(text) is None:
            with suppress(BenchrunError):  # what is wrong with it is told where it is taken
                return amount_from(text).unit
    return ""


@lru_cache(maxsize=4096)
def _difference(text: str, unit: str) -> StockAmount | None:
    of = unit_of_difference(unit)
    amount = StockAmount(read(text, of).to(of), of)
    if amount.value <= 0:
        raise BenchrunError(f"{shown(text, 40)!r} must be more than nothing")
    return amount


@lru_cache(maxsize=4096)
def _uncertainty(text: str, unit: str) -> tuple[Decimal | None, bool]:
    share = _PERCENT.fullmatch(text)
    if share and unit != "%":
        return amount_from(share["number"]).value, True
    of = unit_of_difference(unit)
    value = read(text, of).to(of)
    if value < 0:
        raise BenchrunError(f"{shown(text, 40)!r} must be nothing or more")
    return value, False


INSTRUMENTS: Final = BookForm(
    "instruments.yaml",
    "instruments",
    "instrument",
    {
        "id": "its short name: small letters, digits, hyphens",
        "name": "what it is",
        "also": "other names that procedures use for it: [micrometer, outside micrometer]",
        "range": "what it measures, where it has a range: 0 to 25 mm",
        "resolution": "its smallest step: 0.01 mm",
        "uncertainty": "expanded (k = 2), as its certificate gives it: 0.003 mm, or 4 % of the "
        "reading; 0 of what only counts",
        "calibrated": "the day of its calibration: 2026-03-02",
        "until": "the last day on which the calibration is good: 2027-03-01",
        "by": "who calibrated it, which certificate",
        FIGURES: FIGURES_WORDS,
        "out of use": "why it must not be used",
        "note": "anything else",
    },
    _made,
    "The instruments of this shop. A reading names the one it was taken with, and the log copies "
    "what stands here on that day. Out of date, out of range or too coarse: a reason is asked for, "
    "which stands in the log.",
    (
        "Begin like this, or with benchrun:",
        "  instruments:",
        "    - id: mic-0-25",
        "      name: micrometer",
        "      range: 0 to 25 mm",
        "      until: 2027-03-02",
    ),
)
