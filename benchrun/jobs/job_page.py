"""A job's page: its parts by where they stand on their routes, what holds it up, money, hours."""

from collections.abc import Iterator, Mapping, Sequence

from benchrun.account.facts import RunFacts
from benchrun.board import look, parts_in_work
from benchrun.history.estimates import keep_up
from benchrun.history.work_spans import worked_in
from benchrun.jobs.costs import cost_so_far, cost_together
from benchrun.jobs.costs_ahead import ahead_fields, ahead_together, costs_ahead
from benchrun.jobs.part_page import AHEAD, SPREAD, cost_fields, figures_known, job_figures
from benchrun.jobs.run_facts import facts_of_runs
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.plan.progress import PartProgress, parts_progress
from benchrun.report.doc import Block, Bullets, Cell, Fields, Para, Section, Sheet, table_of
from benchrun.run.state import Status
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Job, Part, runs_of
from benchrun.shop_use.book_words import book_of, thing_facts
from benchrun.text import count, listed, slug

_OUT = ("scrapped", "to be replaced")


@lean_dataclass(frozen=True, slots=True)
class _Place:
    """Where parts stand together: a procedure of their routes and how they stand before it."""

    at: str
    stands: str
    tags: tuple[str, ...]
    share: float
    calls: bool


def job_sheet(shop: Shop, name: str, now: Moment) -> Sheet:
    """The page of a job.

    Args:
        shop: The shop.
        name: The job's id.
        now: The moment.

    Raises:
        BenchrunError: There is no such job; says which there are.
    """
    keep_up(shop.path)
    books = read_books(shop)
    job = books.jobs.named(name)
    own = [part for part in books.parts.rows if part.job == job.id]
    runs = runs_of(job, own)
    facts, lost = facts_of_runs(shop, runs)
    progress = {one.part.id: one for one in parts_progress(shop, parts_in_work(shop))}
    worked = worked_in(shop.path, runs)
    cost = cost_together([cost_so_far(books, part, facts, worked) for part in own])
    queries = list(_queries(facts, own))
    places = _places(own, progress, queries)
    holding = [*_holding(books, own, progress, now), *queries]
    sections = (
        Section("Where its parts are", _stand_blocks(own, places)),
        Section("What holds it up", _bullets(holding, "Nothing.")),
        Section("So far", (Fields(tuple(cost_fields(cost)) or (("cost", "nothing"),)),)),
        _ahead(shop, books, own, progress, now),
        figures_known(job_figures(job).values()),
        Section("Part by part", (_each(own, progress),)) if own else None,
        Section(
            "Runs",
            _bullets([*_runs(facts), *(f"{run}: {why}" for run, why in lost)]),
        ),
    )
    return Sheet(
        f"{job.id}: {job.name}",
        "Job",
        Fields(_card(shop, books, job, own, queries, now)),
        (),
        tuple(section for section in sections if section is not None),
    )


def _card(
    shop: Shop, books: ShopBooks, job: Job, own: Sequence[Part], queries: Sequence[str], now: Moment
) -> tuple[tuple[str, str], ...]:
    """The head: all that the book says of it, its parts and runs counted, as names stand below."""
    told = thing_facts(book_of("jobs"), shop, books, job.id, day_of(now))
    above = ("id", "name", "parts", "runs", "cost")
    rows = [row for row in told if row[0] not in above and not row[0].startswith("figure ")]
    waiting = f", {count(len(queries), 'query', 'queries')} open" if queries else ""
    return (*rows, ("parts", f"{count(len(own), 'part')}{waiting}"))


def _queries(facts: Sequence[RunFacts], own: Sequence[Part]) -> Iterator[str]:
    ids = {part.id for part in own}
    for run in facts:
        if run.closed:
            continue
        asked: dict[str, list[str]] = {}
        for part in run.parts:
            for says in part.questions if slug(part.part) in ids else ():
                asked.setdefault(says, []).append(part.part)
        for says, tags in asked.items():
            yield f"{part_names(tags)}: query open in {run.run}: {says}"


