"""The turns of a flow: it asks, says, gives commands; a face carries each out and answers."""

from collections.abc import Callable, Generator
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

from benchrun.dialogue.prompts import (
    BatchChoice,
    Check,
    Choose,
    Confirm,
    ForAll,
    Form,
    PagePrompt,
    PartsChoice,
    Prompt,
    ReadingPrompt,
    Text,
)
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


@lean_dataclass(frozen=True, slots=True)
class BackgroundCall:
    """Something slow to be worked out, off the thread that draws; its answer goes on.

    What it raises as `BenchrunError` is raised in the flow.

    Attributes:
        once: Whether it changes something, so that going back never does it once more.
    """

    work: Callable[[], object]
    once: bool = False


class Destination(StrEnum):
    """Where else a face can lead."""

    LOG = "log"
    BOOKS = "books"
    PAST = "past runs"
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


def called(work: Callable[[], T], *, once: bool = False) -> Generator[Turn, object, T]:
    """Work something out off the thread that draws.

    Args:
        work: What is worked out.
        once: Whether it changes something, so that going back never does it once more.

    Raises:
        BenchrunError: Whatever the work raises.
    """
    found: list[T] = []
    yield BackgroundCall(lambda: found.append(work()), once)
    return found[0]


def reply_of(answer: object) -> Reply:
    """The reply that a face gave to a command.

    Raises:
        TypeError: It gave something else.
    """
    if isinstance(answer, Kept | c.Refusal):
        return answer
    raise TypeError("a face answers a command with the reply of the session")
