"""Writing something down: note, photo, lesson, and the ways to the other menus."""

import asyncio
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from benchrun.errors import BenchrunError
from benchrun.pictures.files import MayTell
from benchrun.run import commands as c
from benchrun.run.offers import Deed, Offer
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane, SurePane, TextPane
from benchrun.screen.run import amending, otherwise
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.view import View
from benchrun.shop.people import Person, read_people


class Pins(Protocol):
    """Whatever can take another offer in hand."""

    def pin(self, offer: Offer) -> None:
        """Take an offer in hand."""
        ...

    def choose_parts(self) -> None:
        """Show the batch, to choose who goes on."""
        ...


def write_menu(host: RunHost, now: View, parts: tuple[str, ...], work: Pins) -> Pane:
    """What can be written down or done beside the procedure.

    Args:
        host: The run screen.
        now: The run as it is shown.
        parts: The parts in hand.
        work: Takes another offer in hand.
    """
    menu = _Writing(host, now, parts, work)
    choices = [
        MenuChoice("Note", menu.note, "for the log and for whoever comes next"),
        MenuChoice("Photo", menu.photo, "a picture file, copied into the record"),
        MenuChoice("Lesson", menu.lesson, "what went wrong or better at this step"),
        MenuChoice(
            "Done otherwise", menu.other, "leave out, set aside, scrap, back, told late, stop"
        ),
        MenuChoice("Correct", menu.correct, "a reading, a finding or an amount entered wrong"),
        MenuChoice("Mis-tap", menu.mis_tap, "take back what was entered last"),
        MenuChoice("Hand over", menu.hand_over, f"now: {host.session.hand.name}"),
        MenuChoice("Sign", menu.sign, "the hold or the close that is due"),
        MenuChoice("Leave the run", menu.leave, "it goes on; the clocks run"),
    ]
    return MenuPane(host, "Write down", choices)


@dataclass(frozen=True, slots=True)
class _Writing:
    """What each line of the menu does."""

    host: RunHost
    now: View
    parts: tuple[str, ...]
    work: Pins

    async def note(self) -> None:
        self.host.push(_note(self.host, self.now, self.parts))

    async def photo(self) -> None:
        self.host.push(_photo(self.host, self.now, self.parts))

    async def lesson(self) -> None:
        _lesson(self.host, self.now)

    async def other(self) -> None:
        self.host.push(otherwise.otherwise_menu(self.host, self.now, self.parts))

    async def correct(self) -> None:
        self.host.push(amending.correct_menu(self.host))

    async def mis_tap(self) -> None:
        self.host.push(amending.mis_tap_menu(self.host))

    async def hand_over(self) -> None:
        self.host.push(_hand_over(self.host))

    async def sign(self) -> None:
        _sign(self.host, self.now, self.work)

    async def leave(self) -> None:
        self.host.leave()


def _step_id(now: View) -> str:
    return now.offer.step.id if now.offer and now.offer.step else ""


def _note(host: RunHost, now: View, parts: tuple[str, ...]) -> Pane:
    async def done(text: str) -> None:
        await host.give(c.KeepNote(text, _step_id(now), parts))

    return TextPane(host, "Note", done)


def _photo(host: RunHost, now: View, parts: tuple[str, ...]) -> Pane:
    photo = _Photo(host, _step_id(now), parts)
    return MenuPane(
        host,
        "Photo",
        [
            MenuChoice(
                "Newest picture", photo.newest, "of the watched folder, since this run began"
            ),
            MenuChoice("A file", photo.file, "by its path"),
            MenuChoice("Newest, any age", photo.any_age, "of the watched folder"),
            MenuChoice(
                "Newest as it is", photo.newest_as_it_is, "the copy tells where it was taken"
            ),
            MenuChoice("A file as it is", photo.file_as_it_is, "the copy tells where it was taken"),
        ],
        said="It is copied into the record, without the place that it tells and the maker's notes.",
    )


@dataclass(frozen=True, slots=True)
class _Photo:
    """The ways to a picture."""

    host: RunHost
    step: str
    parts: tuple[str, ...]

    async def newest(self) -> None:
        await self._keep(None)

    async def any_age(self) -> None:
        await self._keep(None, any_age=True)

    async def newest_as_it_is(self) -> None:
        await self._keep(None, as_it_is=True)

    async def file(self) -> None:
        self._ask(as_it_is=False)

    async def file_as_it_is(self) -> None:
        self._ask(as_it_is=True)

    def _ask(self, *, as_it_is: bool) -> None:
        async def done(text: str) -> None:
            await self._keep(Path(text), as_it_is=as_it_is)

        self.host.push(TextPane(self.host, "Photo", done, said="The picture's file:"))

    async def _keep(
        self,
        source: Path | None,
        *,
        any_age: bool = False,
        as_it_is: bool = False,
        unsure: bool = False,
    ) -> None:
        try:
            command = await asyncio.to_thread(
                self.host.session.copy_photo,
                source,
                self.step,
                self.parts,
                any_age=any_age,
                keep_position=as_it_is,
                unsure=unsure,
            )
        except MayTell as error:

            async def all_the_same() -> None:
                await self._keep(source, any_age=any_age, unsure=True)

            said = f"{error.message}. Keep it all the same?"
            self.host.push(SurePane(self.host, said, all_the_same))
            return
        except BenchrunError as error:
            self.host.say(error.message, strong=True)
            return

        def kept() -> None:
            self.host.say(f"{command.text} is kept, {command.position.words}.")

        await self.host.give(command, kept)


def _lesson(host: RunHost, now: View) -> None:
    step = _step_id(now)
    if not step:
        host.say("A lesson belongs to a step; none is in hand.")
        return

    async def done(text: str) -> None:
        await host.give(c.KeepLesson(text, step))

    said = f"On step {now.run.route.steps[step].number}: {now.run.route.steps[step].text}"
    host.push(TextPane(host, "Lesson", done, said=said))


def _hand_over(host: RunHost) -> Pane:
    def takes(person: Person) -> MenuChoice:
        async def do() -> None:
            host.session.hand_over(person)
            host.say(f"From here on in the name of {person.name}.")

        return MenuChoice(person.name, do, ", ".join(person.roles))

    people = [takes(person) for person in read_people(host.session.shop)]
    return MenuPane(host, "Who goes on", people)


def _sign(host: RunHost, now: View, work: Pins) -> None:
    for offer in now.offers:
        held = offer.step is not None and offer.step.kind.value == "hold"
        if offer.deed is Deed.CLOSE or (offer.deed is Deed.DO and held):
            work.pin(offer)
            host.say("Enter goes on to sign.")
            return
    host.say("Nothing is waiting for a signature now.")
