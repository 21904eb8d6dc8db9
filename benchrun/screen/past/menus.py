"""Questions over all runs: from the board all of it, in a run what is in hand first."""

from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.past import answers
from benchrun.screen.past.asking import AskPane, Past
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, TextLine
from benchrun.shop.folder import Shop
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.history.answers import StepWords
    from benchrun.history.index import History
    from benchrun.history.known import KnownPart, KnownProcedure

T = TypeVar("T")
Drawn = Callable[[Paper, T], list[TextLine]]


@lean_dataclass(frozen=True, slots=True)
class Here:
    """The work in hand in a run.

    Attributes:
        procedure: Its id.
        title: Its title.
        value: The id of the step in hand where it leaves a value, or empty.
        what: What that value is, in words.
        part: The part in hand, or empty.
        tool: The instrument in hand, or empty.
    """

    procedure: str
    title: str
    value: str = ""
    what: str = ""
    part: str = ""
    tool: str = ""


def past_menu(host: PaneHost, shop: Shop, here: Here | None = None) -> Pane:
    """The questions; in a run first what is in hand.

    Args:
        host: The screen.
        shop: The shop.
        here: What is in hand; None on the board.
    """
    asks = Asking(host, shop)
    choices = _of_here(asks, here) if here else []
    choices += [
        MenuChoice("A reading", asks.choose_value, "over all runs and parts, with its trend"),
        MenuChoice("A part", asks.choose_part, "its runs and its last values"),
    ]
    if here is None:
        choices.append(MenuChoice("Step times", asks.choose_times, "how long each step took"))
    choices.append(
        MenuChoice("An instrument", asks.choose_tool, "its readings since its calibration")
    )
    if here is None:
        choices.append(MenuChoice("Deviations", asks.choose_deviations, "deviations, by step"))
        choices.append(MenuChoice("The index", asks.standing, "what it holds; what is damaged"))
    return MenuPane(host, "Past runs", choices, stays=True)


def _of_here(asks: "Asking", here: Here) -> list[MenuChoice]:
    choices = []
    if here.value:
        value = partial(asks.value, here.procedure, here.value, here.what)
        choices.append(MenuChoice("This reading", value, f"{here.what}, all parts"))
        if here.part:
            mine = partial(asks.value, here.procedure, here.value, here.what, here.part)
            choices.append(MenuChoice("On this part", mine, f"{here.what}, {here.part}"))
    if here.part:
        choices.append(MenuChoice("This part", partial(asks.part, here.part), here.part))
    if here.tool:
        choices.append(MenuChoice("This instrument", partial(asks.tool, here.tool), here.tool))
    times = partial(asks.times, here.procedure, here.title)
    otherwise = partial(asks.deviations, here.procedure, here.title)
    return [
        *choices,
        MenuChoice("Step times", times, "of this procedure"),
        MenuChoice("Deviations", otherwise, "of this procedure, by step"),
    ]


