"""The pages of parts and jobs as text, and written to a file as text or HTML."""

import datetime as dt
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.jobs.job_page import job_sheet
from benchrun.jobs.part_page import part_sheet
from benchrun.moment import Moment
from benchrun.report.doc import Report, Sheet
from benchrun.report.html import as_html
from benchrun.report.plain import as_text
from benchrun.report.target import put_report
from benchrun.shop.folder import Shop
from benchrun.text import shown
from benchrun.version import program

PAPERS: Final = (".html", ".htm", ".txt")
"""The endings of the files that a page can be written to."""


def page_text(shop: Shop, rows: str, name: str, now: Moment) -> str:
    """The page of a part or a job as text.

    Args:
        shop: The shop.
        rows: parts or jobs.
        name: The id.
        now: The moment.

    Raises:
        BenchrunError: There is none of that id.
    """
    return sheet_text(_sheet(shop, rows, name, now)).rstrip("\n")


def write_page(
    shop: Shop, rows: str, name: str, now: Moment, to: Path, *, force: bool = False
) -> str:
    """Write the page of a part or a job to a file.

    Args:
        shop: The shop.
        rows: parts or jobs.
        name: The id.
        now: The moment.
        to: The file, .html or .txt.
        force: Whether a file that benchrun did not write is replaced as well.

    Returns:
        A line that says what was written.

    Raises:
        BenchrunError: There is none of that id, the ending is another, or the disk refused.
    """
    html = wants_html(to)
    return write_sheet(_sheet(shop, rows, name, now, pictures=html), now, to, force=force)


def wants_html(to: Path) -> bool:
    """Whether a file is to be HTML, by its ending.

    Raises:
        BenchrunError: Its ending is none that a page can be written to.
    """
    if to.suffix.lower() not in PAPERS:
        raise BenchrunError(
            f"{shown(to.name, 100)}: the ending says which form is wanted, .html or .txt"
        )
    return to.suffix.lower() != ".txt"


def write_sheet(sheet: Sheet, now: Moment, to: Path, *, force: bool = False) -> str:
    """Write a page to a file, .html or .txt; answers a line that says so.

    Raises:
        BenchrunError: The ending is another, or the disk refused.
    """
    text = as_html(Report(sheet.title, (sheet,))) if wants_html(to) else _signed(sheet, now)
    put_report(to, text.encode("utf-8", "replace"), force=force)
    return f"{shown(sheet.title, 120)}: written to {shown(str(to), 200)}"


def sheet_text(sheet: Sheet) -> str:
    """A page as plain text."""
    return as_text(Report(sheet.title, (sheet,)))


def _signed(sheet: Sheet, now: Moment) -> str:
    """The page as text with the line by which its file is known as benchrun's own."""
    when = dt.datetime.fromtimestamp(now.utc_ms // 1000, dt.UTC)
    return f"{sheet_text(sheet)}\nWritten by {program()}, {when:%Y-%m-%d %H:%M} UTC\n"


def _sheet(shop: Shop, rows: str, name: str, now: Moment, *, pictures: bool = False) -> Sheet:
    if rows == "jobs":
        return job_sheet(shop, name, now)
    return part_sheet(shop, name, now, pictures=pictures)
