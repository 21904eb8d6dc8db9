"""The shop's books in words: a row of each thing for a list, and everything about one.

The command line prints them and the screen shows them, so that both say the same.
"""

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from benchrun.shop.amounts import Money, sums
from benchrun.shop.book_file import BookFault, BookForm
from benchrun.shop.books import ShopBooks
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import INSTRUMENTS, ShopInstrument
from benchrun.shop.parts import JOBS, PARTS, Job, Part, cost_of, runs_of
from benchrun.shop.people import PERSON_KEYS, Person, people_form
from benchrun.shop.row_editor import add_row, change_row, row_texts
from benchrun.shop.supplies import SUPPLIES, Supply, short, spoiled
from benchrun.shop.supply_lines import SupplyLine
from benchrun.shop.vessels import VESSELS, ShopVessel
from benchrun.shop.yaml_editor import Plain
from benchrun.shop_use.vessels import VesselUse, vessel_of
from benchrun.signing_keys import keys_of
from benchrun.text import count, listed, slug

LISTS: Final = frozenset({"also", "numbers", "runs", "roles", "photos"})
"""Keys that hold several texts."""
_LIST_SHOWN: Final = re.compile(r"\[([^\]]*)\]")
LINES: Final = frozenset({"book", "away", "costs"})
"""Keys that hold lines, which are added by what is done and never typed as a whole."""
Facts = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class BookThing:
    """One thing of a book, as a list shows it.

    Attributes:
        beside: What else is worth a column: a range, what is left, whose it is.
        state: How it stands, in words.
        amiss: Whether somebody has to see to it.
    """

    id: str
    name: str
    beside: str
    state: str
    amiss: bool = False


@dataclass(frozen=True, slots=True)
class Book:
    """One of the shop's books.

    Attributes:
        key: What the command line calls it.
        title: What it is called.
        one: What one thing in it is, in a word.
        keys: The keys of a row that are typed, each with what stands there.
        needed: The keys without which no row is sound, besides its id.
        end: The key that ends a thing's use: why it is out of use, or the day.
    """

    key: str
    title: str
    one: str
    keys: Mapping[str, str]
    needed: tuple[str, ...]
    end: str

    def form(self, shop: Shop) -> BookForm[Any]:
        """The form of its rows."""
        return people_form(shop.path) if self.key == "people" else _FORMS[self.key]


def _typed(form: BookForm[Any]) -> Mapping[str, str]:
    return {key: words for key, words in form.keys.items() if key not in LINES}


_FORMS: Final[Mapping[str, BookForm[Any]]] = {
    form.key: form for form in (INSTRUMENTS, SUPPLIES, VESSELS, PARTS, JOBS)
}
BOOKS: Final = (
    Book("instruments", "Instruments", "instrument", _typed(INSTRUMENTS), ("name", "range"),
         "out of use"),
    Book("supplies", "Supplies", "supply", _typed(SUPPLIES), ("name", "amount"), "out of use"),
    Book("vessels", "Vessels", "vessel", _typed(VESSELS), ("name",), "out of use"),
    Book("parts", "Parts", "part", _typed(PARTS), ("name",), "decision"),
    Book("jobs", "Jobs", "job", _typed(JOBS), ("name",), "done"),
    Book("people", "People", "person",
         {key: PERSON_KEYS[key] for key in ("name", "roles")}, ("name",), "left"),
)  # fmt: skip
"""The books, in the order in which they are offered."""


def book_of(key: str) -> Book:
    """The book of a key, such as `instruments`."""
    return next(one for one in BOOKS if one.key == key)


def listed_texts(key: str, text: str) -> str | list[str]:
    """A typed value as the file takes it: several texts stand apart by semicolons."""
    items = [item.strip() for item in text.split(";") if item.strip()]
    return items if key in LISTS else text.strip()


def typed_words(key: str, words: str) -> str:
    """The words for a key's value, for somebody who types it: several with semicolons between."""
    if key not in LISTS:
        return words
    shows = _LIST_SHOWN.search(words)
    if shows is None:
        return f"{words}; semicolons between"
    return _LIST_SHOWN.sub(shows[1].replace(", ", "; "), words)


def typed_of(book: Book, shop: Shop, name: str) -> dict[str, str]:
    """The values of a thing's keys as text; lists with semicolons between.

    Raises:
        BenchrunError: There is none of that id.
    """
    return row_texts(shop.path, book.form(shop), name, book.keys)


def add_thing(shop: Shop, book: Book, values: Mapping[str, Plain]) -> str:
    """Add a thing to a book; its id is made from its name unless one is given.

    Returns:
        Its id.

    Raises:
        BenchrunError: A value will not do, the id is taken, or the file cannot be written.
    """
    given = {key: value for key, value in values.items() if value}
    made = add_row(shop.path, book.form(shop), {"id": slug(str(given.get("name", ""))), **given})
    return str(made.id)


