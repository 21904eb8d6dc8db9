"""A face that answers from a script, and remembers what it was asked."""

from collections.abc import Iterable
from pathlib import Path

from benchrun.dialogue.conversation import converse
from benchrun.dialogue.prompts import Choose, Text
from benchrun.dialogue.run_prompts import PartsChoice, SignaturePrompt
from benchrun.dialogue.turns import Flow, OpenPage, Prompt, Say, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run.entries import PartSpec
from benchrun.session import all_ready, begin
from benchrun.signing_keys import enrol, new_shop

WORD = "1234"


class ScriptedFace:
    """Answers one prompt after the other; what is left of the script must be nothing.

    Attributes:
        asked: Every prompt, in order.
        said: Every sentence, in order.
        opened: Where it was led.
    """

    def __init__(self, session, answers: Iterable[str]) -> None:
        self._session = session
        self._answers = list(answers)
        self.asked: list[Prompt] = []
        self.said: list[str] = []
        self.opened: list[str] = []

    def ask(self, prompt: Prompt) -> str:
        self.asked.append(prompt)
        assert self._answers, f"nothing is prepared for {prompt}"
        return self._answers.pop(0)

    def say(self, words: Say) -> None:
        self.said.append(words.text)

    def give(self, command: Send | Sign):
        if isinstance(command, Send):
            return self._session.send(command.command).result()
        worker = self._session.person
        self._session.hand_over(command.person)
        try:
            return self._session.sign(command.command, command.passphrase).result()
        finally:
            self._session.hand_over(worker)

    def open(self, place: OpenPage) -> None:
        self.opened.append(place.place.value)

    @property
    def left(self) -> list[str]:
        return self._answers


class ScriptedRun:
    """A run in a shop of its own, driven by flows."""

    def __init__(self, folder: Path, procedure: Path, parts: Iterable[str], people=("Bea Mill",)):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase=WORD)
        for name in people:
            enrol(self.shop, name, self.clock.now(), passphrase=WORD)
        loaded = load(procedure)
        self.session = begin(
            self.shop,
            loaded,
            [PartSpec(part) for part in parts],
            person,
            self.clock,
            readied=all_ready(loaded, person, self.clock.now()),
        )
        self.work = Work(self.session)

    def drive(self, flow: Flow, *answers: str) -> ScriptedFace:
        """Carry a flow on to its end with these answers and no others."""
        face = ScriptedFace(self.session, answers)
        converse(flow, face)
        assert not face.left, f"not asked for: {face.left}"
        self.clock.wait(1000)
        self.work.tidy()
        return face

    def kinds(self) -> list[str]:
        """The kinds of entries, without the machine's own."""
        return [one.kind for one in self.session.entries if one.kind not in ("seal", "beat")]

    def last(self, kind: str):
        """The data of the last entry of a kind."""
        return [one.data for one in self.session.entries if one.kind == kind][-1]


def numbers(prompt: Prompt) -> dict[int, str]:
    """The numbers of a question, each with its words."""
    match prompt:
        case Choose():
            return {number: option.words for number, option in prompt.shown}
        case Text():
            return dict(enumerate(prompt.ready, 1))
        case PartsChoice():
            return {prompt.number(part): part for part in prompt.batch}
        case SignaturePrompt():
            return {place: person.name for place, person in enumerate(prompt.people, 1)}
    return {}
