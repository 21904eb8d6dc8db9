"""The pages of an evening: its plan, and what could be else; what it wants from the shop.

The list's plan stands at once; the solver works beside it, and what it finds takes its place.
"""

import atexit
import datetime as dt
import re
from collections.abc import Generator, Iterable, Iterator
from functools import partial
from pathlib import Path
from threading import Lock, Thread
from typing import Final

from benchrun.board import OpenRun
from benchrun.dialogue.hours import stay_today, today_in_words
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import Flow, Progress, Say, Turn, called, choose, show_page, text
from benchrun.errors import BenchrunError
from benchrun.jobs.evening_needs import evening_needs
from benchrun.moment import Moment
from benchrun.plan.counterfactual import why_not_now
from benchrun.plan.evening import Evening, plan_shop, prove_evening, soonest_chosen
from benchrun.plan.plan_files import put_plan
from benchrun.plan.solver import Halt, has_solver
from benchrun.plan.told_plans import ToldPlan, keep_told, told_plan
from benchrun.plan.words import UNBROKEN, evening_text, rows_ahead
from benchrun.report.doc import Bullets, Sheet
from benchrun.shop.folder import Shop

_ROUNDS: Final = 20
_PATIENCE_S: Final = 0.05
_LEAD: Final = re.compile(r"(([A-Z][a-z]{2} )?\d\d:\d\d~? +)?([A-Z]+ {2})?")
"""A time and the letter of a run, which stand before the words of a line."""
_SOLVING: Final = "The solver is at work; its result comes here."


class _Plan:
    """The plan on the page, which the solver betters meanwhile."""

    def __init__(
        self, shop: Shop, runs: tuple[OpenRun, ...], now: Moment, zone: dt.tzinfo | None
    ) -> None:
        self.shop, self.now, self.zone = shop, now, zone
        self._runs = runs
        self.told = told_plan(shop.path, now)
        self.soonest = self.told.soonest
        self.solving = False
        self._halt = Halt()
        self._taking = Lock()
        self._evening = self._listed()
        self._better()

    def again(self) -> None:
        """Make the plan once more, as something that it rests on was changed."""
        self.leave()
        self.told = told_plan(self.shop.path, self.now)
        self._evening = self._listed()
        self._better()

    def _listed(self) -> Evening:
        """The plan of the list, which stands at once."""
        return plan_shop(
            self.shop, self._runs, self.now, rounds=_ROUNDS, last=self.told.begins, zone=self.zone
        )

    def _better(self) -> None:
        """Keep the plan of the list as the one told last, and let the solver work on it."""
        evening = self._evening
        self._take(evening)
        if has_solver() and evening.plan.starts:
            self.solving, halt = True, Halt()
            solver = Thread(target=self._prove, args=(evening, halt), name="solver", daemon=True)
            self._halt = halt
            solver.start()
            # The solver's library is in the middle of its own work, where Python ends no thread.
            atexit.register(_end, solver, halt)

    def _prove(self, evening: Evening, halt: Halt) -> None:
        try:
            proved = prove_evening(evening, halt)
            with self._taking:
                if not halt.called:
                    self._take(proved)
        finally:
            if halt is self._halt:
                self.solving = False

    def leave(self) -> None:
        """End the solver's work on this plan: nobody looks at it any more."""
        with self._taking:
            self._halt.call()

    def _take(self, evening: Evening) -> None:
        self._evening = evening
        keep_told(self.shop.path, ToldPlan(self.now.utc_ms, self.shown.begins(), self.soonest))

    @property
    def shown(self) -> Evening:
        """The plan as it is shown: the careful one, or the sooner one where that was chosen."""
        return soonest_chosen(self._evening) if self.soonest else self._evening

    def turn(self) -> None:
        """Take the other plan, and keep that choice."""
        self.soonest = not self.soonest
        keep_told(self.shop.path, ToldPlan(self.now.utc_ms, self.shown.begins(), self.soonest))

    def rows(self, *, heard: bool = False) -> list[PageRow]:
        """The rows of the page; for a face that says them, a row is a whole sentence."""
        told_ms = self.told.utc_ms
        said = evening_text(
            self.shown, self.now, self.zone, told_ms=told_ms, heard=heard, wide=UNBROKEN
        ).splitlines()
        below = [*said[1:], ""]
        rows = [_row(line, after) for line, after in zip(said, below, strict=True)]
        return [*rows, PageRow(), PageRow(_SOLVING, tone=Tone.QUIET)] if self.solving else rows


