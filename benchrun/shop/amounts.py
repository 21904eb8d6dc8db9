"""Amounts, money, days and lengths of life, as the shop's files hold them."""

import calendar
import datetime as dt
import re
from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.quantity import canonical, convert, dimension, in_words, plain, read, unit_named
from benchrun.text import shown

_SPLIT: Final = re.compile(r"(?P<number>[+\-\u2212]?[0-9.,][0-9.,/ ]*)(?P<unit>.*)", re.ASCII)
_MONEY: Final = re.compile(r"(?P<number>-?[0-9]{1,12}(?:[.,][0-9]{1,2})?) ?(?P<code>[A-Z]{3})")
_LIFE: Final = re.compile(r"(?P<count>[0-9]{1,4}) ?(?P<unit>[a-z]+)")
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_SMALL: Final = {"l": "ml", "kg": "g"}
_TEXTS: Final = 4096
"""How many of the texts that were read last are kept: a book says few days and amounts, often."""
_LIVES: Final = {"d": "day", "day": "day", "week": "week", "month": "month", "year": "year"}


@lean_dataclass(frozen=True, slots=True)
class StockAmount:
    """How much of something: a number and its canonical unit, empty for pieces."""

    value: Decimal
    unit: str

    @property
    def words(self) -> str:
        """For people: `1.5 l`, `210 ml`, `12`."""
        small = _SMALL.get(self.unit)
        if small and abs(self.value) < 1:
            return in_words(self.to(small), small)
        return in_words(self.value, self.unit)

    @property
    def typed(self) -> str:
        """As a file holds it, so that it reads back alike."""
        return f"{plain(self.value)} {unit_named(self.unit).name}".strip()

    def to(self, unit: str) -> Decimal:
        """The number in another unit of the same dimension.

        Raises:
            BenchrunError: The unit measures something else.
        """
        return convert(self.value, self.unit, unit)


@lru_cache(maxsize=_TEXTS)
def amount_from(text: str) -> StockAmount:
    """An amount with its unit, as people type it; without a unit, pieces.

    Raises:
        BenchrunError: It is none, or its unit is not known.
    """
    match = _SPLIT.fullmatch(text.strip()[:80])
    if match is None:
        raise BenchrunError(f"{shown(text, 40)!r} is no amount: write it like 1.5 l or 40 ml")
    named = match["unit"].strip()
    unit = canonical(named) if named else ""
    if unit is None:
        raise BenchrunError(f"{shown(named, 20)!r} is no unit that benchrun knows: such as ml, kg")
    measure = read(match["number"].strip(), unit)
    return StockAmount(measure.value, unit)


def read_positive(text: str) -> StockAmount:
    """An amount that is more than nothing.

    Raises:
        BenchrunError: It is none, or not more than nothing.
    """
    amount = amount_from(text)
    if amount.value <= 0:
        raise BenchrunError(f"{shown(text, 40)!r} must be more than nothing")
    return amount


@lru_cache(maxsize=_TEXTS)
def read_range(text: str) -> tuple[StockAmount, StockAmount]:
    """A range such as `0 to 500 µm`; the first number may have its own unit.

    Raises:
        BenchrunError: It is none, or runs backwards.
    """
    first, between, last = text.partition(" to ")
    if not between:
        raise BenchrunError(f"{shown(text, 40)!r} is no range: write it like 0 to 25 mm")
    high, low = amount_from(last), amount_from(first)
    if not low.unit:
        low = StockAmount(low.value, high.unit)
    low = StockAmount(low.to(high.unit), high.unit)
    if low.value >= high.value:
        raise BenchrunError(f"{shown(text, 40)!r} runs backwards")
    return low, high


@lean_dataclass(frozen=True, slots=True)
class Money:
    """An amount of money in a currency of three capital letters, as ISO 4217 names them."""

    value: Decimal
    currency: str

    @property
    def words(self) -> str:
        """For people, and as a file holds it: `12.50 EUR`."""
        return f"{self.value:.2f} {self.currency}"


def read_money(text: str) -> Money:
    """Money such as `12.50 EUR`.

    Raises:
        BenchrunError: It is none, or has no currency.
    """
    match = _MONEY.fullmatch(text.strip())
    if match is None:
        raise BenchrunError(
            f"{shown(text, 40)!r} is no price: write the amount and the currency's three capital "
            "letters, like 12.50 EUR"
        )
    return Money(Decimal(match["number"].replace(",", ".")), match["code"])


def money_totals(prices: Iterable[Money]) -> tuple[Money, ...]:
    """The sum in each currency; different ones are never added up."""
    totals: dict[str, Decimal] = {}
    for price in prices:
        totals[price.currency] = totals.get(price.currency, Decimal(0)) + price.value
    return tuple(Money(value, currency) for currency, value in totals.items())


@lru_cache(maxsize=_TEXTS)
def read_day(text: str) -> dt.date:
    """A day such as 2026-03-02.

    Raises:
        BenchrunError: It is none.
    """
    try:
        if _DAY.fullmatch(text):
            return dt.date.fromisoformat(text)
    except ValueError:
        pass  # a day that no month has is told like any other text
    raise BenchrunError(f"{shown(text, 40)!r} is no day: write it like 2026-03-02")


def day_of(at: Moment) -> dt.date:
    """The day of a moment in UTC, which is the same wherever a log is read."""
    return dt.datetime.fromtimestamp(at.utc_ms // 1000, dt.UTC).date()


@lean_dataclass(frozen=True, slots=True)
class Life:
    """How long something keeps: a count of days, weeks, months or years by the calendar."""

    count: int
    unit: str

    @property
    def words(self) -> str:
        """For people, and as a file holds it: `6 months`."""
        return f"{self.count} {self.unit}{'' if self.count == 1 else 's'}"

    def end(self, start: dt.date) -> dt.date:
        """The last day, where `start` is the day of opening."""
        if self.unit in {"day", "week"}:
            days = self.count * (7 if self.unit == "week" else 1)
            return dt.date.fromordinal(min(start.toordinal() + days, dt.date.max.toordinal()))
        months = start.month - 1 + self.count * (12 if self.unit == "year" else 1)
        year, month = min(start.year + months // 12, dt.MAXYEAR), months % 12 + 1
        return dt.date(year, month, min(start.day, calendar.monthrange(year, month)[1]))


def read_life(text: str) -> Life:
    """A length of life such as `90 days` or `6 months`.

    Raises:
        BenchrunError: It is none.
    """
    match = _LIFE.fullmatch(text.strip())
    word = match["unit"] if match else ""
    unit = _LIVES.get(word) or _LIVES.get(word.removesuffix("s"))
    if match is None or unit is None or not 1 <= int(match["count"]) <= 3660:
        raise BenchrunError(
            f"{shown(text, 40)!r} is no length of life: write it like 90 days or 6 months"
        )
    return Life(int(match["count"]), unit)


def same_kind(unit: str, other: str) -> bool:
    """Whether two units measure the same, so that one converts to the other."""
    return dimension(unit) == dimension(other)
