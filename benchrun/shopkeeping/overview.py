"""The board in plain text, and what a shop is: for a glance, a printer or a screen reader."""

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

from benchrun.alarms.dark import dark_words
from benchrun.alarms.words import clock_words
from benchrun.board import Board, look, still_away
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.record.register import Register
from benchrun.run.act_clocks import ClockKind
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.duties import Duty, Sort, duties
from benchrun.shop.folder import (
    REMEMBERED,
    Shop,
    default_path,
    named_path,
    pasteable,
    settings_folder,
)
from benchrun.shop.hours import Hours
from benchrun.shop_place import BACK_UP
from benchrun.text import count, shown, span
from benchrun.wording import clock_time, elapsed_words, late_words

_TITLES = {
    Sort.AWAY: "Away",
    Sort.SUPPLY: "Supplies low, expired or expiring",
    Sort.INSTRUMENT: "Calibration",
    Sort.FILE: "To put right",
}


def board_text(shop: Shop, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """The board: what runs, what is due when, what is away, short or out of calibration.

    Args:
        shop: The shop.
        now: The moment.
        zone: The time zone of the times of day; None: that of this machine.
    """
    board, books = look(shop, now), read_books(shop)
    noted = duties(books, day_of(now))
    sections = [
        ("Clocks", [*_clocks(board, now, books.settings.hours, zone)]),
        ("Runs", _runs(board)),
    ]
    for sort, title in _TITLES.items():
        lines = [_duty(one) for one in noted if one.sort is sort]
        if sort is Sort.AWAY:
            lines = [*_away(board, books, now, zone), *lines]
        sections.append((title, lines))
    local = dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC).astimezone(zone)
    head = f"{shown(shop.title, 60)}, {local:%Y-%m-%d %H:%M}"
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


def _clocks(board: Board, now: Moment, hours: Hours, zone: dt.tzinfo | None) -> Iterable[str]:
    """Loads, tendings and windows of all runs, the most urgent first; what is away stands below."""
    for open_run, run, clock in board.clocks_at(now):
        if clock.kind is ClockKind.AWAY:
            continue
        words = clock_words(run, clock, now, zone)
        since = clock.load.spent if clock.load and clock.kind is ClockKind.LOAD else None
        told = elapsed_words(since.proven_ms, since.possible_ms) if since else ""
        told = f", in for {told}" if told else ""
        call = f"{words.signal}  " if words.signal else ""
        dark = dark_words(clock, hours, now, zone)
        dark = f"; {dark}" if dark else ""
        act = shown(words.act, 100)
        yield f"{call}{words.parts}: {act}, {words.when}{told}{dark} ({open_run.id})"


def _away(board: Board, books: ShopBooks, now: Moment, zone: dt.tzinfo | None) -> Iterable[str]:
    for run in board.open_runs:
        for clock in run.sent:
            due = ""
            if clock.to_most is not None and clock.most is not None:
                by = clock_time(now.utc_ms + clock.to_most, now.utc_ms, zone)
                due = f", {late_words(clock.spent, clock.most) or f'due back by {by}'}"
            gone = span(clock.spent.proven_ms)
            where = f"{shown(clock.vessel, 60)} for {gone}{due}"
            yield f"{part_names(clock.parts)} at {where} ({run.id})"
        for place, parts in run.away:
            yield f"{part_names(parts)} at {shown(place, 60)} ({run.id})"
    for left in still_away(board.left_away, books.parts.rows):
        where = f"{shown(left.place, 60)}, left so by the closed run {left.run}"
        yield f"{part_names(left.parts)} at {where}"


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
        f"head {_head(shop)}",
        BACK_UP,
        *(f"put right  {fault.words}" for fault in books.faults),
        *(f"put right  {words}" for words in books.loose_ends),
    ]
    return "\n".join(lines), not (books.faults or books.loose_ends)


def _head(shop: Shop) -> str:
    """The short head of the shop's register, to be noted down and held against it later."""
    try:
        head = Register(shop.path).read().short_head
    except BenchrunError as error:
        return f"not known: {shown(error.message, 200)}"
    return (
        f"{head}; later: {pasteable(shop.path, 'verify', '--head', head)}" if head else "none yet"
    )


def _opens(path: Path) -> str:
    """Which shop is opened from now on where none is named."""
    if named_path() is not None and default_path().absolute() != path.absolute():
        return "BENCHRUN_SHOP names another, which benchrun goes on opening."
    kept = shown(str(settings_folder() / REMEMBERED), 200)
    return f"From now on benchrun opens it where no other is named ({kept} says so)."


def new_words(path: Path) -> str:
    """First steps with a shop that was just made."""
    return (
        f"A shop was made in {shown(str(path), 200)}; shop.yaml there says what lies where.\n"
        f"{_opens(path)}\n"
        f"Next: {pasteable(path, 'people', 'add', 'YOUR NAME')}"
    )
