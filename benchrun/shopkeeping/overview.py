"""The board in plain text, and what a shop is: for a glance, a printer or a screen reader."""

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

from benchrun.board import Board, OpenRun, is_sent, look, still_away
from benchrun.moment import Elapsed, Moment
from benchrun.run.clocks import LoadClock, window
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.duties import Duty, Sort, duties
from benchrun.shop.folder import Shop
from benchrun.text import count, listed, shown, span
from benchrun.wording import elapsed_words, late_words

_TITLES = {
    Sort.AWAY: "Away",
    Sort.SUPPLY: "Short or spoiled",
    Sort.INSTRUMENT: "Calibration",
    Sort.VESSEL: "Vessels",
    Sort.FILE: "To put right",
}


def board_text(shop: Shop, now: Moment) -> str:
    """The board: what runs, what is due when, what is away, short or out of calibration.

    Args:
        shop: The shop.
        now: The moment; times of the day are in UTC.
    """
    board, books = look(shop, now), read_books(shop)
    noted = duties(books, day_of(now))
    sections = [("Runs", _runs(board)), ("Clocks", _clocks(board, now))]
    sections.append(("Windows", [line for run in board.open_runs for line in _windows(run, now)]))
    for sort, title in _TITLES.items():
        lines = [_duty(one) for one in noted if one.sort is sort]
        if sort is Sort.AWAY:
            lines = [*_away(board, books, now), *lines]
        sections.append((title, lines))
    head = f"{shown(shop.title, 60)}, {now.utc[:10]} {now.utc[11:16]} UTC"
    text = [head]
    for title, lines in sections:
        if lines:
            text += ["", title, *(f"  {line}" for line in lines)]
    if len(text) == 1:
        text += ["", "Nothing is open, and nothing is due."]
    return "\n".join(text)


def _runs(board: Board) -> list[str]:
    return [
        f"{shown(run.title, 80)} ({run.id}): {shown(run.fault or run.words, 200)}"
        for run in board.open_runs
    ]


def _clocks(board: Board, now: Moment) -> list[str]:
    pairs = [(one, clock) for one, clock in board.clocks if not is_sent(clock)]
    return [
        f"{_vessel(one, clock)}: {listed(clock.parts)}, {_due(clock, now)} ({one.id})"
        for one, clock in pairs
    ]


def _vessel(run: OpenRun, clock: LoadClock) -> str:
    known = run.run.route.vessels.get(clock.vessel) if run.run else None
    return shown(known.title if known else clock.vessel or "on the bench", 60)


def _due(clock: LoadClock, now: Moment) -> str:
    spent = clock.spent
    told = elapsed_words(spent.proven_ms, spent.possible_ms, told_late=spent.told_late)
    in_for, to_most = f"in for {told}", clock.to_most
    if to_most is not None and to_most < 0:
        return f"{in_for}, {late_words(spent, clock.most or 0)}: take out now"
    if clock.to_least > 0:
        return f"{in_for}, may come out at {_at(now, clock.to_least)}"
    if to_most is not None:
        return f"{in_for}, must be out by {_at(now, to_most)}"
    return f"{in_for}, may come out"


def _at(now: Moment, ms: int) -> str:
    when = dt.datetime.fromtimestamp((now.utc_ms + ms) // 1000, dt.UTC)
    day = "" if ms < 12 * 3_600_000 else f"{when:%Y-%m-%d} "
    return f"{day}{when:%H:%M} UTC, {span(ms)} from now"


def _windows(one: OpenRun, now: Moment) -> Iterable[str]:
    """Which parts must come to a later step by when, such as to their next coat."""
    run = one.run
    if run is None:
        return
    parts_by_window: dict[tuple[str, str, int], list[str]] = {}
    for marker in run.each():
        for name in marker.windows if marker.here else ():
            state = window(run, marker, run.route.steps[name], now)
            if state is not None and state.to_most is not None:
                when = _by(now, state.to_most, state.since_most, state.most)
                parts_by_window.setdefault((name, when, state.to_most), []).append(marker.part)
    for (name, when, _), parts in sorted(parts_by_window.items(), key=lambda item: item[0][2]):
        step = run.route.steps[name]
        what = shown(f"step {step.number}, {step.text.rstrip('.')}", 100)
        yield f"{listed(parts)}: {what}, {when} ({one.id})"


def _by(now: Moment, to_most: int, spent: Elapsed, most: int | None) -> str:
    return late_words(spent, most or 0) or f"by {_at(now, to_most)}"


def _away(board: Board, books: ShopBooks, now: Moment) -> Iterable[str]:
    for run in board.open_runs:
        for clock in run.sent:
            most = clock.to_most
            due = ""
            if most is not None:
                by = _by(now, most, clock.spent, clock.most)
                due = f", due back {by}" if by.startswith("by ") else f", {by}"
            gone = span(clock.spent.proven_ms)
            where = f"{shown(clock.vessel, 60)} for {gone}{due}"
            yield f"{listed(clock.parts)} at {where} ({run.id})"
        for place, parts in run.away:
            yield f"{listed(parts)} at {shown(place, 60)} ({run.id})"
    for left in still_away(board.left_away, books.parts.rows):
        where = f"{shown(left.place, 60)}, left so by the closed run {left.run}"
        yield f"{listed(left.parts)} at {where}"


def _duty(duty: Duty) -> str:
    return f"{duty.words}: overdue" if duty.sort is Sort.AWAY and duty.late else duty.words


def shop_words(shop: Shop) -> tuple[str, bool]:
    """A shop in words: where it lies, what is in it, what is to be put right.

    Returns:
        The text, and whether all its files are sound.
    """
    books = read_books(shop)
    lines = [
        f"{shown(shop.title, 60)} in {shown(str(shop.path), 200)}",
        ", ".join(
            (
                count(len(books.people.rows), "person", "people"),
                count(len(books.instruments.rows), "instrument"),
                count(len(books.supplies.rows), "supply", "supplies"),
                count(len(books.vessels.rows), "vessel"),
                count(len(books.parts.rows), "part"),
                count(len(books.jobs.rows), "job"),
            )
        ),
        *(f"put right  {fault.words}" for fault in books.faults),
    ]
    return "\n".join(lines), not books.faults


def new_words(path: Path) -> str:
    """First steps with a shop that was just made."""
    return (
        f"A shop was made in {shown(str(path), 200)}; shop.yaml there says what lies where.\n"
        f"Next: benchrun --shop {shown(str(path), 200)} people add YOUR-NAME"
    )
