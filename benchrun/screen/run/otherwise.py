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
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.reasons import reason_pane
from benchrun.screen.run.view import View
from benchrun.text import listed

_MINUTES = ("1 min", "2 min", "5 min", "10 min", "15 min", "30 min", "1 h")


def otherwise_menu(host: RunHost, now: View, parts: tuple[str, ...]) -> Pane:
    """What can be done otherwise.

    Args:
        host: The run screen.
        now: The run as it is shown.
        parts: The parts in hand.
    """
    menu = _Otherwise(host, now, parts)
    step, run = menu.step, now.run
    who = run.parts[0] if len(run.parts) == 1 else "which parts is asked next"
    left_out = f"{step.number}  {step.text}" if step else ""
    choices = [
        MenuChoice("Leave this step out", menu.skip, left_out),
        MenuChoice("Set aside", menu.aside, who),
        MenuChoice("Scrap", menu.scrap, who),
        MenuChoice("Bring back into play", menu.play, "what was set aside or scrapped"),
        MenuChoice("Back to a step", menu.back),
        MenuChoice("Something must be settled first", menu.ask, "raises a question"),
        MenuChoice("Started or ended a while ago", menu.told_late),
        MenuChoice("Stop the run", menu.stop, "nothing starts until it is taken up again"),
        MenuChoice("Another part joins", menu.join),
    ]
    said = "Each of these asks for a reason, and stands in the record."
    return MenuPane(host, "Done otherwise", choices, said=said)


@dataclass(frozen=True, slots=True)
class _Otherwise:
    """What each line of the menu does."""

    host: RunHost
    now: View
    parts: tuple[str, ...]

    @property
    def step(self) -> Step | None:
        """The step in hand."""
        return self.now.offer.step if self.now.offer else None

    async def skip(self) -> None:
        if self.step is None or not self.parts:
            self.host.say("No step is in hand that could be left out.")
            return
        await self.host.give(c.Skip(self.step.id, self.parts, self.now.run.n - 1))

    async def aside(self) -> None:
        self._put("aside")

    async def scrap(self) -> None:
        self._put("scrap")

    async def play(self) -> None:
        self._put("play")

    def _put(self, to: str) -> None:
        host, run = self.host, self.now.run
        title = {"aside": "Parts to set aside", "scrap": "Parts to scrap"}.get(
            to, "Parts to bring back into play"
        )
        _with_parts(host, run, title, lambda chosen: _put(host, run, chosen, to))

    async def back(self) -> None:
        host, run = self.host, self.now.run
        _with_parts(host, run, "Parts that go back", lambda chosen: _back_to(host, run, chosen))

    async def ask(self) -> None:
        host, run = self.host, self.now.run
        title = "Parts to be settled"
        _with_parts(host, run, title, lambda chosen: _question(host, run, chosen))

    async def told_late(self) -> None:
        _told_late(self.host, self.now, self.parts)

    async def stop(self) -> None:
        await self.host.give(c.Stop(""))

    async def join(self) -> None:
        self.host.push(_join(self.host))


def _with_parts(
    host: RunHost,
    run: Run,
    title: str,
    then: Callable[[tuple[str, ...]], None],
) -> None:
    """Choose parts first where there are several."""
    if len(run.parts) == 1:
        then(run.parts)
        return
    # None is chosen beforehand: a number must never leave out the one part that is meant.
    session = host.session
    pane = PartsPane(
        host,
        lambda: session.run,
        lambda: session.entries,
        run.parts,
        (),
        then,
        title=title,
        needed=True,
    )
    host.push(pane)


def _put(host: RunHost, run: Run, parts: tuple[str, ...], to: str) -> None:
    async def reasoned(text: str) -> None:
        await host.give(c.Put(parts, run.n - 1, to, text))

    if to == "play":
        said = f"{listed(parts)} comes back into play. Why?"
    else:
        said = f"{listed(parts)}: {'set aside' if to == 'aside' else to}. Why?"
    host.push(reason_pane(host, said, host.session.entries, reasoned))


def _back_to(host: RunHost, run: Run, parts: tuple[str, ...]) -> None:
    here = min(run.markers[part].index for part in parts)
    steps = [step for step in run.route.steps.values() if run.route.index[step.id] < here]

    def choice(step_id: str, words: str) -> MenuChoice:
        async def do() -> None:
            await host.give(c.Put(parts, run.n - 1, step_id))

        return MenuChoice(words, do)

    choices = [choice(step.id, f"step {step.number}: {step.text}") for step in reversed(steps)]
    if not choices:
        host.say("There is no step behind.")
        return
    said = f"{listed(parts)} goes back; readings and judgements from there on are forgotten."
    host.push(MenuPane(host, "Back to which step", choices, said=said))


def _question(host: RunHost, run: Run, parts: tuple[str, ...]) -> None:
    async def done(text: str) -> None:
        await host.give(c.Raise(parts, run.n - 1, text))

    ready = ("damage seen", "a part is missing", "the figure in the manual is doubtful")
    host.push(TextPane(host, "What must be settled", done, said=listed(parts), ready=ready))


def _told_late(host: RunHost, now: View, parts: tuple[str, ...]) -> None:
    offer = now.offer
    if offer is None or offer.deed not in (Deed.LIFT, Deed.PUT_IN) or offer.step is None:
        host.say("Take a dwell in hand first: + walks to it.")
        return
    step = offer.step.id

    async def done(text: str) -> None:
        try:
            ago = time_span(text)
        except ValueError as error:
            host.say(str(error), strong=True)
            return
        seen = host.session.run.n - 1
        if offer.deed is Deed.LIFT:
            await host.give(c.Lift(parts, seen, ago=ago))
        else:
            await host.give(c.PutIn(step, parts, seen, ago=ago))

    said = "It may widen the possible time; what is proven is not raised by it."
    host.push(TextPane(host, "How long ago", done, said=said, ready=_MINUTES))


def _join(host: RunHost) -> Pane:
    async def done(text: str) -> None:
        await host.give(c.Add(PartSpec(text)))

    return TextPane(host, "The tag of the part", done, said="It starts at the first step.")