@lean_dataclass(frozen=True, slots=True)
class Asking:
    """Puts each question and lays its answer on the host."""

    host: PaneHost
    shop: Shop

    def _ask(self, title: str, ask: "Callable[[History], T]", drawn: Drawn[T]) -> None:
        def shows(past: Past[T]) -> Pane:
            return answers.answer_pane(
                self.host, title, past, lambda paper: drawn(paper, past.answer)
            )

        AskPane(self.host, self.shop, title, ask, shows).begin()

    def _choose(
        self,
        title: str,
        ask: "Callable[[History], Sequence[T]]",
        choice: Callable[[T], MenuChoice],
        *,
        first: Sequence[MenuChoice] = (),
    ) -> None:
        def shows(past: Past[Sequence[T]]) -> Pane:
            found = [*first, *map(choice, past.answer)]
            said = "" if past.answer else "No run tells of any yet."
            return MenuPane(self.host, title, found, said=said, stays=True)

        AskPane(self.host, self.shop, title, ask, shows).begin()

    async def value(self, procedure: str, step: str, what: str, part: str = "") -> None:
        """One value over all runs, of one part or of all."""
        from benchrun.history.questions import reading_history

        look = self.host.look
        self._ask(
            f"{what} of {part or 'all parts'}",
            lambda history: reading_history(history, procedure, step, part),
            lambda paper, answer: answers.reading_rows(paper, look, answer),
        )

    async def part(self, part: str) -> None:
        """A part's life."""
        from benchrun.history.questions import part_life

        look = self.host.look
        self._ask(
            f"The life of {part}",
            lambda history: part_life(history, part),
            lambda paper, answer: answers.part_life_rows(paper, look, answer),
        )

    async def times(self, procedure: str, title: str) -> None:
        """How long each step of a procedure took."""
        from benchrun.history.questions import step_times

        self._ask(
            f"Step times: {title}",
            lambda history: step_times(history, procedure),
            answers.times_rows,
        )

    async def tool(self, tool: str) -> None:
        """The readings of an instrument since its calibration."""
        from benchrun.history.command import calibrated_on
        from benchrun.history.questions import recall_list

        look, path = self.host.look, self.shop.path
        self._ask(
            f"Measured with {tool}",
            lambda history: recall_list(history, tool, calibrated_on(path, tool)),
            lambda paper, answer: answers.recall_rows(paper, look, answer),
        )

    async def deviations(self, procedure: str, title: str) -> None:
        """Deviations by step, of one procedure or of all."""
        from benchrun.history.questions import deviations_by_step

        look = self.host.look
        self._ask(
            f"Deviations: {title}",
            lambda history: deviations_by_step(history, procedure),
            lambda paper, answer: answers.deviation_rows(paper, look, answer),
        )

    def _of_procedure(
        self,
        then: Callable[[str, str], Awaitable[None]],
        *,
        first: Sequence[MenuChoice] = (),
    ) -> None:
        from benchrun.history.known import known_procedures

        def choice(one: "KnownProcedure") -> MenuChoice:
            return MenuChoice(one.title, partial(then, one.id, one.title), count(one.runs, "run"))

        self._choose("Of which procedure", known_procedures, choice, first=first)

    async def choose_value(self) -> None:
        """Which value of which procedure."""
        self._of_procedure(self._values_of)

    async def _values_of(self, procedure: str, title: str) -> None:
        from benchrun.history.known import known_values

        def choice(one: "StepWords") -> MenuChoice:
            what = value_title(one.name, one.step)
            return MenuChoice(
                what, partial(self.value, procedure, one.step, what), answers.step_title(one)
            )

        self._choose(title, lambda history: known_values(history, procedure), choice)

    async def choose_part(self) -> None:
        """Which part: those worked last, or typed."""
        from benchrun.history.known import indexed_parts

        async def typed() -> None:
            self.host.push(TextPane(self.host, "A part", self.part, said="Its tag or its numbers:"))

        def choice(one: "KnownPart") -> MenuChoice:
            beside = ", ".join(text for text in (one.identity, count(one.runs, "run")) if text)
            return MenuChoice(one.part, partial(self.part, one.part), beside)

        first = [MenuChoice("Another", typed, "by its tag or the numbers on it")]
        self._choose("Which part, those worked last first", indexed_parts, choice, first=first)

    async def choose_times(self) -> None:
        """The step times of which procedure."""
        self._of_procedure(self.times)

    async def choose_tool(self) -> None:
        """Which instrument."""
        from benchrun.history.known import known_tools

        def choice(one: str) -> MenuChoice:
            return MenuChoice(one, partial(self.tool, one))

        self._choose("Which instrument", known_tools, choice)

    async def choose_deviations(self) -> None:
        """The deviations of all procedures or of one."""
        everything = MenuChoice("All of them", partial(self.deviations, "", "all procedures"))
        self._of_procedure(self.deviations, first=[everything])

    async def standing(self) -> None:
        """The contents of the index, and what is damaged."""
        self._standing(anew=False)

    def _standing(self, *, anew: bool) -> None:
        def shows(past: Past[int]) -> Pane:
            async def again() -> None:
                self.host.pop(pane)
                self._standing(anew=True)

            rows = partial(answers.index_rows, index=past.index, values=past.answer)
            read = ReadPane(self.host, "The index, in full", rows)

            async def full() -> None:
                self.host.push(read)

            choices = [
                MenuChoice("Rebuild", again, "from the logs; nothing is lost"),
                MenuChoice("Damaged runs", full, count(len(past.index.skipped), "run")),
            ]
            said = answers.index_words(past.index, past.answer)
            pane = MenuPane(self.host, "The index", choices, said=said, stays=True)
            return pane

        from benchrun.history.known import count_values

        AskPane(self.host, self.shop, "The index", count_values, shows, anew=anew).begin()


def value_title(name: str, step: str) -> str:
    """The name of a value: by its name in formulas, else by its step."""
    return (name or step).replace("_", " ").replace("-", " ").capitalize()
