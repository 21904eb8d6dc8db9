"""A part's page: what it is, its way, its life over all runs, its figures, what it cost so far."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

from benchrun.account.facts import PartFacts, RunFacts
from benchrun.account.value_facts import FigureFacts, ReadingFacts
from benchrun.board import look, parts_in_work
from benchrun.errors import BenchrunError
from benchrun.history.estimates import about, keep_up
from benchrun.history.work_spans import worked_in
from benchrun.jobs.costs import PartCost, cost_so_far
from benchrun.jobs.costs_ahead import CostAhead, ahead_fields, costs_ahead
from benchrun.jobs.run_facts import facts_of_runs, part_in
from benchrun.moment import Moment
from benchrun.plain_file import read_plain
from benchrun.plan.progress import PartProgress, progress_of
from benchrun.quantity import limits_words, unit_words
from benchrun.report.command import MOST_ONE, media_type
from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Fields,
    Para,
    Picture,
    Section,
    Sheet,
    Strip,
    Under,
    table_of,
)
from benchrun.report.readings import verdict_mark
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Job, Part
from benchrun.shop_use.book_words import book_of, lines_of, thing_facts, total
from benchrun.shopmath.amount import said
from benchrun.text import count, listed
from benchrun.wording import STATES, minute_words

_MOST_VALUES = 4
AHEAD: Final = "Still to come"
"""The heading over what the rest of a route will cost."""
SPREAD: Final = "In brackets: what 10 of 100 and 90 of 100 stay under."


def part_sheet(shop: Shop, name: str, now: Moment, *, pictures: bool = False) -> Sheet:
    """The page of a part.

    Args:
        shop: The shop.
        name: The part's id.
        now: The moment.
        pictures: Whether its photos are read, for a form that shows them; else they are named.

    Raises:
        BenchrunError: There is no such part; says which there are.
    """
    keep_up(shop.path)
    books = read_books(shop)
    part = books.parts.named(name)
    facts, lost = facts_of_runs(shop, part.runs)
    progress = progress_of(shop, part, parts_in_work(shop))
    cost = cost_so_far(books, part, facts, worked_in(shop.path, part.runs))
    ahead = costs_ahead(shop, books, look(shop, now).open_runs, now).get(part.id)
    sections = (
        _lines(books, name),
        _cost(part, cost),
        _ahead(ahead, progress),
        _life(part, facts, lost),
        _figures(books, part, facts),
        _photos(shop, part, pictures=pictures),
    )
    job = books.jobs.find(part.job) if part.job else None
    return Sheet(
        f"{part.id}: {part.name}" + (f", {part.side}" if part.side else ""),
        job.name if job else "Part",
        Fields(_card(shop, books, part, progress, now)),
        (),
        tuple(section for section in sections if section is not None),
    )


def _card(
    shop: Shop, books: ShopBooks, part: Part, progress: PartProgress | None, now: Moment
) -> tuple[tuple[str, str], ...]:
    """Everything that the book says of it, with its way behind what was decided."""
    rows: list[tuple[str, str]] = []
    for label, text in thing_facts(book_of("parts"), shop, books, part.id, day_of(now)):
        if label in ("id", "name", "side", "runs", "cost", "photos"):
            continue  # the title has it, or it is told below with its days
        rows.append((label, text))
        if label == "where":
            rows += way_fields(progress)
    return tuple(rows)


def way_fields(progress: PartProgress | None) -> list[tuple[str, str]]:
    """The way of a part as labels with what belongs to them: done, next, then."""
    if progress is None:
        return [("route", "none: name one of routes.yaml, or write its own")]
    whole = len(progress.done) + len(progress.remaining)
    rows = [("route", f"{progress.route.id}, {len(progress.done)} of {whole} done")]
    if progress.done:
        rows.append(("done", listed(progress.done, most=20)))
    if progress.found:
        rows.append(("found", f"{progress.found}: it goes another way from there on"))
    if progress.held:
        # Where it is stands above: a part that is away needs no second line for that.
        rows += [("now", progress.held)] if progress.held != progress.part.whereabouts else []
    elif progress.next:
        rows.append(("next", progress.next))
    ahead = progress.remaining[0 if progress.held else 1 :]
    if ahead:
        rows.append(("ahead", listed(ahead, most=20)))
    elif not progress.remaining:
        rows.append(("next", "nothing: it is through"))
    return rows


def _life(part: Part, facts: Sequence[RunFacts], lost: Sequence[tuple[str, str]]) -> Section | None:
    blocks: list[Block] = []
    for run in reversed(facts):
        own = part_in(run, part.id)
        if own is not None:
            blocks += _in_run(run, own)
    blocks += [Para(f"{run}: {why}", "bad") for run, why in lost]
    return Section("Its life, the latest first", tuple(blocks) or (Para("No run yet."),))


def _in_run(run: RunFacts, own: PartFacts) -> Iterator[Block]:
    """One run of a part: how it ended there, values, coats, findings, deviations, signatures."""
    when = f"{minute_words(run.began)[:10]} to {minute_words(run.last)[:10]}"
    if when[:10] == when[-10:]:
        when = when[:10]
    open_words = "" if run.closed else ", open"
    rehearsed = ", a rehearsal" if run.rehearsal else ""
    yield Under(
        f"{when}  {run.title}", f"{run.run}, revision {run.revision}{open_words}{rehearsed}"
    )
    state = [STATES.get(own.status, own.status), own.stands, own.reason]
    yield Para("; ".join(word for word in state if word))
    yield from (Para(f"Query open: {says}", "doubt") for says in own.questions)
    rows = list(_values(run, own.part))
    if rows:
        columns = ("step", "reading", "value", "limits", "verdict")
        yield table_of(columns, rows, (0,))
    words = [*_rounds(run, own.part), *_remarks(run, own.part), *_signed(run, own.part)]
    if words:
        yield Bullets(tuple(words))


def _values(run: RunFacts, tag: str) -> Iterator[tuple[Cell | str, ...]]:
    """Values read, worked out and found, a row each; the places of a reading in one."""
    groups: dict[tuple[int, str], list[ReadingFacts]] = {}
    for reading in run.readings:
        if reading.part == tag and not reading.taken_back:
            groups.setdefault((reading.number, reading.name), []).append(reading)
    rows: dict[int, list[tuple[Cell | str, ...]]] = {}
    for (number, name), group in groups.items():
        rows.setdefault(number, []).append(
            (str(number), name.replace("_", " "), _value(group), _limits(group), _verdict(group))
        )
    for finding in run.findings:
        if finding.part == tag and not finding.taken_back:
            row = (str(finding.number), finding.name.replace("_", " "), finding.found, "", "")
            rows.setdefault(finding.number, []).append(row)
    for number in sorted(rows):
        yield from rows[number]


def _value(group: Sequence[ReadingFacts]) -> Cell:
    last = group[-1]
    texts = [one.shown or one.value for one in group]
    was = last.first if len(group) == 1 and last.first != last.value else ""
    unit = unit_words(last.unit) if last.unit else ""
    if len(texts) > _MOST_VALUES:
        ordered = sorted(Decimal(one.value) for one in group)
        texts = [f"{ordered[0]} to {ordered[-1]} ({len(group)})"]
    return Cell(f"{', '.join(texts)} {unit}".strip(), was)


def _limits(group: Sequence[ReadingFacts]) -> str:
    return limits_words(group[-1].low, group[-1].high)


def _verdict(group: Sequence[ReadingFacts]) -> Cell:
    words = dict.fromkeys(one.verdict for one in group if one.verdict)
    worst = next((word for word in words if verdict_mark(word)), next(iter(words), ""))
    corrected = "; corrected" if any(one.corrected_by is not None for one in group) else ""
    return Cell(f"{worst}{corrected}", mark=verdict_mark(worst))


def _rounds(run: RunFacts, tag: str) -> Iterator[str]:
    for rounds in run.repeats:
        if tag in rounds.parts and rounds.rounds:
            last = minute_words(rounds.rounds[-1][0])
            yield f"{rounds.title}: {count(len(rounds.rounds), 'time')}, the last {last} UTC"


def _remarks(run: RunFacts, tag: str) -> Iterator[str]:
    for remark in (*run.deviations, *run.doubts):
        if tag in remark.parts or not remark.parts:
            why = f": {remark.reason}" if remark.reason else ""
            step = f"step {remark.number}, " if remark.number else ""
            yield f"deviation, {step}{remark.words}{why} ({run.name_of(remark.by)})"


def _signed(run: RunFacts, tag: str) -> Iterator[str]:
    for sign in run.signatures:
        if tag in sign.parts or not sign.parts:
            role = f", {sign.role}" if sign.role else ""
            step = f"step {sign.number}" if sign.number else "the close"
            yield f"signed by {sign.name}{role}, {minute_words(sign.utc)} UTC: {step}"


def _figures(books: ShopBooks, part: Part, facts: Sequence[RunFacts]) -> Section | None:
    rows: dict[tuple[str, str], tuple[str, ...]] = {}
    for run in facts:
        if part_in(run, part.id) is not None:
            rows |= {(one.name, one.value): _figure(one, run) for one in run.figures if one.value}
    job = books.jobs.find(part.job) if part.job else None
    for key, row in job_figures(job).items() if job else ():
        rows.setdefault(key, row)
    return figures_known(rows.values())


def job_figures(job: Job) -> dict[tuple[str, str], tuple[str, ...]]:
    """The figures of a job as they hold, a row each under name and value."""
    newest = {figure.name: figure for figure in job.figures}
    rows: dict[tuple[str, str], tuple[str, ...]] = {}
    for one in newest.values():
        where = ", ".join(filter(None, (one.document, one.page and f"page {one.page}")))
        row = (one.name.replace("_", " "), one.value, where, f"job {job.id}")
        rows[one.name, one.value] = row
    return rows


def figures_known(rows: Iterable[Sequence[str]]) -> Section | None:
    """Figures with where they come from and where they are kept; None where there are none."""
    found = list(rows)
    if not found:
        return None
    return Section("Figures", (table_of(("figure", "value", "from", "kept in"), found),))


def _figure(one: FigureFacts, run: RunFacts) -> tuple[str, ...]:
    where = ", ".join(filter(None, (one.document, one.page and f"page {one.page}")))
    return (one.name.replace("_", " "), f"{one.value} {one.unit}".strip(), where, run.run)


def _photos(shop: Shop, part: Part, *, pictures: bool) -> Section | None:
    """Its photos, each under its name."""
    if not part.pictures:
        return None
    shown = [_photo(shop.path / name) if pictures else ("", None) for name in part.pictures]
    strip = tuple(
        Picture(name, kind, content)
        for name, (kind, content) in zip(part.pictures, shown, strict=True)
    )
    return Section("Photos", (Strip(strip),))


def _photo(path: Path) -> tuple[str, bytes | None]:
    """The media type and bytes of a picture as a page shows it; nothing where it cannot."""
    from benchrun.pictures.scaled import scaled

    try:
        content = read_plain(path) if path.stat().st_size <= MOST_ONE else b""
    except (BenchrunError, OSError):
        return "", None
    kind = media_type(content)
    return (scaled(content, kind) if kind else None) or ("", None)


def cost_fields(cost: PartCost) -> list[tuple[str, str]]:
    """The cost of parts as labels with what belongs to them."""
    used = listed(
        [f"{name} {said(amount.value, amount.unit)}" for name, amount in cost.used], most=40
    )
    rows = [
        ("paid", total(cost.paid)),
        ("supplies", used + (f", {total(cost.priced)}" if cost.priced else "")),
        ("money", total(cost.money) if cost.paid and cost.priced else ""),
        ("at work", about(cost.hands_ms) if cost.hands_ms else ""),
    ]
    return [(label, text) for label, text in rows if text]


def _cost(part: Part, cost: PartCost) -> Section:
    rows = cost_fields(cost)
    if not rows:
        return Section("Cost so far", (Para("Nothing so far."),))
    shares = "An act on several parts counts for each by an equal share."
    note = (Para(shares),) if cost.used or cost.hands_ms else ()
    return Section("Cost so far", (Fields(tuple(rows)), *note))


def _ahead(cost: CostAhead | None, progress: PartProgress | None) -> Section | None:
    """The cost of the rest of its route; None where it is through or has none."""
    if cost is None:
        if progress is None or not progress.remaining:
            return None
        why = progress.held or "its runs cannot be read"
        return Section(AHEAD, (Para(f"Not counted: {why}."),))
    return Section(AHEAD, (Fields(tuple(ahead_fields(cost))), Para(SPREAD)))


def _lines(books: ShopBooks, name: str) -> Section | None:
    lines = lines_of(book_of("parts"), books, name)
    if not lines:
        return None
    wide = max(len(line) for line in lines)
    rows = [[*line, *[""] * (wide - len(line))] for line in lines]
    return Section("Trips and payments", (table_of(("day", "what", "", "photo")[:wide], rows),))
