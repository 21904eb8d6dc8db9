"""Prompts: the questions to a person, and what a typed answer to it means.

An answer is a text: the figure of a numbered line, words, empty for Enter, or `BACK`.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, Final, Protocol

from benchrun.lean_dataclass import lean_dataclass

if TYPE_CHECKING:
    from benchrun.moment import Moment

BACK: Final = "-"
NOT_SO: Final = "0"
MORE: Final = "9"
PER_PAGE: Final = 8


@lean_dataclass(frozen=True, slots=True)
class Taken:
    """An answer that the question takes.

    Attributes:
        value: What it means: an index, a text, parts; None for going back.
    """

    value: object


@lean_dataclass(frozen=True, slots=True)
class Stays:
    """An answer after which something is still asked.

    Attributes:
        prompt: What is asked now.
        said: Why, or empty.
    """

    prompt: "Askable"
    said: str = ""


Meaning = Taken | Stays


class Askable(Protocol):
    """Whatever is asked, and knows what an answer to it means."""

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer."""
        ...


NOTHING: Final = Taken(None)


@lean_dataclass(frozen=True, slots=True)
class Option:
    """A numbered line to choose.

    Attributes:
        beside: What is said of it, quietly.
        number: Its own number, which stays its own whatever else is on offer; 0: by its place.
        heard: The same as beside in fewer words, where it is heard; empty: as it is read.
    """

    words: str
    beside: str = ""
    number: int = 0
    heard: str = ""


@lean_dataclass(frozen=True, slots=True)
class Choose:
    """One of several numbered lines; what does not fit nine numbers goes on over the last.

    Attributes:
        title: What is chosen.
        said: What is said above the lines.
        first: The place of the first line that is shown.
        explains: Whether what stands beside the lines only explains them: a face that speaks says
            it on a key.
        usual: The place of the line that Enter takes; None: Enter takes none.
    """

    title: str
    options: tuple[Option, ...]
    said: str = ""
    first: int = 0
    explains: bool = False
    usual: int | None = None

    @property
    def shown(self) -> tuple[tuple[int, Option], ...]:
        """The lines of this page with their numbers."""
        lines = self.options
        if len(lines) > PER_PAGE + 1:
            lines = lines[self.first : self.first + PER_PAGE]
        return tuple((line.number or place, line) for place, line in enumerate(lines, 1))

    @property
    def more(self) -> str:
        """The words beside the number of the next page; empty where all lines are shown."""
        shown = len(self.shown)
        if shown == len(self.options):
            return ""
        return f"more, {self.first + shown} of {len(self.options)} shown"

    def place(self, number: str) -> int | None:
        """The place of the line with a number, if this page has one."""
        for place, (own, _) in enumerate(self.shown, self.first):
            if number == str(own):
                return place
        return None

    def turned(self) -> "Choose":
        """The next page; after the last the first one again."""
        after = self.first + PER_PAGE
        return replace(self, first=after if after < len(self.options) else 0)

    def turned_back(self) -> "Choose":
        """The page before."""
        return replace(self, first=max(0, self.first - PER_PAGE))

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the place of a line."""
        if typed == BACK:
            return NOTHING
        place = self.place(typed)
        if place is not None:
            return Taken(place)
        if typed == MORE and self.more:
            return Stays(self.turned())
        if not typed and self.usual is not None:
            return Taken(self.usual)
        if not typed:
            return Stays(self, "Choose by its number.")
        numbers = [str(number) for number, _ in self.shown]
        return Stays(self, f"Type one of these numbers: {', '.join(numbers)}.")


@lean_dataclass(frozen=True, slots=True)
class Text:
    """A line of text, or one of those at hand by its number.

    Attributes:
        title: What is asked for.
        said: What is said above it.
        ready: Texts at hand, each with its own number.
        offered: What Enter takes while nothing is typed.
        typed: What stands in the field already: it was refused and can be mended.
        heard: The same as title and what is said in fewer words, where it is heard; empty: as read.
    """

    title: str
    said: str = ""
    ready: tuple[str, ...] = ()
    offered: str = ""
    typed: str = ""
    heard: str = ""

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the text."""
        if typed == BACK:
            return NOTHING
        if typed.isascii() and typed.isdigit() and 1 <= int(typed[:4]) <= len(self.ready):
            return Taken(self.ready[int(typed) - 1])
        text = typed.strip() or self.offered
        return Taken(text) if text else Stays(self)


@lean_dataclass(frozen=True, slots=True)
class Confirm:
    """Something that is asked once more; Enter does it."""

    title: str
    said: str

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: yes."""
        if typed == BACK:
            return NOTHING
        return Taken(True) if not typed else Stays(self, "Enter does it, - goes back.")


@lean_dataclass(frozen=True, slots=True)
class Check:
    """One of several things that are checked one after the other: Enter finds it so, 0 not.

    Attributes:
        title: What they are checked for.
        says: What is checked now.
        checked: What was found so, each with when.
        ahead: What comes behind it.
    """

    title: str
    says: str
    checked: tuple[tuple[str, "Moment"], ...] = ()
    ahead: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Which of how many this is: `2 of 4`."""
        number = len(self.checked) + 1
        return f"{number} of {number + len(self.ahead)}"

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: whether it is so."""
        if typed == BACK:
            return NOTHING
        if typed in ("", NOT_SO):
            return Taken(not typed)
        return Stays(self, f"Enter: it is so. {NOT_SO}: it is not so.")


@lean_dataclass(frozen=True, slots=True)
class Blank:
    """One line of a form.

    Attributes:
        label: Its name.
        said: What is asked for.
        typed: What stands in it.
        offered: What is taken where it stays empty, or empty.
        unit: The unit of what is asked for, or empty.
    """

    label: str
    said: str = ""
    typed: str = ""
    offered: str = ""
    unit: str = ""


@lean_dataclass(frozen=True, slots=True)
class Form:
    """Several lines that are accepted at once.

    Attributes:
        title: What is asked for.
        blanks: The lines.
        said: What is said above them.
        enter: What accepting is called.
        extras: How many of the last lines are reached by walking alone: Enter does not go there.
        counts: Whether things are counted, a number a line.
    """

    title: str
    blanks: tuple[Blank, ...]
    said: str = ""
    enter: str = "accept"
    extras: int = 0
    counts: bool = False

    def meaning(self, typed: str) -> Meaning:
        """The meaning of an answer: the texts, given one a line in the order of the blanks."""
        if typed == BACK:
            return NOTHING
        texts = tuple(text.strip() for text in typed.split("\n"))
        return Taken(texts + ("",) * (len(self.blanks) - len(texts)))
