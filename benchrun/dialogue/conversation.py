"""A flow carried on, one input at a time: what is asked next, or what a face must do for it."""

from typing import Protocol

from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.prompts import Check, Choose, Confirm, Form, Stays, Text
from benchrun.dialogue.run_prompts import PartsChoice, ReadingPrompt, SignaturePrompt
from benchrun.dialogue.turns import (
    BackgroundCall,
    Flow,
    OpenPage,
    Prompt,
    Say,
    Send,
    ShowPicture,
    Sign,
    Turn,
)
from benchrun.errors import BenchrunError
from benchrun.pictures.viewer import open_picture
from benchrun.session import Reply

PROMPTS = (
    Choose,
    Text,
    Confirm,
    Check,
    PartsChoice,
    BatchChoice,
    ReadingPrompt,
    SignaturePrompt,
    Form,
    PagePrompt,
)


class Conversation:
    """One flow.

    Attributes:
        asked: What is asked now; None while the face has something else to do, and at the end.
        recorded: Whether the flow recorded what it was for; only meant at the end.
        over: Whether the flow has ended.
        given: What was asked so far, with what was answered.
    """

    def __init__(self, flow: Flow) -> None:
        self._flow = flow
        self.asked: Prompt | None = None
        self.recorded = False
        self.over = False
        self.given: list[tuple[Prompt, object]] = []

    def answer(self, typed: str) -> Turn | None:
        """The turn after an answer to what is asked.

        Args:
            typed: A figure, words, empty for Enter, or `BACK`.

        Returns:
            The next thing to ask or to do; None at the end. An answer that the question does not
            take is told, and asked again.
        """
        if self.asked is None:
            raise ValueError("nothing is asked")
        meaning = self.asked.meaning(typed)
        if isinstance(meaning, Stays):
            if not isinstance(meaning.prompt, PROMPTS):
                raise TypeError(f"a face cannot ask {meaning.prompt}")
            self.asked = meaning.prompt
            return Say(meaning.said) if meaning.said else meaning.prompt
        self.given.append((self.asked, meaning.value))
        return self.reply(meaning.value)

    def reply(self, value: object = None) -> Turn | None:
        """The turn after something was done: a command's reply, None after words and at first."""
        try:
            return self._take(self._flow.send(value))
        except StopIteration as end:
            self._end(end)
            return None

    def fail(self, error: BenchrunError) -> Turn | None:
        """The turn after something that a face was to work out failed."""
        try:
            return self._take(self._flow.throw(error))
        except StopIteration as end:
            self._end(end)
            return None

    def _take(self, turn: Turn) -> Turn:
        self.asked = turn if isinstance(turn, PROMPTS) else None
        return turn

    def _end(self, end: StopIteration) -> None:
        self.asked, self.over, self.recorded = None, True, bool(end.value)


class Face(Protocol):
    """A face that asks one thing after the other and waits for each answer."""

    def ask(self, prompt: Prompt) -> str:
        """The answer to a question."""
        ...

    def say(self, words: Say) -> None:
        """Say words."""
        ...

    def give(self, command: Send | Sign) -> Reply:
        """Give a command and wait for what comes of it."""
        ...

    def open(self, place: OpenPage) -> None:
        """Open another page of the face."""
        ...


def converse(flow: Flow, face: Face) -> bool:
    """Carry a flow on to its end on a face that waits for each answer.

    Returns:
        Whether the flow recorded what it was for.
    """
    talk = Conversation(flow)
    turn = talk.reply()
    while turn is not None or not talk.over:
        match turn:
            case Say():
                face.say(turn)
                # Words about an answer that is not taken stand before the same question.
                turn = talk.asked if talk.asked is not None else talk.reply(None)
            case Send() | Sign():
                turn = talk.reply(face.give(turn))
            case BackgroundCall(work=work):
                try:
                    done = work()
                except BenchrunError as error:
                    turn = talk.fail(error)
                else:
                    turn = talk.reply(done)
            case OpenPage():
                face.open(turn)
                turn = talk.reply(None)
            case ShowPicture(path=path):
                turn = talk.reply(open_picture(path))
            case None:
                break
            case _:
                turn = talk.answer(face.ask(turn))
    return talk.recorded
