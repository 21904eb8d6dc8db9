"""Files of a plan: a card for the wall, a text, a calendar; by the ending of their names."""

import datetime as dt
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.plan.card import card_html
from benchrun.plan.evening import Evening
from benchrun.plan.words import evening_text, first_evening, next_evening, rows_between
from benchrun.report.due import Due, as_calendar
from benchrun.report.target import put_report
from benchrun.text import shown


def put_plan(
    path: Path,
    evening: Evening,
    now: Moment,
    zone: dt.tzinfo | None = None,
    *,
    force: bool = False,
) -> None:
    """Write a plan to a file.

    Args:
        path: The file, ending in .txt, .html or .ics; one that benchrun wrote is replaced.
        evening: The plan.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
        force: Whether a file that benchrun did not write is replaced as well.

    Raises:
        BenchrunError: The ending is another, nothing is planned, or the disk refused.
    """
    match path.suffix.lower():
        case ".html" | ".htm":
            content = card_html(evening, now, zone).encode()
        case ".txt":
            content = f"{evening_text(evening, now, zone)}\n".encode()
        case ".ics":
            content = plan_calendar(evening, now)
        case _:
            raise BenchrunError(
                f"{shown(path.name, 100)}: a plan is written as .html for the wall, .txt or .ics"
            )
    put_report(path, content, force=force)


def plan_calendar(evening: Evening, now: Moment) -> bytes:
    """The work of this evening and the next one as an iCalendar file (RFC 5545).

    Raises:
        BenchrunError: Nothing is planned.
    """
    spans = [span for span in (first_evening(evening), next_evening(evening)) if span]
    rows = [row for since, until in spans for row in rows_between(evening, since, until)]
    if not rows:
        raise BenchrunError("nothing is planned: there is nothing for a calendar", exit_code=1)
    dues = []
    for row in rows:
        train = evening.workload.by_id[row.train]
        dues.append(
            Due(
                f"plan.{next(iter(evening.work.keys[row.train]), row.train)}",
                f"{row.letter} {row.words}, {row.parts}",
                _moment(row.at),
                None,  # an end would ring as one that must be kept
                f"{evening.names[train.run]}: {row.minutes} min, hands {row.hands} min. "
                f"{row.why[:1].upper()}{row.why[1:]}. It is advice.",
            )
        )
    return as_calendar(dues, now)


def _moment(ms: int) -> dt.datetime:
    return dt.datetime.fromtimestamp(ms // 1000, dt.UTC)
