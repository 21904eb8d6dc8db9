"""The shop's books in words: a row of each thing for a list, and everything about one.

The command line prints them and the screen shows them, so that both say the same.
"""

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import Money, money_totals
from benchrun.shop.book_file import BookForm
from benchrun.shop.book_row import BookFault
from benchrun.shop.books import ShopBooks
from benchrun.shop.figures import BookFigure
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

LISTS: Final = frozenset({"also", "numbers", "runs", "roles", "photos", "own route"})
"""Keys that hold several texts."""
_LIST_SHOWN: Final = re.compile(r"\[([^\]]*)\]")
LINES: Final = frozenset({"book", "away", "costs", "figures"})
"""Keys that hold lines, which are added by what is done and never typed as a whole."""
Facts = tuple[tuple[str, str], ...]


@lean_dataclass(frozen=True, slots=True)
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


@lean_dataclass(frozen=True, slots=True)
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
    Book("instruments", "Instruments", "instrument", _typed(INSTRUMENTS), ("name",),
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
    return next(book for book in BOOKS if book.key == key)


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
    added = add_row(shop.path, book.form(shop), {"id": slug(str(given.get("name", ""))), **given})
    return str(added.id)


def change_thing(shop: Shop, book: Book, name: str, values: Mapping[str, Plain]) -> None:
    """Change keys of a thing; what is in the file besides stays as it is.

    Raises:
        BenchrunError: There is none of that id, a value will not do, or the disk refused.
    """
    change_row(shop.path, book.form(shop), name, values)


def things_of(
    book: Book, books: ShopBooks, today: dt.date, uses: Iterable[VesselUse] = ()
) -> tuple[BookThing, ...]:
    """Every sound row of a book.

    Args:
        book: Which.
        books: The shop's books.
        today: The day.
        uses: What open runs have in which vessel.
    """
    match book.key:
        case "instruments":
            return tuple(_instrument(instrument, today) for instrument in books.instruments.rows)
        case "supplies":
            return tuple(_supply(supply, today) for supply in books.supplies.rows)
        case "vessels":
            return _vessels(books, tuple(uses))
        case "parts":
            return tuple(_part(part, today) for part in books.parts.rows)
        case "jobs":
            return tuple(_job(job, books.parts.rows) for job in books.jobs.rows)
    return tuple(_person(person) for person in books.people.rows)


def faults_of(book: Book, books: ShopBooks) -> tuple[BookFault, ...]:
    """The faults to be put right in the file of a book."""
    if book.key in ("parts", "jobs"):
        return tuple(dict.fromkeys((*books.parts.faults, *books.jobs.faults)))
    faults: tuple[BookFault, ...] = getattr(books, book.key).faults
    return faults


def _instrument(instrument: ShopInstrument, today: dt.date) -> BookThing:
    wrong = instrument.state(today)
    good = f"good until {instrument.until}" if instrument.until else "no date"
    amiss = bool(wrong) and not instrument.out_of_use  # set apart on purpose: nothing to see to
    return BookThing(
        instrument.id,
        instrument.name,
        instrument.range_words,
        wrong.removeprefix("is ") or good,
        amiss,
    )


def _supply(supply: Supply, today: dt.date) -> BookThing:
    wrong = amiss_with(supply, today)
    good = f"good until {supply.good_until}" if supply.good_until else "good"
    amiss = bool(wrong) and not supply.out_of_use
    return BookThing(
        supply.id,
        supply.name,
        f"{supply.left.words} left",
        wrong.removeprefix("is ") or good,
        amiss,
    )


def amiss_with(supply: Supply, today: dt.date) -> str:
    """The words for a supply spoiled or short; empty when it is neither."""
    return "; ".join((*spoiled(supply, today), *filter(None, (short(supply),))))


def _vessels(books: ShopBooks, uses: tuple[VesselUse, ...]) -> tuple[BookThing, ...]:
    sheet, rows = books.vessels, []
    for row in sheet.rows:
        there = [use.words for use in uses if vessel_of(sheet, use.vessel) == row]
        holds = f"holds {row.holds}" if row.holds else "no limit"
        out = f"out of use: {row.out_of_use}" if row.out_of_use else ""
        state = "; ".join(filter(None, (out, *there))) or "free"
        amiss = bool(out and there)  # set apart on purpose, unless parts lie in it
        rows.append(BookThing(row.id, row.name, holds, state, amiss))
    rows += [
        BookThing(use.vessel.id, use.vessel.title, "not in vessels.yaml", use.words)
        for use in uses
        if vessel_of(sheet, use.vessel) is None
    ]
    return tuple(rows)


def _part(part: Part, today: dt.date) -> BookThing:
    name = f"{part.name}, {part.side}" if part.side else part.name
    late = part.gone is not None and part.gone.due is not None and part.gone.due < today
    where = part.whereabouts + (": overdue" if late else "")
    photos = f"; {count(len(part.pictures), 'photo')}" if part.pictures else ""
    return BookThing(part.id, name, part.decision or "undecided", where + photos, late)


def _job(job: Job, parts: Iterable[Part]) -> BookThing:
    own = [part for part in parts if part.job == job.id]
    runs = count(len(runs_of(job, own)), "run")
    state = f"done {job.done}" if job.done else "open"
    return BookThing(job.id, job.name, f"{count(len(own), 'part')}, {runs}", state)


def _person(person: Person) -> BookThing:
    state = f"left {person.left}" if person.left else "works here"
    return BookThing(person.id, person.name, ", ".join(person.roles) or "no role", state)


def thing_facts(book: Book, shop: Shop, books: ShopBooks, name: str, today: dt.date) -> Facts:
    """Everything about one thing, a line each; what is empty is left out.

    Raises:
        BenchrunError: There is none of that id; says which there are.
    """
    match book.key:
        case "instruments":
            rows = _of_instrument(books.instruments.named(name), today)
        case "supplies":
            rows = _of_supply(books.supplies.named(name), today)
        case "vessels":
            rows = _of_vessel(books.vessels.named(name))
        case "parts":
            rows = _of_part(books.parts.named(name), books.parts.rows)
        case "jobs":
            rows = _of_job(books.jobs.named(name), books.parts.rows)
        case _:
            rows = _of_person(shop, books.people.named(name))
    return tuple((label, text) for label, text in rows if text)


def _of_instrument(instrument: ShopInstrument, today: dt.date) -> Facts:
    return (
        ("id", instrument.id),
        ("name", instrument.name),
        ("also", "; ".join(instrument.also)),
        ("range", instrument.range_words),
        ("resolution", instrument.resolution.words if instrument.resolution else "unknown"),
        ("uncertainty", instrument.uncertainty_words),
        ("calibrated", str(instrument.calibrated or "")),
        ("until", str(instrument.until or "")),
        ("by", instrument.by),
        ("problem", instrument.state(today)),
        *figure_facts(instrument.figures),
        ("note", instrument.note),
    )


def _of_supply(supply: Supply, today: dt.date) -> Facts:
    return (
        ("id", supply.id),
        ("name", supply.name),
        ("also", "; ".join(supply.also)),
        ("lot", supply.lot),
        ("amount", supply.amount.words),
        ("remaining", supply.left.words),
        ("opened", str(supply.opened or "")),
        ("good until", str(supply.good_until or "")),
        ("poured back", count(supply.reuses, "time") if supply.reuses else ""),
        ("strength", _strength(supply)),
        ("problem", amiss_with(supply, today)),
        *figure_facts(supply.figures),
        ("note", supply.note),
    )


def figure_facts(figures: Iterable[BookFigure]) -> Facts:
    """The figures of a row as they hold, each with its document; a later line takes the place."""
    newest = {figure.name: figure for figure in figures}
    return tuple((f"figure {name}", figure.words) for name, figure in newest.items())


def _strength(supply: Supply) -> str:
    last = supply.strength
    if last is None:
        return ""
    return f"{last.amount.words} on {last.on}" + (f", read in {last.run}" if last.run else "")


def _of_vessel(vessel: ShopVessel) -> Facts:
    return (
        ("id", vessel.id),
        ("name", vessel.name),
        ("also", "; ".join(vessel.also)),
        ("holds", str(vessel.holds or "no limit")),
        ("filled with", vessel.filled_with),
        ("problem", f"out of use: {vessel.out_of_use}" if vessel.out_of_use else ""),
        ("note", vessel.note),
    )


def _of_part(part: Part, parts: Iterable[Part]) -> Facts:
    spares = [other.id for other in parts if other.replaces == part.id]
    return (
        ("id", part.id),
        ("name", part.name),
        ("side", part.side),
        ("kind", part.kind),
        ("numbers", "; ".join(part.numbers)),
        ("job", part.job),
        ("replaces", part.replaces),
        ("replaced by", listed(spares)),
        ("condition", part.condition),
        ("decision", part.decision or "undecided"),
        ("where", part.whereabouts),
        ("runs", "; ".join(part.runs)),
        ("photos", "; ".join(part.pictures)),
        ("cost", total(money_totals(cost.price for cost in part.costs))),
        ("note", part.note),
    )


def total(amounts: Iterable[Money]) -> str:
    """Sums of money in words, one of each currency."""
    return " and ".join(amount.words for amount in amounts)


def _of_job(job: Job, parts: Iterable[Part]) -> Facts:
    rows = tuple(parts)
    return (
        ("id", job.id),
        ("name", job.name),
        ("owner", job.owner),
        ("done", str(job.done or "")),
        ("parts", "; ".join(part.id for part in rows if part.job == job.id)),
        ("runs", "; ".join(runs_of(job, rows))),
        ("cost", total(cost_of(job, rows))),
        *figure_facts(job.figures),
        ("note", job.note),
    )


def _of_person(shop: Shop, person: Person) -> Facts:
    keys = [f"{key.fingerprint} {words}" for key, words in keys_of(shop, person.id)]
    return (
        ("id", person.id),
        ("name", person.name),
        ("roles", "; ".join(person.roles)),
        ("left on", str(person.left or "")),
        ("keys", "; ".join(keys) or "no key"),
    )


def _whose(line: SupplyLine) -> str:
    return f"{count(line.lines, 'older line')} summed up" if line.lines else line.run


def lines_of(book: Book, books: ShopBooks, name: str) -> tuple[tuple[str, ...], ...]:
    """The lines that a thing's row keeps, oldest first: a supply's book, a part's trips and costs.

    Raises:
        BenchrunError: There is none of that id.
    """
    if book.key == "supplies":
        return tuple(
            (str(line.on), line.deed, line.amount.words, _whose(line), line.why)
            for line in books.supplies.named(name).book
        )
    if book.key != "parts":
        return ()
    part = books.parts.named(name)
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