def change_thing(shop: Shop, book: Book, name: str, values: Mapping[str, Plain]) -> None:
    """Change keys of a thing; what is in the file besides stays as it is.

    Raises:
        BenchrunError: There is none of that id, a value will not do, or the disk refused.
    """
    change_row(shop.path, book.form(shop), name, values)


def things_of(
    book: Book, found: ShopBooks, today: dt.date, uses: Iterable[VesselUse] = ()
) -> tuple[BookThing, ...]:
    """Every sound row of a book.

    Args:
        book: Which.
        found: The shop's files.
        today: The day.
        uses: What open runs have in which vessel.
    """
    match book.key:
        case "instruments":
            return tuple(_instrument(one, today) for one in found.instruments.rows)
        case "supplies":
            return tuple(_supply(one, today) for one in found.supplies.rows)
        case "vessels":
            return _vessels(found, tuple(uses))
        case "parts":
            return tuple(_part(one, today) for one in found.parts.rows)
        case "jobs":
            return tuple(_job(one, found.parts.rows) for one in found.jobs.rows)
    return tuple(_person(one) for one in found.people.rows)


def faults_of(book: Book, found: ShopBooks) -> tuple[BookFault, ...]:
    """The faults to be put right in the file of a book."""
    if book.key in ("parts", "jobs"):
        return tuple(dict.fromkeys((*found.parts.faults, *found.jobs.faults)))
    faults: tuple[BookFault, ...] = getattr(found, book.key).faults
    return faults


def _instrument(one: ShopInstrument, today: dt.date) -> BookThing:
    wrong = one.state(today)
    good = f"good until {one.until}" if one.until else "no date"
    amiss = bool(wrong) and not one.out_of_use  # set apart on purpose: nothing to see to
    return BookThing(one.id, one.name, one.range_words, wrong.removeprefix("is ") or good, amiss)


def _supply(one: Supply, today: dt.date) -> BookThing:
    wrong = amiss_with(one, today)
    good = f"good until {one.good_until}" if one.good_until else "good"
    amiss = bool(wrong) and not one.out_of_use
    return BookThing(
        one.id, one.name, f"{one.left.words} left", wrong.removeprefix("is ") or good, amiss
    )


def amiss_with(one: Supply, today: dt.date) -> str:
    """The words for a supply spoiled or short; empty when it is neither."""
    return "; ".join((*spoiled(one, today), *filter(None, (short(one),))))


def _vessels(found: ShopBooks, uses: tuple[VesselUse, ...]) -> tuple[BookThing, ...]:
    sheet, rows = found.vessels, []
    for one in sheet.rows:
        there = [use.words for use in uses if vessel_of(sheet, use.vessel) == one]
        holds = f"holds {one.holds}" if one.holds else "no limit"
        out = f"out of use: {one.out_of_use}" if one.out_of_use else ""
        state = "; ".join(filter(None, (out, *there))) or "free"
        rows.append(BookThing(one.id, one.name, holds, state, bool(out)))
    rows += [
        BookThing(use.vessel.id, use.vessel.title, "not in vessels.yaml", use.words)
        for use in uses
        if vessel_of(sheet, use.vessel) is None
    ]
    return tuple(rows)


def _part(one: Part, today: dt.date) -> BookThing:
    name = f"{one.name}, {one.side}" if one.side else one.name
    late = one.gone is not None and one.gone.due is not None and one.gone.due < today
    where = one.whereabouts + (": overdue" if late else "")
    photos = f"; {count(len(one.pictures), 'photo')}" if one.pictures else ""
    return BookThing(one.id, name, one.decision or "undecided", where + photos, late)


def _job(one: Job, parts: Iterable[Part]) -> BookThing:
    own = [part for part in parts if part.job == one.id]
    runs = count(len(runs_of(one, own)), "run")
    state = f"done {one.done}" if one.done else "open"
    return BookThing(one.id, one.name, f"{count(len(own), 'part')}, {runs}", state)


def _person(one: Person) -> BookThing:
    state = f"left {one.left}" if one.left else "works here"
    return BookThing(one.id, one.name, ", ".join(one.roles) or "no role", state)


def facts_of(book: Book, shop: Shop, found: ShopBooks, name: str, today: dt.date) -> Facts:
    """Everything about one thing, a line each; what is empty is left out.

    Raises:
        BenchrunError: There is none of that id; says which there are.
    """
    match book.key:
        case "instruments":
            rows = _of_instrument(found.instruments.named(name), today)
        case "supplies":
            rows = _of_supply(found.supplies.named(name), today)
        case "vessels":
            rows = _of_vessel(found.vessels.named(name))
        case "parts":
            rows = _of_part(found.parts.named(name), found.parts.rows)
        case "jobs":
            rows = _of_job(found.jobs.named(name), found.parts.rows)
        case _:
            rows = _of_person(shop, found.people.named(name))
    return tuple((label, text) for label, text in rows if text)