def _end(solver: Thread, halt: Halt) -> None:
    """End the solver before the program ends; called again, as it may just begin a question."""
    while solver.is_alive():
        halt.call()
        solver.join(_PATIENCE_S)


def plan_page(
    shop: Shop, runs: Iterable[OpenRun], now: Moment, zone: dt.tzinfo | None = None
) -> Flow:
    """Show the plan of this evening, and what can be asked of it.

    Args:
        shop: The shop.
        runs: Its open runs as they were read.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    found = tuple(runs)
    progress = Progress("Plan of the evening", before="Planning the open runs and ready parts.")
    plan = yield from called(lambda: _Plan(shop, found, now, zone), once=True, progress=progress)
    page = PagePrompt(
        "Plan of the evening",
        plan.rows,
        enter="ask, choose, print",
        decides=True,
        heard=partial(plan.rows, heard=True),
    )
    try:
        while (yield from show_page(page)):
            while (yield from _asked(plan)):
                pass  # going back from what was chosen leads to the choice
    finally:
        plan.leave()
    return False


def _asked(plan: _Plan) -> Generator[Turn, object, bool]:
    """Ask what is wanted of the plan; whether it is to be asked again."""
    evening = plan.shown
    other = "the one with fewest missed windows" if plan.soonest else "the one done soonest"
    turns = evening.sooner is not None or plan.soonest
    today = today_in_words(plan.shop, plan.now, plan.zone)
    options = [
        Option("Why not now?", "what would be different"),
        Option("Write the plan", "for the wall, as text, for a calendar"),
        Option("Who works, until when", f"today: {today}; the plan is made again"),
        *([Option("Take the other plan", other)] if turns else []),
    ]
    place = yield from choose(Choose("The plan", tuple(options), explains=True))
    if place == 0:
        return (yield from _why(plan))
    if place == 1:
        return (yield from _write(plan))
    if place == 2:
        if (yield from stay_today(plan.shop, plan.now, plan.zone)):
            yield from called(plan.again, once=True)
    elif place == 3:
        plan.turn()
    return False


def _why(plan: _Plan) -> Generator[Turn, object, bool]:
    """Say why something is not begun now; whether it was gone back from."""
    evening = plan.shown
    rows = [
        (at, row)
        for at, row in rows_ahead(evening, plan.now, plan.zone)
        if evening.workload.by_id[row.train].begun is None
    ]
    options = tuple(Option(f"{at} {row.words}", row.parts) for at, row in rows)
    if not options:
        yield Say("Nothing is planned.")
        return False
    while True:
        place = yield from choose(Choose("Why not now?", options))
        if place is None:
            return True
        row = rows[place][1]
        said = yield from called(partial(why_not_now, evening, row.train, plan.now, plan.zone))
        told = partial(list[PageRow], [PageRow(line) for line in said])
        if (yield from show_page(PagePrompt(f"Why not now: {row.words}", told))):
            return False


def _write(plan: _Plan) -> Generator[Turn, object, bool]:
    """Write the plan to a file; whether it was gone back from."""
    said = ".html for the wall, .txt as text, .ics for a calendar"
    typed = yield from text(Text("Write the plan to", said, offered=str(Path.home() / "plan.html")))
    if not typed:
        return True
    evening = plan.shown
    try:
        yield from called(
            lambda: put_plan(Path(typed).expanduser(), evening, plan.now, plan.zone), once=True
        )
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False
    yield Say(f"Written: {typed}")
    return False


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
    for label, said in sheet.card.rows:
        yield PageRow(said, label)
    for section in sheet.sections:
        yield PageRow()
        yield PageRow(section.title, tone=Tone.QUIET, heads=True)
        for block in section.blocks:
            texts = block.rows if isinstance(block, Bullets) else (getattr(block, "text", ""),)
            yield from (PageRow(text, indent=2) for text in texts if isinstance(text, str))


def _row(line: str, below: str) -> PageRow:
    """A line of the plan as a row; one with others set in below it stays with them."""
    words = line.lstrip()
    indent = len(line) - len(words)
    tone = Tone.QUIET if indent else Tone.TEXT
    lead, heads = _LEAD.match(words), not indent and below.startswith(" ")
    return PageRow(words, "", tone, indent, heads=heads, hangs=lead.end() if lead else 0)
