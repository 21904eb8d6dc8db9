"""The shop's parts and jobs: what each part is, where it is, what was decided, what it cost."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.amounts import Money, money_totals, read_day, read_money
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow, read_id
from benchrun.shop.figures import FIGURE_LINES, FIGURES, FIGURES_WORDS, BookFigure, figures_of_row
from benchrun.shop.folder import Shop
from benchrun.text import shown, slug

DECISIONS: Final = ("use", "rework", "replace", "scrap", "spare")
AWAY_KEYS: Final = ("sent", "to", "count", "due", "photo", "back", "came", "photo back", "note")
COST_KEYS: Final = ("on", "what", "price")


@lean_dataclass(frozen=True, slots=True)
class Trip:
    """A part sent away.

    Attributes:
        sent: The day.
        to: Where.
        count: How many pieces went.
        due: When they are due back, or None.
        photo: A picture of what went, as a path from the shop's folder, or empty.
        back: The day they came back, or None.
        came: How many pieces came back, or None where they were not counted.
        photo_back: A picture of what came back, or empty.
    """

    sent: dt.date
    to: str
    count: int
    due: dt.date | None
    photo: str
    back: dt.date | None
    note: str
    came: int | None = None
    photo_back: str = ""

    @property
    def returned(self) -> str:
        """When it came back, or is due, in words."""
        if not self.back:
            return f"due {self.due or 'no day'}"
        return f"back {self.back}" + (f", {self.came} of {self.count}" if self.came else "")


@lean_dataclass(frozen=True, slots=True)
class Cost:
    """A sum paid for a part."""

    on: dt.date
    what: str
    price: Money


@lean_dataclass(frozen=True, slots=True)
class Part:
    """A part of a job, or a spare.

    Attributes:
        id: Its tag.
        name: What it is.
        side: left, right, or another word for where it belongs.
        kind: Which kind of part it is, as the procedures that have kinds call it; or empty.
        numbers: Cast and stamped numbers.
        job: The id of the vehicle or job that it belongs to, or empty.
        replaces: The id of the part that this bought spare takes the place of, or empty.
        condition: What was found.
        decision: use, rework, replace, scrap or spare; empty while nothing is decided.
        where: Where it lies.
        runs: The ids of the runs that it went through.
        away: Its trips, in order.
        costs: What was paid for it.
        photos: Pictures of it, as paths from the shop's folder; those of its trips stand there.
        route: The id of the route of procedures that it goes through, or empty.
        own_route: The ids of the procedures of a route of its own, in order; none otherwise.
        size: How many places it takes in a tub.
        stands: How the last run left it, with the run and its entry; a run enters itself.
    """

    id: str
    name: str
    side: str
    numbers: tuple[str, ...]
    job: str
    replaces: str
    condition: str
    decision: str
    where: str
    runs: tuple[str, ...]
    away: tuple[Trip, ...]
    costs: tuple[Cost, ...]
    note: str
    photos: tuple[str, ...] = ()
    kind: str = ""
    stands: str = ""
    route: str = ""
    own_route: tuple[str, ...] = ()
    size: int = 1

    @property
    def gone(self) -> Trip | None:
        """The trip that it has not come back from, or None."""
        return next((trip for trip in reversed(self.away) if trip.back is None), None)

    @property
    def whereabouts(self) -> str:
        """Where it is, in words."""
        if self.gone:
            due = f", due back {self.gone.due}" if self.gone.due else ""
            return f"away at {self.gone.to} since {self.gone.sent}{due}"
        return self.where or "place unknown"

    @property
    def pictures(self) -> tuple[str, ...]:
        """All pictures of it, its own and those of its trips, each once."""
        trips = (photo for trip in self.away for photo in (trip.photo, trip.photo_back))
        return tuple(dict.fromkeys(filter(None, (*self.photos, *trips))))

    @property
    def identity(self) -> str:
        """Its numbers and side, as a run's log keeps them."""
        return ", ".join(part for part in (self.side, *self.numbers) if part)


@lean_dataclass(frozen=True, slots=True)
class Job:
    """A vehicle or a job, which groups parts and runs.

    Attributes:
        id: Its short name.
        name: What it is.
        owner: Whose it is, or empty.
        runs: Runs that belong to it besides those of its parts.
        done: The day it was handed over, or None.
        figures: What its manual says.
    """

    id: str
    name: str
    owner: str
    runs: tuple[str, ...]
    done: dt.date | None
    note: str
    figures: tuple[BookFigure, ...] = ()


def read_parts(shop: Shop) -> BookFile[Part]:
    """The parts of a shop, with what is wrong in their file."""
    return PARTS.read(shop.path)