def _of_instrument(one: ShopInstrument, today: dt.date) -> Facts:
    return (
        ("id", one.id),
        ("name", one.name),
        ("also", "; ".join(one.also)),
        ("range", one.range_words),
        ("resolution", one.resolution.words if one.resolution else "unknown"),
        ("uncertainty", one.uncertainty_words),
        ("calibrated", str(one.calibrated or "")),
        ("until", str(one.until or "")),
        ("by", one.by),
        ("amiss", one.state(today)),
        ("note", one.note),
    )


def _of_supply(one: Supply, today: dt.date) -> Facts:
    return (
        ("id", one.id),
        ("name", one.name),
        ("also", "; ".join(one.also)),
        ("lot", one.lot),
        ("amount", one.amount.words),
        ("left", one.left.words),
        ("opened", str(one.opened or "")),
        ("good until", str(one.good_until or "")),
        ("poured back", count(one.reuses, "time") if one.reuses else ""),
        ("strength", _strength(one)),
        ("amiss", amiss_with(one, today)),
        ("note", one.note),
    )


def _strength(one: Supply) -> str:
    last = one.strength
    if last is None:
        return ""
    return f"{last.amount.words} on {last.on}" + (f", read in {last.run}" if last.run else "")


def _of_vessel(one: ShopVessel) -> Facts:
    return (
        ("id", one.id),
        ("name", one.name),
        ("also", "; ".join(one.also)),
        ("holds", str(one.holds or "no limit")),
        ("filled with", one.filled_with),
        ("amiss", f"out of use: {one.out_of_use}" if one.out_of_use else ""),
        ("note", one.note),
    )


def _of_part(one: Part, parts: Iterable[Part]) -> Facts:
    spares = [other.id for other in parts if other.replaces == one.id]
    return (
        ("id", one.id),
        ("name", one.name),
        ("side", one.side),
        ("numbers", "; ".join(one.numbers)),
        ("job", one.job),
        ("replaces", one.replaces),
        ("replaced by", listed(spares)),
        ("condition", one.condition),
        ("decision", one.decision or "undecided"),
        ("where", one.whereabouts),
        ("runs", "; ".join(one.runs)),
        ("photos", "; ".join(one.pictures)),
        ("cost", total(sums(cost.price for cost in one.costs))),
        ("note", one.note),
    )


def total(amounts: Iterable[Money]) -> str:
    """Sums of money in words, one of each currency."""
    return " and ".join(one.words for one in amounts)


def _of_job(one: Job, parts: Iterable[Part]) -> Facts:
    rows = tuple(parts)
    return (
        ("id", one.id),
        ("name", one.name),
        ("owner", one.owner),
        ("done", str(one.done or "")),
        ("parts", "; ".join(part.id for part in rows if part.job == one.id)),
        ("runs", "; ".join(runs_of(one, rows))),
        ("cost", total(cost_of(one, rows))),
        ("note", one.note),
    )


def _of_person(shop: Shop, one: Person) -> Facts:
    keys = [f"{key.fingerprint} {words}" for key, words in keys_of(shop, one.id)]
    return (
        ("id", one.id),
        ("name", one.name),
        ("roles", "; ".join(one.roles)),
        ("left", str(one.left or "")),
        ("keys", "; ".join(keys) or "no key"),
    )


def _whose(line: SupplyLine) -> str:
    return f"{count(line.lines, 'older line')} summed up" if line.lines else line.run


def lines_of(book: Book, found: ShopBooks, name: str) -> tuple[tuple[str, ...], ...]:
    """The lines that a thing's row keeps, oldest first: a supply's book, a part's trips and costs.

    Raises:
        BenchrunError: There is none of that id.
    """
    if book.key == "supplies":
        return tuple(
            (str(line.on), line.deed, line.amount.words, _whose(line), line.why)
            for line in found.supplies.named(name).book
        )
    if book.key != "parts":
        return ()
    part = found.parts.named(name)
    trips = tuple(
        (
            str(trip.sent),
            f"to {trip.to}, {count(trip.count, 'piece')}",
            trip.returned,
            trip.photo_back or trip.photo,
        )
        for trip in part.away
    )
    costs = tuple((str(cost.on), cost.what, cost.price.words) for cost in part.costs)
    return tuple(sorted(trips + costs, key=lambda line: line[0]))