def _places(
    own: Sequence[Part], progress: dict[str, PartProgress], queries: Sequence[str]
) -> list[_Place]:
    """Where the parts stand, those that are furthest back on their routes first."""
    groups: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for part in own:
        one = progress.get(part.id)
        if one is None:
            groups.setdefault(("no route", _settled(part)), []).append((part.id, 1.0))
            continue
        whole = len(one.done) + len(one.remaining)
        share = len(one.done) / whole
        out = next((word for word in _OUT if one.held.startswith(word)), "")
        if out:
            groups.setdefault(("out of the job", out), []).append((part.id, 3.0))
        elif not one.remaining:
            groups.setdefault(("through", "done"), []).append((part.id, 2.0))
        else:
            groups.setdefault((one.remaining[0], _stands(one)), []).append((part.id, share))
    asked = " ".join(queries)
    found = []
    for (at, stands), rows in groups.items():
        tags = tuple(tag for tag, _ in rows)
        waits = any(tag in asked for tag in tags)
        words = f"{stands}, query open" if waits else stands
        calls = waits or stands.startswith("away")
        found.append(_Place(at, words, tags, min(share for _, share in rows), calls))
    return sorted(found, key=lambda place: place.share)


def _stands(one: PartProgress) -> str:
    if one.held.startswith("in work in the open run "):
        return "in work"
    gone = one.part.gone
    if gone is not None and one.held == one.part.whereabouts:
        return f"away at {gone.to}"
    return one.held or "ready"


def _settled(part: Part) -> str:
    return part.whereabouts if part.gone else part.decision or "undecided"


def _stand_blocks(own: Sequence[Part], places: Sequence[_Place]) -> tuple[Block, ...]:
    if not own:
        return (Para("No part belongs to it: name it as the job of parts."),)
    rows = [
        (place.at, part_names(place.tags), Cell(place.stands, mark="doubt" if place.calls else ""))
        for place in places
    ]
    return (table_of(("next on the route", "parts", "stand"), rows),)


def _holding(
    books: ShopBooks, own: Sequence[Part], progress: dict[str, PartProgress], now: Moment
) -> Iterator[str]:
    """All that no hand here can move on: away, lost without another, without a route."""
    today = day_of(now)
    replaced = {part.replaces for part in books.parts.rows if _good(part)}
    for part in own:
        if part.gone:
            late = part.gone.due is not None and part.gone.due < today
            yield f"{part.id}: {part.whereabouts}" + (": overdue" if late else "")
        one = progress.get(part.id)
        out = one is not None and any(one.held.startswith(word) for word in _OUT)
        if out and part.id not in replaced and not part.replaces:
            yield f"{part.id}: {one.held if one else ''}, and nothing takes its place yet"
    without = [part.id for part in own if part.id not in progress and part.decision != "scrap"]
    if without:
        yield f"{part_names(without)}: no route"


def _good(part: Part) -> bool:
    return part.decision != "scrap" and not part.stands.startswith(Status.SCRAP.value)


def _each(own: Sequence[Part], progress: dict[str, PartProgress]) -> Block:
    rows = []
    for part in own:
        one = progress.get(part.id)
        whole = len(one.done) + len(one.remaining) if one else 0
        along = f"{len(one.done)} of {whole}" if one else ""
        last = (listed(one.done[-1:]) if one.done else "") if one else ""
        rows.append((part.id, part.name, along, last, part.whereabouts))
    return table_of(("part", "what", "done", "last done", "where"), rows)


def _runs(facts: Sequence[RunFacts]) -> Iterator[str]:
    for run in sorted(facts, key=lambda one: one.began):
        state = "closed" if run.closed else "open"
        parts = count(len(run.parts), "part")
        yield f"{run.began[:10]}  {run.title}, {parts}, {state} ({run.run})"


def _ahead(
    shop: Shop,
    books: ShopBooks,
    own: Sequence[Part],
    progress: Mapping[str, PartProgress],
    now: Moment,
) -> Section | None:
    """The cost of the rest of its parts' routes, and the parts that are not counted in it."""
    costs = costs_ahead(shop, books, look(shop, now).open_runs, now)
    counted = [costs[part.id] for part in own if part.id in costs]
    left = [
        part.id
        for part in own
        if part.id not in costs and part.id in progress and progress[part.id].remaining
    ]
    rows = ahead_fields(ahead_together(counted)) if counted else []
    rows += [("without", f"{part_names(left)}: held, as said above")] if left else []
    if not rows:
        return None
    note = (Para(SPREAD),) if counted else ()
    return Section(AHEAD, (Fields(tuple(rows)), *note))


def _bullets(rows: Sequence[str], nothing: str = "None yet.") -> tuple[Block, ...]:
    return (Bullets(tuple(rows)),) if rows else (Para(nothing),)
