"""Due dates at the bench, as an iCalendar file (RFC 5545) that a telephone's calendar reads.

Times are of this machine's wall clock at the moment of asking: a clock that runs on, or a part that
is lifted, makes a new file. Each entry keeps its identity: reading the new file replaces it.
"""

import datetime as dt
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment
from benchrun.procedure.route import Dwell, Step
from benchrun.record.folder import RunFolder, run_folders
from benchrun.run.clocks import LoadClock, WindowState, loads, window
from benchrun.run.state import Run
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import read_instruments
from benchrun.shop.parts import read_parts
from benchrun.shop.supplies import read_supplies
from benchrun.text import count, listed, shown, slug
from benchrun.wording import late_words, time_limits

if TYPE_CHECKING:
    from icalendar import Event

_BEFORE: Final = dt.timedelta(minutes=5)
_PRODUCT: Final = "-//benchrun//what falls due//EN"


@dataclass(frozen=True, slots=True)
class Due:
    """Something that falls due.

    Attributes:
        uid: The same as long as it is the same thing.
        words: What it is, in one line.
        begin: When it may be done, or must be; a day, or a moment in UTC.
        end: When it must be done at the latest, or None.
        more: What else is to be known.
    """

    uid: str
    words: str
    begin: dt.datetime | dt.date
    end: dt.datetime | None = None
    more: str = ""


def write_due(shop: Shop, to: Path, now: Moment) -> str:
    """Write what falls due in a shop to a file: by its runs, and by its own books.

    Args:
        shop: The shop.
        to: The file to write, ending in .ics; one that is there is replaced.
        now: The moment now.

    Returns:
        A line that says what was written, with the runs that could not be read.

    Raises:
        BenchrunError: The ending is another, nothing is due, or the disk refused.
    """
    if to.suffix.lower() != ".ics":
        raise BenchrunError(f"{shown(to.name, 100)}: a calendar ends in .ics")
    found, unread = due_in_runs(shop.runs, now)
    found += due_in_shop(shop)
    if not found:
        raise BenchrunError(
            "nothing is due: no clock runs, no window is open, no part is expected", exit_code=1
        )
    content = as_calendar(found, now)
    beside = to.with_name(f".{to.name}.{os.getpid()}")
    try:
        beside.write_bytes(content)
        beside.replace(to)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise BenchrunError(
            f"{shown(str(to), 200)} cannot be written: {error.strerror or error}"
        ) from None
    said = f"{count(len(found), 'thing')} due, written to {shown(str(to), 200)}"
    return f"{said}; not read, damaged: {listed(unread)}" if unread else said


def due_in_shop(shop: Shop) -> list[Due]:
    """Due dates of the shop: parts away, calibrations, supplies; rows that are not sound apart.

    What was put out of use, or has come back, is not waited for.
    """
    found = []
    own = shop.signs_as or slug(shop.title)  # two shops may give one id to different things
    for part in read_parts(shop).rows:
        trip = part.gone
        if trip is not None and trip.due is not None:
            words = f"Due back from {trip.to}: {part.name} ({part.id})"
            more = f"Sent on {trip.sent}, {count(trip.count, 'piece')}."
            found.append(Due(f"{own}.part-{part.id}", words, trip.due, None, more))
    for instrument in read_instruments(shop).rows:
        if instrument.until is not None and not instrument.out_of_use:
            words = f"Last day of calibration: {instrument.name} ({instrument.id})"
            found.append(Due(f"{own}.instrument-{instrument.id}", words, instrument.until))
    for supply in read_supplies(shop).rows:
        if supply.good_until is not None and not supply.out_of_use:
            words = f"Good until today: {supply.name} ({supply.id})"
            found.append(Due(f"{own}.supply-{supply.id}", words, supply.good_until))
    return found


def due_in_runs(runs: Path, now: Moment) -> tuple[list[Due], list[str]]:
    """The due moments of the open runs of a shop.

    Returns:
        The things, and the ids of the runs that could not be read.
    """
    found: list[Due] = []
    unread: list[str] = []
    for folder in run_folders(runs):
        if folder.seal.is_file():
            continue
        try:
            run = folded(*read_kept(folder))
            found += _of_run(folder, run, now)
        except (BenchrunError, ValueError):
            unread.append(folder.run)
    return sorted(found, key=lambda one: (str(one.begin), one.uid)), unread


