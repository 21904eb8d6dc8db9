"""The record of a closed run, written to be handed over."""

from pathlib import Path
from typing import Final

from benchrun.dialogue.turns import Flow, Say, called
from benchrun.errors import BenchrunError
from benchrun.session import Sitting

REPORTS: Final = "reports"
"""The folder of the shop in which records to be handed over lie."""


def record_page(session: Sitting) -> Path:
    """The file that the record of a run is written to, for a browser."""
    return session.shop.path / REPORTS / f"{session.folder.run}.html"


def write_record(session: Sitting) -> Flow:
    """Write the record of a closed run as a page for a browser."""
    to = record_page(session)
    try:
        yield Say((yield from called(lambda: _written(session, to))))
    except BenchrunError as error:
        yield Say(error.message, strong=True)
    return False


def _written(session: Sitting, to: Path) -> str:
    from benchrun.report.command import run_report

    try:
        to.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise BenchrunError(f"{to.parent}: cannot be made: {error.strerror or error}") from None
    run_report([session.folder.path], to)
    return f"Written to {to}. A browser opens and prints it."
