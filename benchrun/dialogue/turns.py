"""The turns of a flow: it asks, says, gives commands; a face carries each out and answers."""

import threading
from collections.abc import Callable, Generator
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.prompts import Check, Choose, Confirm, Form, Text
from benchrun.dialogue.run_prompts import ForAll, PartsChoice, ReadingPrompt, SignaturePrompt
from benchrun.lean_dataclass import lean_dataclass
from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.session import Kept, Reply
from benchrun.shop.people import Person

T = TypeVar("T")


@lean_dataclass(frozen=True, slots=True)
class Say:
    """Words to be said.

    Attributes:
        strong: Whether something was refused.
        heard: The same for whoever has just heard which parts it is about; empty: the text.
    """

    text: str
    strong: bool = False
    heard: str = ""


@lean_dataclass(frozen=True, slots=True)
class Send:
    """A command to be given; the reply goes on with the flow."""

    command: Command


@lean_dataclass(frozen=True, slots=True)
class Sign:
    """A command to be given and signed by somebody; the reply goes on with the flow."""

    command: c.Do | c.Close
    passphrase: str
    person: Person


class LeftOff(Exception):
    """Nobody waits any more for what is being worked out."""


class Progress:
    """How far something slow has come; a face tells it, and may leave it.

    Args:
        title: What is worked out.
        before: What is said before the first of it is done.
        kept: What leaving it loses, or that it loses nothing.
        after: What is said when all of it is read, and only to be put in order.

    Attributes:
        done, whole: So much of so much, in runs; nothing before the first of it is done.
    """

    def __init__(self, title: str, *, before: str, kept: str = "", after: str = "") -> None:
        self.title, self.before, self.kept, self.after = title, before, kept, after
        self.done, self.whole = 0, 0
        self._left = threading.Event()

    def tell(self, done: int, whole: int) -> None:
        """Take note of how far it has come.

        Raises:
            LeftOff: Nobody waits for it any more.
        """
        self.done, self.whole = done, whole
        if self._left.is_set():
            raise LeftOff

    def leave(self) -> None:
        """Wait for it no more."""
        self._left.set()

    @property
    def left(self) -> bool:
        """Whether nobody waits any more."""
        return self._left.is_set()


@lean_dataclass(frozen=True, slots=True)
class BackgroundCall:
    """Something slow to be worked out, off the thread that draws; its answer goes on.

    What it raises as `BenchrunError` is raised in the flow.

    Attributes:
        once: Whether it changes something, so that going back never does it once more.
        progress: How far it has come, where it may take long enough to be told and left.
    """

    work: Callable[[], object]
    once: bool = False
    progress: "Progress | None" = None


class Destination(StrEnum):
    """Where else a face can lead."""

    LOG = "log"
    BOOKS = "books"
    BOARD = "board"
    RUN = "run"


@lean_dataclass(frozen=True, slots=True)
class OpenPage:
    """Another page of the face to be opened; the flow ends with it.

    Attributes:
        place: Which page.
        run: The folder of the run that is opened, where it is one.
    """

    place: Destination
    run: Path | None = None


@lean_dataclass(frozen=True, slots=True)
class ShowPicture:
    """A picture to be shown; the words about it go on with the flow, empty where it was seen."""

    path: Path


Prompt = (
    Choose
    | Text
    | Confirm
    | Check
    | PartsChoice
    | BatchChoice
    | ReadingPrompt
    | SignaturePrompt
    | Form
    | PagePrompt
)
Turn = Prompt | Say | Send | Sign | BackgroundCall | OpenPage | ShowPicture
Flow = Generator[Turn, object, bool]
"""Asks, sends and says in order; returns whether an entry was recorded."""


def choose(prompt: Choose) -> Generator[Turn, object, int | None]:
    """Ask for a line: its place, or None for going back."""
    answer = yield prompt
    return answer if isinstance(answer, int) else None


def text(prompt: Text) -> Generator[Turn, object, str]:
    """Ask for a text; empty for going back."""
    answer = yield prompt
    return answer if isinstance(answer, str) else ""


def confirm(prompt: Confirm) -> Generator[Turn, object, bool]:
    """Ask once more; whether it is to be done."""
    return (yield prompt) is True


def check(prompt: Check) -> Generator[Turn, object, bool | None]:
    """Ask whether something is so; None for going back."""
    answer = yield prompt
    return answer if isinstance(answer, bool) else None


def ask_parts(prompt: PartsChoice) -> Generator[Turn, object, tuple[str, ...]]:
    """Ask for parts; none for going back."""
    answer = yield prompt
    return answer if isinstance(answer, tuple) else ()


def pick_batch(prompt: BatchChoice) -> Generator[Turn, object, tuple[str, ...] | str]:
    """Ask for the parts of a batch: their tags, `OTHERS`, or nothing for going back."""
    answer = yield prompt
    return answer if isinstance(answer, tuple | str) else ()


def fill(prompt: Form) -> Generator[Turn, object, tuple[str, ...] | None]:
    """Ask for several texts; None for going back."""
    answer = yield prompt
    return answer if isinstance(answer, tuple) else None


def show_page(prompt: PagePrompt) -> Generator[Turn, object, bool]:
    """Show a page; whether it was read to its end."""
    return (yield prompt) is True


def ask_reading(prompt: ReadingPrompt) -> Generator[Turn, object, str | ForAll]:
    """Ask for a reading as typed, for one or for all; empty for going back."""
    answer = yield prompt
    return answer if isinstance(answer, str | ForAll) else ""


def signed(
    command: c.Do | c.Close, passphrase: str, person: Person
) -> Generator[Turn, object, Reply]:
    """Give a command that somebody signs."""
    return reply_of((yield Sign(command, passphrase, person)))


def called(
    work: Callable[[], T], *, once: bool = False, progress: Progress | None = None
) -> Generator[Turn, object, T]:
    """Work something out off the thread that draws.

    Args:
        work: What is worked out.
        once: Whether it changes something, so that going back never does it once more.
        progress: How far it has come, where it may take long enough to be told and left.

    Raises:
        BenchrunError: Whatever the work raises.
    """
    found: list[T] = []
    yield BackgroundCall(lambda: found.append(work()), once, progress)
    return found[0]


def reply_of(answer: object) -> Reply:
    """The reply that a face gave to a command.

    Raises:
        TypeError: It gave something else.
    """
    if isinstance(answer, Kept | c.Refusal):
        return answer
    raise TypeError("a face answers a command with the reply of the session")
