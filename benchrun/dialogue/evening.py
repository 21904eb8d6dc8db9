"""The page of the evening's plan: what to do when, why, what not to begin."""

import datetime as dt
from collections.abc import Iterable
from typing import Final

from benchrun.board import OpenRun
from benchrun.dialogue.prompts import PagePrompt, PageRow, Tone
from benchrun.dialogue.turns import Flow, called, show_page
from benchrun.moment import Moment
from benchrun.plan.evening import plan_shop
from benchrun.plan.words import evening_text
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


def _row(line: str) -> PageRow:
    words = line.lstrip()
    indent = len(line) - len(words)
    return PageRow(words, tone=Tone.QUIET if indent else Tone.TEXT, indent=indent)
