"""The pages of an evening: its plan, what to do when and why; what it wants from the shop."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Final

from benchrun.board import OpenRun
from benchrun.dialogue.prompts import PagePrompt, PageRow, Tone
from benchrun.dialogue.turns import Flow, called, show_page
from benchrun.jobs.evening_needs import evening_needs
from benchrun.moment import Moment
from benchrun.plan.evening import plan_shop
from benchrun.plan.words import evening_text
from benchrun.report.doc import Bullets, Sheet
from benchrun.shop.folder import Shop

_ROUNDS: Final = 20


def plan_page(
    shop: Shop, runs: Iterable[OpenRun], now: Moment, zone: dt.tzinfo | None = None
) -> Flow:
    """Show the plan of this evening.

    Args:
        shop: The shop.
        runs: Its open runs as they were read.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    found = tuple(runs)
    evening = yield from called(lambda: plan_shop(shop, found, now, rounds=_ROUNDS, zone=zone))
    text = evening_text(evening, now, zone)
    rows = [_row(line) for line in text.splitlines()]
    return (yield from show_page(PagePrompt("Plan of the evening", lambda: rows)))


def before_evening(shop: Shop, now: Moment) -> Flow:
    """Show what open runs, and those that parts are ready for, want from the shop's books.

    Args:
        shop: The shop.
        now: The moment.
    """
    sheet = yield from called(lambda: evening_needs(shop, now))
    rows = list(sheet_rows(sheet))
    return (yield from show_page(PagePrompt(sheet.title, lambda: rows)))


def sheet_rows(sheet: Sheet) -> Iterator[PageRow]:
    """A page of fields, lists and paragraphs as rows to be read."""
    for label, text in sheet.card.rows:
        yield PageRow(text, label)
    for section in sheet.sections:
        yield PageRow()
        yield PageRow(section.title, tone=Tone.QUIET, heads=True)
        for block in section.blocks:
            texts = block.rows if isinstance(block, Bullets) else (getattr(block, "text", ""),)
            yield from (PageRow(text, indent=2) for text in texts if isinstance(text, str))


def _row(line: str) -> PageRow:
    words = line.lstrip()
    indent = len(line) - len(words)
    return PageRow(words, tone=Tone.QUIET if indent else Tone.TEXT, indent=indent)
