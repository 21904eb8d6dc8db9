"""Due dates at the bench, as an iCalendar file (RFC 5545) that a telephone's calendar reads.

Times are of this machine's wall clock at the moment of asking: a clock that runs on, or a part that
is lifted, makes a new file. Each entry keeps its identity: reading the new file replaces it.
"""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.alarms.words import act_words
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.record.folder import run_folders
from benchrun.report.target import put_report
from benchrun.run.act_clocks import ClockKind
from benchrun.run.state import Run
from benchrun.run.urgency import RunClock, ordered_clocks
from benchrun.shop.amounts import day_of
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import read_instruments
from benchrun.shop.parts import read_parts
from benchrun.shop.supplies import read_supplies
from benchrun.text import count, listed, shown, slug
from benchrun.wording import late_words, time_limits

if TYPE_CHECKING:
    from icalendar import Event

_BEFORE: Final = dt.timedelta(minutes=5)
_MORNING: Final = dt.timedelta(hours=8)
"""When a thing of a whole day rings: at eight; common practice, no source."""
_PRODUCT: Final = "-//benchrun//what falls due//EN"


@lean_dataclass(frozen=True, slots=True)
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


def write_due(shop: Shop, to: Path, now: Moment, *, force: bool = False) -> str:
    """Write what falls due in a shop to a file: by its runs, and by its own books.

    Args:
        shop: The shop.
        to: The file to write, ending in .ics; one that benchrun wrote is replaced.
        now: The moment now.
        force: Whether a file that benchrun did not write is replaced as well.

    Returns:
        A line that says what was written, with the runs that could not be read.

    Raises:
        BenchrunError: The ending is another, nothing is due, or the disk refused.
    """
    if to.suffix.lower() != ".ics":
        raise BenchrunError(f"{shown(to.name, 100)}: a calendar ends in .ics")
    dues, unread = _dues(shop, now)
    put_report(to, as_calendar(dues, now), force=force)
    said = f"{count(len(dues), 'thing')} due, written to {shown(str(to), 200)}"
    return f"{said}; not read, damaged: {listed(unread)}" if unread else said


def due_calendar(shop: Shop, now: Moment) -> bytes:
    """The calendar of what falls due in a shop; runs that cannot be read are left out.

    Raises:
        BenchrunError: Nothing is due.
    """
    return as_calendar(_dues(shop, now)[0], now)


def _dues(shop: Shop, now: Moment) -> tuple[list[Due], list[str]]:
    dues, unread = due_in_runs(shop.runs, now)
    dues += due_in_shop(shop, day_of(now))
    if not dues:
        raise BenchrunError(
            "nothing is due: no clock runs, no window is open, no part is expected", exit_code=1
        )
    return dues, unread


def due_in_shop(shop: Shop, today: dt.date) -> list[Due]:
    """Due dates of the shop: parts away, calibrations, supplies; rows that are not sound apart.

    What was put out of use, or has come back, is not waited for. What was due before today is due
    today, with its day in words: a calendar rings for nothing that is past.

    Args:
        shop: The shop.
        today: The day.
    """
    dues = []
    own = shop.signs_as or slug(shop.title)  # two shops may give one id to different things
    for part in read_parts(shop).rows:
        trip = part.gone
        if trip is not None and trip.due is not None:
            words = _on_day("Due back", trip.due, today, "Was due back on")
            words = f"{words} from {trip.to}: {part.name} ({part.id})"
            more = f"Sent on {trip.sent}, {count(trip.count, 'piece')}."
            dues.append(Due(f"{own}.part-{part.id}", words, max(trip.due, today), None, more))
    for tool in read_instruments(shop).rows:
        if tool.until is not None and not tool.out_of_use:
            words = _on_day("Last day of calibration", tool.until, today, "Calibration expired on")
            words = f"{words}: {tool.name} ({tool.id})"
            dues.append(Due(f"{own}.instrument-{tool.id}", words, max(tool.until, today)))
    for supply in read_supplies(shop).rows:
        day = supply.good_until
        if day is not None and not supply.out_of_use:
            words = _on_day("Good until today", day, today, "Expired on")
            words = f"{words}: {supply.name} ({supply.id})"
            dues.append(Due(f"{own}.supply-{supply.id}", words, max(day, today)))
    return dues


