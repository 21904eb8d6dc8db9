"""Listing and showing parts and jobs, sending away and taking back."""

from collections.abc import Iterable
from pathlib import Path

from benchrun.moment import Moment
from benchrun.shop.amounts import Money, day_of, read_day, sums
from benchrun.shop.deeds import enter_cost, send_away, take_back
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Part, cost_of, read_jobs, read_parts, runs_of, unlinked
from benchrun.shopkeeping.words import facts, table, told
from benchrun.text import count, listed


def parts(shop: Shop, job: str = "") -> str:
    """The parts, of one job or all, with what was decided and where each is.

    Raises:
        BenchrunError: There is no such job.
    """
    sheet, jobs = read_parts(shop), read_jobs(shop)
    if job:
        jobs.named(job)
    rows = [_row(one) for one in sheet.rows if job in {"", one.job}]
    text = table(rows) or "no part yet: add one with benchrun, or write it in the file"
    loose = [f"put right  parts.yaml: {one}" for one in unlinked(sheet.rows, jobs.rows)]
    return "\n".join([told(text, dict.fromkeys((*sheet.faults, *jobs.faults))), *loose])


def _row(one: Part) -> tuple[str, ...]:
    name = f"{one.name}, {one.side}" if one.side else one.name
    return one.id, name, one.job, one.decision or "undecided", one.whereabouts


def part(shop: Shop, name: str) -> str:
    """Everything about one part, with its trips and costs."""
    sheet = read_parts(shop)
    one = sheet.named(name)
    spares = [other.id for other in sheet.rows if other.replaces == one.id]
    head = facts(
        [
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
            ("cost", _sum(one)),
            ("note", one.note),
        ]
    )
    trips = [
        (
            str(trip.sent),
            f"to {trip.to}, {count(trip.count, 'piece')}",
            f"back {trip.back}" if trip.back else f"due {trip.due or 'no day'}",
            trip.photo,
        )
        for trip in one.away
    ]
    costs = [(str(cost.on), cost.what, cost.price.words) for cost in one.costs]
    return "\n\n".join(filter(None, (head, table(trips), table(costs))))


def _sum(one: Part) -> str:
    return _total(sums(cost.price for cost in one.costs))


def _total(amounts: Iterable[Money]) -> str:
    return " and ".join(one.words for one in amounts)


def away(
    shop: Shop,
    name: str,
    to: str,
    now: Moment,
    *,
    pieces: int = 1,
    due: str = "",
    photo: Path | None = None,
) -> str:
    """Send a part away.

    Returns:
        One line that says where it is now.

    Raises:
        BenchrunError: It is away already, there is no such part, or a value will not do.
    """
    back = read_day(due) if due else None
    one = send_away(shop, name, to, day_of(now), count=pieces, due=back, photo=photo)
    return f"{one.id} is {one.whereabouts}"


def back(shop: Shop, name: str, now: Moment) -> str:
    """Take a part back in.

    Raises:
        BenchrunError: It is not away, or there is no such part.
    """
    one = take_back(shop, name, day_of(now))
    return f"{one.id} is back: {one.whereabouts}"


def cost(shop: Shop, name: str, price: str, what: str, now: Moment) -> str:
    """Enter what was paid for a part.

    Raises:
        BenchrunError: There is no such part, or the price is none.
    """
    one = enter_cost(shop, name, what, price, day_of(now))
    return f"{one.id}: {one.costs[-1].what} {one.costs[-1].price.words}, in all {_sum(one)}"


def jobs(shop: Shop) -> str:
    """The vehicles and jobs, with how many parts and runs each has."""
    sheet, rows = read_jobs(shop), read_parts(shop).rows
    lines = []
    for job in sheet.rows:
        own = [one for one in rows if one.job == job.id]
        state = f"done {job.done}" if job.done else "open"
        runs = count(len(runs_of(job, rows)), "run")
        lines.append((job.id, job.name, state, f"{count(len(own), 'part')}, {runs}"))
    return told(table(lines) or "no job yet: add one with benchrun", sheet.faults)


def job(shop: Shop, name: str) -> str:
    """Everything about one vehicle or job: its parts, runs and costs.

    Raises:
        BenchrunError: There is no such job.
    """
    one, sheet = read_jobs(shop).named(name), read_parts(shop)
    head = facts(
        [
            ("id", one.id),
            ("name", one.name),
            ("owner", one.owner),
            ("done", str(one.done or "")),
            ("cost", _total(cost_of(one, sheet.rows))),
            ("note", one.note),
        ]
    )
    own = table([_row(part) for part in sheet.rows if part.job == one.id])
    runs = "\n".join(f"run  {run}" for run in runs_of(one, sheet.rows))
    return "\n\n".join(filter(None, (head, own, runs)))
