"""Duties of a shop: parts away, supplies short or spoiled, calibrations, faulty files."""

import datetime as dt
from collections.abc import Iterator
from enum import StrEnum

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.books import ShopBooks
from benchrun.shop.instruments import ShopInstrument
from benchrun.shop.parts import Part
from benchrun.shop.supplies import Supply, short, spoiled
from benchrun.text import count


class Sort(StrEnum):
    """The subject of a duty."""

    AWAY = "away"
    SUPPLY = "supply"
    INSTRUMENT = "instrument"
    FILE = "file"


@lean_dataclass(frozen=True, slots=True)
class Duty:
    """Something to see to.

    Attributes:
        sort: What it is about.
        words: What it is, in one line.
        due: By when, or None where no day is set.
        late: Whether it is overdue, or wrong already.
    """

    sort: Sort
    words: str
    due: dt.date | None = None
    late: bool = False

    @property
    def away(self) -> bool:
        """Whether it is about parts that are away."""
        return self.sort is Sort.AWAY

    @property
    def told(self) -> str:
        """Its words; parts that should be back say so."""
        return f"{self.words}: overdue" if self.away and self.late else self.words


def duties(books: ShopBooks, today: dt.date) -> tuple[Duty, ...]:
    """The duties of a day: the late first, then by the day on which each falls due."""
    ahead = today + dt.timedelta(days=books.settings.remind_days)
    listed = [*_away(books, today)]
    for supply in books.supplies.rows:
        listed += _supply(supply, today, ahead)
    for instrument in books.instruments.rows:
        listed += _instrument(instrument, today, ahead)
    listed += [Duty(Sort.FILE, fault.words, late=True) for fault in books.faults]
    listed += [Duty(Sort.FILE, text) for text in books.loose_ends]
    return tuple(sorted(listed, key=lambda duty: (not duty.late, duty.due or dt.date.max)))


def _away(books: ShopBooks, today: dt.date) -> Iterator[Duty]:
    for part in books.parts.rows:
        trip = part.gone
        if trip is not None:
            late = trip.due is not None and trip.due < today
            yield Duty(Sort.AWAY, _trip_words(part), trip.due, late)


def _trip_words(part: Part) -> str:
    trip = part.gone
    if trip is None:
        return ""
    pieces = f", {count(trip.count, 'piece')}," if trip.count > 1 else ""
    return f"{part.name} ({part.id}){pieces} is {part.whereabouts}"


def _supply(supply: Supply, today: dt.date, ahead: dt.date) -> Iterator[Duty]:
    called = f"{supply.name} ({supply.id})"
    if supply.out_of_use:
        return  # set apart on purpose: nothing is left to see to
    wrong = spoiled(supply, today)
    for text in wrong:
        yield Duty(Sort.SUPPLY, f"{called} {text}", supply.good_until, late=True)
    if not wrong and supply.good_until and supply.good_until <= ahead:
        yield Duty(Sort.SUPPLY, f"{called} is good until {supply.good_until}", supply.good_until)
    if lacking := short(supply):
        yield Duty(Sort.SUPPLY, f"{called} {lacking}", late=supply.left.value <= 0)


def _instrument(instrument: ShopInstrument, today: dt.date, ahead: dt.date) -> Iterator[Duty]:
    if instrument.out_of_use:
        return
    called = f"{instrument.name} ({instrument.id})"
    if wrong := instrument.state(today):
        yield Duty(Sort.INSTRUMENT, f"{called} {wrong}", instrument.until, late=True)
    elif instrument.until and instrument.until <= ahead:
        words = f"{called} must be calibrated by {instrument.until}"
        yield Duty(Sort.INSTRUMENT, words, instrument.until)