def read_jobs(shop: Shop) -> BookFile[Job]:
    """The vehicles and jobs of a shop, with what is wrong in the file of parts."""
    return JOBS.read(shop.path)


def part_of_tag(parts: BookFile[Part], typed: str) -> Part:
    """The part that a tag names, as typed or as a scanner types it; else one of these numbers.

    Args:
        parts: The parts book.
        typed: Its id, its tag in other letters, or one of its cast or stamped numbers.

    Raises:
        BenchrunError: There is none, or several have the number; says which there are.
    """
    plain = slug(typed, "")
    row = parts.find(plain)
    if row is not None:
        return row
    numbered = [one for one in parts.rows if plain and plain in map(slug, one.numbers)]
    if len(numbered) > 1:
        names = ", ".join(one.id for one in numbered)
        raise BenchrunError(f"{shown(typed, 60)!r} is on several parts: {names}")
    return numbered[0] if numbered else parts.named(plain or typed)


def runs_of(job: Job, parts: Iterable[Part]) -> tuple[str, ...]:
    """The runs of a job: its own and those of its parts, each once, in order."""
    own = [run for part in parts if part.job == job.id for run in part.runs]
    return tuple(dict.fromkeys((*job.runs, *own)))


def cost_of(job: Job, parts: Iterable[Part]) -> tuple[Money, ...]:
    """The cost of the parts of a job, a sum for each currency."""
    return money_totals(cost.price for part in parts if part.job == job.id for cost in part.costs)


def unlinked(parts: Iterable[Part], jobs: Iterable[Job]) -> tuple[str, ...]:
    """Which parts name a job or another part that is not in the file, in words."""
    rows = tuple(parts)
    known, tags = {"", *(job.id for job in jobs)}, {"", *(part.id for part in rows)}
    texts = [f"{p.id} belongs to {p.job}, which is no job" for p in rows if p.job not in known]
    texts += [
        f"{p.id} replaces {p.replaces}, which is no part" for p in rows if p.replaces not in tags
    ]
    replaces = {row.id: row.replaces for row in rows}
    texts += [
        f"{p.id} replaces itself in the end, by {by}" for p in rows if (by := _circle(p, replaces))
    ]
    return tuple(texts)


def _circle(part: Part, replaces: Mapping[str, str]) -> str:
    """The parts by which a part comes to replace itself, in words; empty where it does not."""
    way: list[str] = []
    at = part.replaces
    while at and at not in way:
        if at == part.id:
            return ", ".join(way)
        way.append(at)
        at = replaces.get(at, "")
    return ""


def _part(row: BookRow) -> Part:
    decision = row.text("decision")
    if decision and decision not in DECISIONS:
        row.wrong(
            "decision", f"decision: {shown(decision, 40)!r} is none of {', '.join(DECISIONS)}"
        )
    part = Part(
        id=row.id(),
        name=row.text("name", needed=True),
        side=row.text("side"),
        numbers=row.texts("numbers"),
        job=row.take("job", read_id, ""),
        replaces=row.take("replaces", read_id, ""),
        condition=row.text("condition"),
        decision=decision,
        where=row.text("where"),
        runs=tuple(_in_list(row, "runs", run, read_id) for run in row.texts("runs")),
        away=tuple(_trip(row, inner) for inner in row.items("away", AWAY_KEYS)),
        costs=tuple(_cost(row, inner) for inner in row.items("costs", COST_KEYS)),
        note=row.text("note"),
        photos=tuple(_in_list(row, "photos", photo, _picture) for photo in row.texts("photos")),
        kind=row.take("kind", read_id, ""),
        stands=row.text("stands"),
        route=row.take("route", read_id, ""),
        own_route=tuple(_in_list(row, "own route", one, read_id) for one in row.texts("own route")),
        size=row.take("size", _pieces, 1),
    )
    if part.route and part.own_route:
        row.wrong(
            "own route", f"own route: {part.id} has the route {part.route} as well: leave one"
        )
    twice = next((one for one in part.own_route if part.own_route.count(one) > 1), "")
    if twice:
        row.wrong("own route", f"own route: {twice} is in it twice")
    if part.replaces and part.replaces == part.id:
        row.wrong("replaces", f"replaces: {part.id} cannot replace itself")
    return part


def _in_list(row: BookRow, key: str, text: str, parse: Callable[[str], str]) -> str:
    """One text of a list, or empty where it will not do, which becomes a fault of the row."""
    try:
        return parse(text)
    except BenchrunError as error:
        row.wrong(key, f"{key}: {error.message}")
        return ""


