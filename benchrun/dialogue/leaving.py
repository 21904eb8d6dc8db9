"""Leaving the program while clocks run: asked once, with what will not call meanwhile."""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from benchrun.alarms.calls import CallingRun
from benchrun.alarms.words import clock_words
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.turns import Flow, show_page
from benchrun.moment import Moment
from benchrun.run.act_clocks import Band
from benchrun.run.urgency import ordered_clocks

MOST: Final = 8
"""So many clocks are named; the others are counted."""


def leave(runs: Iterable[CallingRun], now: Moment, zone: dt.tzinfo | None = None) -> Flow:
    """Ask once whether to leave; whether the program is to end. Nothing is asked without clocks.

    Args:
        runs: The open runs.
        now: The moment.
        zone: The time zone that times of day are told in; None: that of this machine.
    """
    clocks = list(_unheard(runs, now, zone))
    if not clocks:
        return True
    rows = [PageRow("These clocks go on, and nobody is called unless another window shows them:")]
    signals = any(one.label for one in clocks[:MOST])
    rows.append(PageRow())
    rows += [replace(one, label=one.label or " " * signals) for one in clocks[:MOST]]
    if len(clocks) > MOST:
        rows.append(PageRow(f"and {len(clocks) - MOST} more", tone=Tone.QUIET, indent=2))
    rows += [PageRow(), PageRow("benchrun board --watch in another terminal shows and rings.")]
    running = "clock runs" if len(clocks) == 1 else "clocks run"
    title = f"Leave while {len(clocks)} {running}"
    return (yield from show_page(PagePrompt(title, lambda: rows, enter="leave", decides=True)))


def _unheard(runs: Iterable[CallingRun], now: Moment, zone: dt.tzinfo | None) -> Iterator[PageRow]:
    """The clocks that call now or would call later, the most urgent first."""
    known = {one.id: one for one in runs}
    for one in ordered_clocks([(run.id, run.run) for run in known.values()], now):
        clock = one.clock
        if clock.accepted or (clock.next_in is None and clock.band is Band.RUNNING):
            continue
        its = known[one.run_id]
        words = clock_words(its.run, clock, now, zone)
        name = f"{its.title}, " if len(known) > 1 else ""
        yield PageRow(f"{name}{words.line}", words.signal, Tone.STRONG, indent=2)