def _of_run(folder: RunFolder, run: Run, now: Moment) -> Iterator[Due]:
    if run.ended:
        return
    for clock in loads(run, now):
        yield _of_load(folder, clock, now)
    yield from _windows(folder, run, now)


def _of_load(folder: RunFolder, clock: LoadClock, now: Moment) -> Due:
    detail = clock.step.detail
    who = listed(clock.parts)
    away = isinstance(detail, Dwell) and bool(detail.place)
    words = f"Due back from {clock.vessel}: {who}" if away else f"Take out: {who}"
    begin = _later(now, clock.to_least)
    end = None if clock.to_most is None else _later(now, clock.to_most)
    if clock.most is not None and clock.spent.possible_ms is None:
        words, end = f"{words}, {late_words(clock.spent, clock.most) or 'in time'}", None
    if clock.least is None and end is not None:
        begin = end
    limits = time_limits(clock.least, clock.most)
    more = f"Step {clock.step.number}, {clock.step.text} {limits}".strip()
    uid = f"{folder.run}.load-{clock.load}-{clock.step.id}"
    return Due(uid, words, begin, end, f"{more}\nRun {folder.run}")


def _windows(folder: RunFolder, run: Run, now: Moment) -> Iterator[Due]:
    """The windows before later steps, one for the parts whose window began together.

    What names one is its beginning and not its parts, so that it stays the same thing in a calendar
    when some of them go on.
    """
    found: dict[str, tuple[Step, WindowState, list[str]]] = {}
    for marker in run.each():
        for step_id, clock in marker.windows.items() if marker.here else ():
            step = run.route.steps[step_id]
            state = window(run, marker, step, now)
            if state is not None and (state.to_least is not None or state.to_most is not None):
                began = (clock.least_from.proven_ms, clock.most_from.proven_ms, clock.ago_ms)
                name = "-".join(("window", step_id, *map(str, began)))
                found.setdefault(name, (step, state, []))[2].append(marker.part)
    for name, (step, state, parts) in found.items():
        yield _of_window(folder.run, name, step, state, tuple(parts), now)


def _of_window(
    run: str, name: str, step: Step, state: WindowState, parts: tuple[str, ...], now: Moment
) -> Due:
    least, most = state.to_least, state.to_most
    end = None if most is None else _later(now, most)
    begin = _later(now, least or 0) if least is not None or end is None else _later(now, 0)
    words = f"Window of step {step.number}: {listed(parts)}"
    if end is not None and most is not None and most <= 0:
        sure = state.since_most.possible_ms is not None
        said = "closed" if sure else late_words(state.since_most, state.most or 0)
        words, begin, end = f"{words}, {said}", end, None
    return Due(f"{run}.{name}", words, begin, end, f"{step.text}\nRun {run}")


def _later(now: Moment, ms: int) -> dt.datetime:
    """A moment from now on, to the second above: never said sooner than it is."""
    seconds = -(-(now.utc_ms + ms) // 1000)
    return dt.datetime.fromtimestamp(seconds, dt.UTC)


def as_calendar(found: Sequence[Due], now: Moment) -> bytes:
    """The bytes of an iCalendar file; the standard wants at least one entry in it."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    for one in found:
        calendar.add_component(_event(one, now))
    content: bytes = calendar.to_ical()
    return content


def _event(one: Due, now: Moment) -> "Event":
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", f"{one.uid}@benchrun")
    event.add("dtstamp", dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC))
    event.add("dtstart", one.begin)
    event.add("summary", shown(one.words, 300))
    if one.end is not None and isinstance(one.begin, dt.datetime) and one.end > one.begin:
        event.add("dtend", one.end)
    if one.more:
        event.add("description", "\n".join(shown(line, 500) for line in one.more.split("\n")))
    event.add("transp", "TRANSPARENT")
    if isinstance(one.begin, dt.datetime):
        moments = [dt.timedelta(0)]
        moments += [one.end - one.begin - _BEFORE] if one.end and one.end > one.begin else []
        for moment in moments:
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", shown(one.words, 300))
            alarm.add("trigger", moment)
            event.add_component(alarm)
    return event