def _trip(row: BookRow, inner: BookRow) -> Trip:
    inner.text("sent", needed=True)
    trip = Trip(
        sent=inner.take("sent", read_day, dt.date.min),
        to=inner.text("to", needed=True),
        count=inner.take("count", _pieces, 1),
        due=inner.take("due", read_day, None),
        photo=inner.take("photo", _picture, ""),
        back=inner.take("back", read_day, None),
        note=inner.text("note"),
        came=inner.take("came", _pieces, None),
        photo_back=inner.take("photo back", _picture, ""),
    )
    if trip.came and trip.came > trip.count:
        inner.wrong("came", f"came: {trip.came} is more than went, {trip.count}")
    if trip.back and trip.back < trip.sent:
        inner.wrong("back", f"back: {trip.back} is before it was sent, {trip.sent}")
    row.gather(inner)
    return trip


def _cost(row: BookRow, inner: BookRow) -> Cost:
    inner.text("on", needed=True)
    inner.text("price", needed=True)
    cost = Cost(
        on=inner.take("on", read_day, dt.date.min),
        what=inner.text("what", needed=True),
        price=inner.take("price", read_money, Money(Decimal(0), "XXX")),
    )
    row.gather(inner)
    return cost


def _pieces(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 5 and int(text)):
        raise BenchrunError(f"{shown(text, 40)!r} must be a whole number from 1")
    return int(text)


def _picture(text: str) -> str:
    parts = text.split("/")
    if text.startswith("/") or "\\" in text or any(part in {"", ".", ".."} for part in parts):
        raise BenchrunError(f"{shown(text, 60)!r} must be a file inside the shop's folder")
    return text


def _job(row: BookRow) -> Job:
    return Job(
        id=row.id(),
        name=row.text("name", needed=True),
        owner=row.text("owner"),
        runs=tuple(_in_list(row, "runs", run, read_id) for run in row.texts("runs")),
        done=row.take("done", read_day, None),
        note=row.text("note"),
        figures=figures_of_row(row),
    )


_INTRO: Final = (
    "The parts of this shop under `parts`, and the vehicles or jobs that they belong to under "
    "`jobs`."
)
_JOB_KEYS: Final = MappingProxyType(
    {
        "id": "its short name: small letters, digits, hyphens",
        "name": "what it is",
        "owner": "whose it is",
        "runs": "ids of runs that belong to it besides those of its parts",
        "done": "the day it was handed over",
        FIGURES: FIGURES_WORDS,
        "note": "anything else",
    }
)
PARTS: Final = BookForm(
    "parts.yaml",
    "parts",
    "part",
    {
        "id": "its tag: small letters, digits, hyphens",
        "name": "what it is",
        "side": "left or right",
        "kind": "which kind of part it is, as a procedure with `kinds` calls it: size-60",
        "route": "the id of the route in routes.yaml that it goes through",
        "own route": "a way of its own instead: the ids of the procedures, in order",
        "size": "how many places it takes in a tub or an oven; 1 unless said",
        "numbers": "cast and stamped numbers: [cast 4711, stamped L 2]",
        "job": "the id of the job that it belongs to",
        "replaces": "the id of the part that this spare takes the place of",
        "condition": "what was found",
        "decision": "use, rework, replace, scrap or spare",
        "where": "where it lies",
        "runs": "the ids of the runs that it went through; a run enters itself",
        "photos": "pictures of it, files inside the shop's folder; a run enters its own",
        "stands": "how the last run left it, and at which entry; a run enters itself",
        "away": "when it was sent where, and came back, a line each",
        "costs": "what was paid for it, a line each",
        "note": "anything else",
    },
    _part,
    _INTRO,
    (
        "Begin like this, or with benchrun:",
        "  jobs:",
        "    - {id: trailer, name: hose trailer}",
        "  parts:",
        "    - {id: hub-l, name: hub, side: left, job: trailer}",
        "",
        "A line of `away`, with back: 2026-03-19 once it is here again, and of `costs`:",
        "  - {sent: 2026-03-02, to: the plater, count: 4, due: 2026-03-20, photo: photos/a.jpg}",
        "  - {on: 2026-03-19, what: plating, price: 40.00 EUR}",
        "Where fewer came than went, `came: 3` tells it, and the rest has a line of its own.",
        *FIGURE_LINES,
        f"Keys of a job: {'; '.join(_JOB_KEYS)}.",
    ),
    ("jobs",),
)
JOBS: Final = BookForm(
    "parts.yaml", "jobs", "job", _JOB_KEYS, _job, PARTS.intro, PARTS.more, ("parts",)
)
