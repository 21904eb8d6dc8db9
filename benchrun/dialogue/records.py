"""The record of a closed run: checked, read, written to be handed over, filed as a copy."""

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import Flow, Say, called, choose, show_page, text
from benchrun.errors import BenchrunError
from benchrun.kept_runs import KEPT_RUNS
from benchrun.record.folder import RunFolder
from benchrun.shop.folder import Shop

if TYPE_CHECKING:
    from benchrun.verify import RecordVerdict

REPORTS: Final = "reports"
"""The folder of the shop in which records to be handed over lie."""
WAYS: Final = (
    Option("Write it to hand over", "a page for a browser, in the folder reports"),
    Option("Check it", "signatures, seals, every entry by the rules"),
    Option("Read it", "every entry in plain text"),
    Option("File a copy", "the run's folder, to a stick or another disk"),
)
"""The things that can be done with the record of a closed run, in their order."""


def closed_runs(shop: Shop, zone: dt.tzinfo | None = None) -> Flow:
    """Choose a closed run, the latest first, then what to do with its record.

    Args:
        shop: The shop.
        zone: The time zone of its day; None: that of this machine.
    """
    try:
        found = yield from called(lambda: list(_closed(shop, zone)))
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False
    options = tuple(option for _, option in found)
    said = "" if options else "No run is closed yet."
    while (place := (yield from choose(Choose("Which closed run", options, said)))) is not None:
        yield from record_menu(shop, found[place][0])
    return False


def _closed(shop: Shop, zone: dt.tzinfo | None) -> Iterator[tuple[RunFolder, Option]]:
    from benchrun.record.glimpse import glimpse

    seen = sorted(map(glimpse, KEPT_RUNS.paths(shop.runs)[1]), key=lambda one: -one.since_ms)
    for one in seen:
        day = dt.datetime.fromtimestamp(one.since_ms / 1000, dt.UTC).astimezone(zone)
        yield RunFolder(one.path), Option(one.title, f"{one.path.name}, closed {day:%Y-%m-%d}")


def record_menu(shop: Shop, folder: RunFolder) -> Flow:
    """Choose what to do with the record of a closed run, and do it."""
    while (place := (yield from choose(Choose(folder.run, WAYS, "Its record:")))) is not None:
        yield from record_way(place, shop, folder)
    return False


def record_way(place: int, shop: Shop, folder: RunFolder) -> Flow:
    """Do one of the things that can be done with a record.

    Args:
        place: Its place among `WAYS`.
        shop: The shop.
        folder: The run.
    """
    ways: Sequence[Callable[[Shop, RunFolder], Flow]] = (
        write_record,
        check_record,
        read_record,
        file_record,
    )
    try:
        return (yield from ways[place](shop, folder))
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False


def write_record(shop: Shop, folder: RunFolder) -> Flow:
    """Write the record of a closed run, checked first, as a page for a browser."""
    yield Say((yield from called(lambda: _written(shop, folder))))
    return False


def record_page(shop: Shop, folder: RunFolder) -> Path:
    """The file that the record of a run is written to, for a browser."""
    return shop.path / REPORTS / f"{folder.run}.html"


def _written(shop: Shop, folder: RunFolder) -> str:
    from benchrun.report.command import run_report
    from benchrun.verify import verify

    to = record_page(shop, folder)
    try:
        to.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise BenchrunError(f"{to.parent}: cannot be made: {error.strerror or error}") from None
    run_report([folder.path], to, [verify(folder.path, shop=shop.path).as_data()])
    return f"Written to {to}. A browser opens and prints it."


def check_record(shop: Shop, folder: RunFolder) -> Flow:
    """Check the record as `benchrun verify` does, and show what came of it in words."""
    from benchrun.verify import verify

    verdict = yield from called(lambda: verify(folder.path, shop=shop.path))
    rows = list(_verdict_rows(verdict))
    page = PagePrompt(f"{folder.run}: its record", lambda: rows, returns=True)
    yield from show_page(page)
    return False


def _verdict_rows(verdict: "RecordVerdict") -> Iterator[PageRow]:
    whole = "The record is intact: nothing was changed since it was signed."
    said = whole if verdict.whole else "The record is DAMAGED. It is left as it is."
    yield PageRow(said, tone=Tone.STRONG if verdict.whole else Tone.CALLS)
    yield PageRow(verdict.counts, tone=Tone.QUIET)
    yield PageRow()
    for label, words in verdict.told:
        tone = Tone.CALLS if label == "fault" else Tone.TEXT
        yield PageRow(words, label, tone)


def read_record(shop: Shop, folder: RunFolder) -> Flow:
    """Show the record in plain text, as `benchrun show` prints it."""
    from benchrun.account.record_text import show
    from benchrun.verify import checked_keys

    def told() -> str:
        try:
            return show(folder, checked_keys(folder.path, shop.path))
        except ValueError as error:
            raise BenchrunError(f"{folder.run}: {error}") from None

    lines = (yield from called(told)).splitlines()
    rows = [PageRow(line.lstrip(), indent=len(line) - len(line.lstrip())) for line in lines]
    yield from show_page(PagePrompt(f"{folder.run}: every entry", lambda: rows, returns=True))
    return False


def file_record(shop: Shop, folder: RunFolder) -> Flow:
    """Ask where to, and file a copy of the run's folder there."""
    from benchrun.shop_place import copy_run

    del shop
    said = "The folder to put it in, such as a stick's. Whoever has the copy can check it."
    typed = ""
    while True:
        prompt = Text("File a copy: where to", said, typed=typed)
        typed = yield from text(prompt)
        if not typed:
            return False
        to = Path(typed).expanduser()
        try:
            yield Say((yield from called(partial(copy_run, folder.path, to), once=True)))
        except BenchrunError as error:
            yield Say(error.message, strong=True)
            continue
        return False
