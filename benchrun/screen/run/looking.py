"""Looking something up: the menu, why a step is there, what must be at hand, every clock."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from benchrun import quantity
from benchrun.board import offer_words
from benchrun.procedure.route import Inspect, Reading, Step, WorkOut, worst_first
from benchrun.run import commands as c
from benchrun.run.clocks import loads
from benchrun.run.state import Run
from benchrun.screen.ahead.pane import ahead_pane
from benchrun.screen.lessons import lesson_rows
from benchrun.screen.log.pane import LogPane
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Done, MenuChoice, MenuPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.clocking import clock_row, state_words
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.supplying import supplies_menu
from benchrun.screen.run.view import View
from benchrun.screen.run.writing import Pins
from benchrun.screen.sums.pane import sums_menu
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.plate import MEANING, plates
from benchrun.shop.amounts import day_of
from benchrun.shop.instruments import ShopInstrument
from benchrun.shopmath import Result

if TYPE_CHECKING:
    from benchrun.screen.past.menus import Here


def look_menu(
    host: RunHost, now: View, work: Pins, parts: tuple[str, ...] = (), tool: str = ""
) -> Pane:
    """What can be looked up.

    Args:
        host: The run screen.
        now: The run as it is shown.
        work: Takes another offer in hand.
        parts: The parts in hand.
        tool: The instrument in hand, or empty.
    """
    menu = _Looking(host, now, work, parts, tool)
    choices = [
        MenuChoice("Parts", menu.parts, "who stands where, coats counted; choose some"),
        MenuChoice("Procedure", menu.procedure, "read ahead"),
        MenuChoice("Log", menu.log, "what was kept"),
        MenuChoice("Sums", menu.sums, "fits, shims, heat, torque, baths and films"),
        MenuChoice("Clocks", menu.clocks, "all that run"),
        MenuChoice("Supplies", menu.supplies, "at hand, used by this run, the shop's books"),
        MenuChoice("Other work", menu.other_work, "everything on offer"),
        MenuChoice("Past runs", menu.past, "this reading, part, instrument; step times"),
    ]
    if menu.step_in_hand is not None and host.instruments.offered(menu.step_in_hand):
        choices.append(
            MenuChoice("Instrument", menu.instrument, "take another one for this reading")
        )
    return MenuPane(host, "Look up", choices)


@dataclass(frozen=True, slots=True)
class _Looking:
    """What each line of the menu does."""

    host: RunHost
    now: View
    work: Pins
    in_hand: tuple[str, ...] = ()
    tool: str = ""

    @property
    def step_in_hand(self) -> Step | None:
        """The step of the offer in hand."""
        return self.now.offer.step if self.now.offer else None

    def _run(self) -> Run:
        return self.host.session.run

    async def parts(self) -> None:
        self.work.choose_parts()

    async def procedure(self) -> None:
        offer = self.now.offer
        here = offer.step.id if offer and offer.step else ""
        self.host.push(ahead_pane(self.host, self.host.session.procedure, here))

    async def log(self) -> None:
        self.host.push(LogPane(self.host, self.host.session))

    async def sums(self) -> None:
        self.host.push(sums_menu(self.host, self._run, self._use))

    async def _use(self, title: str, result: Result) -> None:
        """Take an answer over: into the reading in hand where its unit fits, or as a note."""
        told = ", ".join(f"{k.replace('_', ' ')} {v.words}" for k, v in result.outputs.items())
        offer = self.now.offer

        async def note() -> None:
            step = offer.step.id if offer and offer.step else ""
            await self.host.give(c.KeepNote(f"{title}: {told}", step), self.host.home)

        choices = [MenuChoice("Write it down as a note", note, told)]
        if offer and offer.step and isinstance(offer.step.detail, Reading):
            for name, words in _fitting(offer.step.detail, result):
                fill = partial(self._type_in, words)
                choices.append(MenuChoice(f"Into the reading: {name}", fill, words))
        self.host.push(MenuPane(self.host, "What is it for", choices))

    async def _type_in(self, words: str) -> None:
        self.host.home()
        self.host.type_in(words)

    async def clocks(self) -> None:
        self.host.push(_clocks(self.host))

    async def supplies(self) -> None:
        self.host.push(supplies_menu(self.host, self.step_in_hand, self.in_hand))

    async def other_work(self) -> None:
        self.host.push(_work_menu(self.host, self.now, self.work))

    async def instrument(self) -> None:
        if self.step_in_hand is not None:
            self.host.push(instrument_menu(self.host, self.step_in_hand))

    async def past(self) -> None:
        from benchrun.screen.past.menus import past_menu

        self.host.push(past_menu(self.host, self.host.session.shop, self._here()))

    def _here(self) -> "Here":
        """What is in hand, so that nothing of it need be chosen."""
        from benchrun.screen.past.menus import Here, value_words

        procedure, step = self.host.session.procedure, self.step_in_hand
        part = self.in_hand[0] if self.in_hand else ""
        if step is None or not isinstance(step.detail, Reading | Inspect | WorkOut):
            return Here(procedure.id, procedure.title, part=part)
        what = value_words(step.detail.name, step.id)
        return Here(procedure.id, procedure.title, step.id, what, part, self.tool)


def instrument_menu(host: RunHost, step: Step) -> Pane:
    """The shop's instruments for a reading, the likeliest first."""
    today = day_of(host.now())

    def choice(one: ShopInstrument) -> MenuChoice:
        async def do() -> None:
            host.instruments.take(step, one.id)

        texts = (one.name, one.range_words, one.state(today))
        return MenuChoice(one.id, do, ", ".join(text for text in texts if text))

    choices = [choice(one) for one in host.instruments.offered(step)]
    said = f"For: {step.text}"
    return MenuPane(host, "The instrument", choices, said=said)


