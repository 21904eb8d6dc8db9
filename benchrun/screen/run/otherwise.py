"""Doing otherwise than the procedure says: always told, always with a reason."""

from collections.abc import Callable
from dataclasses import dataclass

from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Step
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.run.offers import Deed
from benchrun.run.state import Run
from benchrun.screen.page_api import Pane
from benchrun.screen.parts.pane import PartsPane
from benchrun.screen.prompts import Choice, MenuPane, TextPane
from benchrun.screen.run.desk import RunDesk
from benchrun.screen.run.reasons import reason_pane
from benchrun.screen.run.view import View
from benchrun.text import listed

_MINUTES = ("1 min", "2 min", "5 min", "10 min", "15 min", "30 min", "1 h")


def otherwise_menu(desk: RunDesk, now: View, parts: tuple[str, ...]) -> Pane:
    """What can be done otherwise.

    Args:
        desk: The run screen.
        now: The run as it is shown.
        parts: The parts in hand.
    """
    menu = _Otherwise(desk, now, parts)
    step, run = menu.step, now.run
    who = run.parts[0] if len(run.parts) == 1 else "which parts is asked next"
    left_out = f"{step.number}  {step.text}" if step else ""
    choices = [
        Choice("Leave this step out", menu.skip, left_out),
        Choice("Set aside", menu.aside, who),
        Choice("Scrap", menu.scrap, who),
        Choice("Bring back into play", menu.play, "what was set aside or scrapped"),
        Choice("Back to a step", menu.back),
        Choice("Something must be settled first", menu.ask, "raises a question"),
        Choice("Started or ended a while ago", menu.told_late),
        Choice("Stop the run", menu.stop, "nothing starts until it is taken up again"),
        Choice("Another part joins", menu.join),
    ]
    said = "Each of these asks for a reason, and stands in the record."
    return MenuPane(desk, "Done otherwise", choices, said=said)


@dataclass(frozen=True, slots=True)
class _Otherwise:
    """What each line of the menu does."""

    desk: RunDesk
    now: View
    parts: tuple[str, ...]

    @property
    def step(self) -> Step | None:
        """The step in hand."""
        return self.now.offer.step if self.now.offer else None

    async def skip(self) -> None:
        if self.step is None or not self.parts:
            self.desk.say("No step is in hand that could be left out.")
            return
        await self.desk.give(c.Skip(self.step.id, self.parts, self.now.run.n - 1))

    async def aside(self) -> None:
        self._put("aside")

    async def scrap(self) -> None:
        self._put("scrap")

    async def play(self) -> None:
        self._put("play")

    def _put(self, to: str) -> None:
        desk, run = self.desk, self.now.run
        title = {"aside": "Parts to set aside", "scrap": "Parts to scrap"}.get(
            to, "Parts to bring back into play"
        )
        _with_parts(desk, run, title, lambda chosen: _put(desk, run, chosen, to))

    async def back(self) -> None:
        desk, run = self.desk, self.now.run
        _with_parts(desk, run, "Parts that go back", lambda chosen: _back_to(desk, run, chosen))

    async def ask(self) -> None:
        desk, run = self.desk, self.now.run
        title = "Parts to be settled"
        _with_parts(desk, run, title, lambda chosen: _question(desk, run, chosen))

    async def told_late(self) -> None:
        _told_late(self.desk, self.now, self.parts)

    async def stop(self) -> None:
        await self.desk.give(c.Stop(""))

    async def join(self) -> None:
        self.desk.push(_join(self.desk))


def _with_parts(
    desk: RunDesk,
    run: Run,
    title: str,
    then: Callable[[tuple[str, ...]], None],
) -> None:
    """Choose parts first where there are several."""
    if len(run.parts) == 1:
        then(run.parts)
        return
    # None is chosen beforehand: a number must never leave out the one part that is meant.
    pane = PartsPane(desk, lambda: desk.session.run, run.parts, (), then, title=title, needed=True)
    desk.push(pane)


def _put(desk: RunDesk, run: Run, parts: tuple[str, ...], to: str) -> None:
    async def reasoned(text: str) -> None:
        await desk.give(c.Put(parts, run.n - 1, to, text))

    if to == "play":
        said = f"{listed(parts)} comes back into play. Why?"
    else:
        said = f"{listed(parts)}: {'set aside' if to == 'aside' else to}. Why?"
    desk.push(reason_pane(desk, said, desk.session.entries, reasoned))


def _back_to(desk: RunDesk, run: Run, parts: tuple[str, ...]) -> None:
    here = min(run.markers[part].index for part in parts)
    steps = [step for step in run.route.steps.values() if run.route.index[step.id] < here]

    def choice(step_id: str, words: str) -> Choice:
        async def do() -> None:
            await desk.give(c.Put(parts, run.n - 1, step_id))

        return Choice(words, do)

    choices = [choice(step.id, f"step {step.number}: {step.text}") for step in reversed(steps)]
    if not choices:
        desk.say("There is no step behind.")
        return
    said = f"{listed(parts)} goes back; readings and judgements from there on are forgotten."
    desk.push(MenuPane(desk, "Back to which step", choices, said=said))


def _question(desk: RunDesk, run: Run, parts: tuple[str, ...]) -> None:
    async def done(text: str) -> None:
        await desk.give(c.Raise(parts, run.n - 1, text))

    ready = ("damage seen", "a part is missing", "the figure in the manual is doubtful")
    desk.push(TextPane(desk, "What must be settled", done, said=listed(parts), ready=ready))


def _told_late(desk: RunDesk, now: View, parts: tuple[str, ...]) -> None:
    offer = now.offer
    if offer is None or offer.deed not in (Deed.LIFT, Deed.PUT_IN) or offer.step is None:
        desk.say("Take a dwell in hand first: + walks to it.")
        return
    step = offer.step.id

    async def done(text: str) -> None:
        try:
            ago = time_span(text)
        except ValueError as error:
            desk.say(str(error), strong=True)
            return
        seen = desk.session.run.n - 1
        if offer.deed is Deed.LIFT:
            await desk.give(c.Lift(parts, seen, ago=ago))
        else:
            await desk.give(c.PutIn(step, parts, seen, ago=ago))

    said = "It may widen the possible time; what is proven is not raised by it."
    desk.push(TextPane(desk, "How long ago", done, said=said, ready=_MINUTES))


def _join(desk: RunDesk) -> Pane:
    async def done(text: str) -> None:
        await desk.give(c.Add(PartSpec(text)))

    return TextPane(desk, "The tag of the part", done, said="It starts at the first step.")