def _on_day(words: str, day: dt.date, today: dt.date, past: str) -> str:
    return words if day >= today else f"{past} {day}"


def due_in_runs(runs: Path, now: Moment) -> tuple[list[Due], list[str]]:
    """The due moments of the open runs of a shop, the most urgent first.

    Returns:
        The things, and the ids of the runs that could not be read.
    """
    known: dict[str, Run] = {}
    unread: list[str] = []
    for folder in run_folders(runs):
        if folder.seal.is_file():
            continue
        try:
            known[folder.run] = folded(*read_kept(folder))
        except (BenchrunError, ValueError):
            unread.append(folder.run)
    # A tending comes again sooner than a calendar is read.
    dues = [
        _of_clock(known[run_clock.run_id], run_clock, now)
        for run_clock in ordered_clocks(known.items(), now)
        if run_clock.clock.kind is not ClockKind.TEND and not run_clock.clock.accepted
    ]
    return dues, unread


def _title(run: Run, run_id: str) -> str:
    """The title of the procedure of a run."""
    about = run.about.get("procedure")
    return str(about.get("title", run_id)) if isinstance(about, dict) else run_id


def _of_clock(run: Run, run_clock: RunClock, now: Moment) -> Due:
    """The line of a clock in a calendar; nothing lies in the past, where no alarm would ring."""
    clock, step = run_clock.clock, run_clock.clock.step
    act = act_words(run, clock)
    title = _title(run, run_clock.run_id)
    words = f"{title}: {act[:1].upper()}{act[1:]}, {part_names(clock.parts)}"
    begin = _later(now, max(0, clock.opens_in or 0))
    end = None
    if clock.harm_in is not None and clock.most is not None:
        end = _later(now, max(0, clock.harm_in))
        if clock.harm_in < 0:
            words = f"{words}: {late_words(clock.spent, clock.most) or 'late'}"
            begin, end = _later(now, 0), None
        elif clock.opens_in is None:
            begin = _later(now, 0) if clock.kind is ClockKind.WINDOW else end
    limits = time_limits(clock.least, clock.most)
    more = f"Step {step.number}, {step.text} {limits}".strip()
    return Due(_uid(run_clock), words, begin, end, f"{more}\nRun {run_clock.run_id}")


def _uid(run_clock: RunClock) -> str:
    """A clock is named by its beginning, so that it stays the same when some parts go on."""
    clock = run_clock.clock
    if clock.kind is ClockKind.WINDOW:
        return f"{run_clock.run_id}.window-{clock.step.id}-{clock.began}"
    return f"{run_clock.run_id}.load-{clock.began}-{clock.step.id}"


def _later(now: Moment, ms: int) -> dt.datetime:
    """A moment from now on, to the second above: never said sooner than it is."""
    seconds = -(-(now.utc_ms + ms) // 1000)
    return dt.datetime.fromtimestamp(seconds, dt.UTC)


def as_calendar(dues: Sequence[Due], now: Moment) -> bytes:
    """The bytes of an iCalendar file; the standard wants at least one entry in it."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    for due in dues:
        calendar.add_component(_event(due, now))
    content: bytes = calendar.to_ical()
    return content


def _event(due: Due, now: Moment) -> "Event":
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", f"{due.uid}@benchrun")
    event.add("dtstamp", dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC))
    event.add("dtstart", due.begin)
    event.add("summary", shown(due.words, 300))
    if due.end is not None and isinstance(due.begin, dt.datetime) and due.end > due.begin:
        event.add("dtend", due.end)
    if due.more:
        event.add("description", "\n".join(shown(line, 500) for line in due.more.split("\n")))
    event.add("transp", "TRANSPARENT")
    for before in _alarms(due, now):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", shown(due.words, 300))
        alarm.add("trigger", before)
        event.add_component(alarm)
    return event


def _alarms(due: Due, now: Moment) -> list[dt.timedelta]:
    """When a calendar rings, from the begin: when it may be done, and a while before it must be."""
    if not isinstance(due.begin, dt.datetime):
        return [_MORNING]
    if due.end is None or due.end <= due.begin:
        return [dt.timedelta(0)]
    before = max(due.end - due.begin - _BEFORE, dt.timedelta(0))
    return [before] if due.begin <= _later(now, 0) or not before else [dt.timedelta(0), before]