def _work_menu(host: RunHost, now: View, work: Pins) -> Pane:
    def choice(place: int) -> MenuChoice:
        offer = now.offers[place]

        async def do() -> None:
            work.pin(offer)

        return MenuChoice(offer_words(now.run, offer), do, "" if offer.ready else "not yet")

    return MenuPane(host, "Other work", [choice(i) for i in range(len(now.offers))])


def _clocks(host: RunHost) -> Pane:
    def rows(paper: Paper) -> list[TextLine]:
        run = host.session.run
        found: list[TextLine] = []
        for clock in loads(run, host.now()):
            found.append(clock_row(paper, run, clock, indent=1))
            words = f"{clock.step.number}  {clock.step.text}   {state_words(clock)}"
            found += [*paper.paragraph(words, first="   ", role=Role.QUIET), paper.line()]
        return found or paper.paragraph("No clock is running.")

    return ReadPane(host, "Clocks", rows)


def before_pane(host: RunHost, step: Step, read: Done) -> Pane:
    """The cautions of a step on a page of their own, where they do not fit beside it."""
    title = f"Before step {step.number}"
    return ReadPane(
        host,
        title,
        lambda paper: plates(paper, step.cautions, apart=True),
        after=read,
        enter="read",
    )


def why_pane(host: RunHost, step: Step) -> Pane:
    """Why a step is there, its cautions in full, its figure and its source."""
    title = f"{step.number}  {step.text}"

    def rows(paper: Paper) -> list[TextLine]:
        learned = lesson_rows(paper, host.learned(step.id), host.now(), first=" lesson  ")
        marks = source_rows(paper, step, host.session.procedure.sources)
        more = [*([paper.line()] if learned else []), *learned]
        return [*why_rows(paper, step), *more, *marks]

    return ReadPane(host, title, rows)


def why_rows(paper: Paper, step: Step) -> list[TextLine]:
    """Everything that the procedure says of a step."""
    rows = paper.paragraph(step.why or "No reason is written for this step.", first=" why     ")
    if step.cautions:
        rows += [paper.line(), *plates(paper, step.cautions, full=True, apart=True), paper.line()]
        for signal in dict.fromkeys(one.signal for one in worst_first(step.cautions)):
            words = f"{signal.value.upper()}: {MEANING[signal]}."
            rows += paper.paragraph(words, first="         ", role=Role.QUIET)
    labelled = (
        ("holds", "; ".join(step.standing)),
        ("figure", step.figure),
        ("source", step.source),
        ("carry out", step.carries_out),
    )
    for label, text in labelled:
        if text:
            rows += [paper.line(), *paper.paragraph(text, first=f" {label:<8}", lead=Role.QUIET)]
    for text in step.lessons:
        rows += [paper.line(), *paper.paragraph(text, first=" lesson  ", lead=Role.ACCENT)]
    return rows


def source_rows(paper: Paper, step: Step, sources: Mapping[str, str]) -> list[TextLine]:
    """What the short marks of a step's sources stand for."""
    told = " ".join((step.source, *(one.source for one in step.cautions)))
    rows: list[TextLine] = []
    for mark, source in sources.items():
        if re.search(rf"(?<![\w-]){re.escape(mark)}(?![\w-])", told):
            rows += paper.paragraph(source, first=f" {mark}: ", rest=" " * 9, role=Role.QUIET)
    return [paper.line(), *rows] if rows else []


def _fitting(detail: Reading, result: Result) -> list[tuple[str, str]]:
    """The values of an answer that a reading's unit can hold: name and text to be typed."""
    found = []
    for name, amount in result.outputs.items():
        if isinstance(amount.value, str) or not quantity.known(amount.unit):
            continue
        if quantity.dimension(amount.unit) == quantity.dimension(detail.unit):
            number = round(amount.to(detail.unit), 6).normalize()
            found.append((name.replace("_", " "), quantity.plain(number)))
    return found
