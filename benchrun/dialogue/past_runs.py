"""Questions over all runs: from the board all of it, in a run what is in hand first."""

import datetime as dt
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Final, Generic, TypeVar

from benchrun.dialogue import past_answers as answers
from benchrun.dialogue.page_prompt import PagePrompt, PageRow
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.records import closed_runs
from benchrun.dialogue.turns import Flow, Progress, Say, Turn, called, choose, show_page, text
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Inspect, Reading, WorkOut
from benchrun.shop.folder import Shop
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.history.index import History, Refreshed

T = TypeVar("T")
Rows = Sequence[PageRow]
Way = Callable[[], Flow]
NONE_YET: Final = "Past runs name none yet."


@lean_dataclass(frozen=True, slots=True)
class Past(Generic[T]):
    """An answer with how the index stood when it was given."""

    answer: T
    index: "Refreshed"


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


def here_in(work: Work) -> Here:
    """The work in hand, so that nothing of it need be chosen among past runs."""
    procedure, step, parts = work.session.procedure, work.step, work.parts
    part = parts[0] if parts else ""
    if step is None or not isinstance(step.detail, Reading | Inspect | WorkOut):
        return Here(procedure.id, procedure.title, part=part)
    what = value_title(step.detail.name, step.id)
    prompt = work.measure_prompt()
    tool = prompt.tool.name if prompt and prompt.tool else ""
    return Here(procedure.id, procedure.title, step.id, what, part, tool)


def past_runs(shop: Shop, zone: dt.tzinfo | None = None, here: Here | None = None) -> Flow:
    """Choose a question, and show its answer.

    Args:
        shop: The shop.
        zone: The time zone that moments are told in; None: that of this machine.
        here: What is in hand; None on the board.
    """
    asking = _Asking(shop, zone)
    ways = [*(_of_here(asking, here) if here else ()), *_of_all(asking, everything=here is None)]
    options = tuple(option for option, _ in ways)
    while (place := (yield from choose(Choose("Past runs", options, explains=True)))) is not None:
        yield from ways[place][1]()
    return False


def _of_all(asking: "_Asking", *, everything: bool) -> Iterator[tuple[Option, Way]]:
    yield Option("A reading", "over all runs and parts, with its trend"), asking.choose_value
    yield Option("A part", "its runs and its last values"), asking.choose_part
    if everything:
        yield Option("Step times", "how long each step took"), asking.choose_times
    yield Option("An instrument", "its readings since its calibration"), asking.choose_tool
    if everything:
        yield Option("Deviations", "deviations, by step"), asking.choose_deviations
        yield Option("The index", "what it holds; what is damaged"), asking.index
        said = "check its record, read it, hand it over, file a copy"
        yield Option("A closed run", said), partial(closed_runs, asking.shop, asking.zone)


def _of_here(asking: "_Asking", here: Here) -> Iterator[tuple[Option, Way]]:
    if here.value:
        value = partial(asking.value, here.procedure, here.value, here.what)
        yield Option("This reading", f"{here.what}, all parts"), value
        if here.part:
            said = f"{here.what}, {here.part}"
            yield Option("On this part", said), partial(value, here.part)
    if here.part:
        yield Option("This part", here.part), partial(asking.part, here.part)
    if here.tool:
        yield Option("This instrument", here.tool), partial(asking.tool, here.tool)
    times = partial(asking.times, here.procedure, here.title)
    yield Option("Step times", "of this procedure"), times
    deviations = partial(asking.deviations, here.procedure, here.title)
    yield Option("Deviations", "of this procedure, by step"), deviations


@lean_dataclass(frozen=True, slots=True)
class _Asking:
    """Puts each question to the index and shows its answer."""

    shop: Shop
    zone: dt.tzinfo | None

    def _asked(
        self, title: str, ask: "Callable[[History], T]", *, anew: bool = False
    ) -> Generator[Turn, object, Past[T] | None]:
        """Read on what is new in the logs, then ask; None where that failed, which is said.

        What was read is kept, so that a question left early is no work lost.
        """
        progress = Progress(
            title,
            before="Looking for what is new in the logs.",
            kept="Read once and kept; next time only what is new is read. Leaving loses nothing.",
            after="All are read; they are being put in order.",
        )

        def work() -> Past[T]:
            from benchrun.history.index import History

            with History(self.shop.path) as history:
                read = history.rebuild if anew else history.refresh
                done = read(progress.tell)
                return Past(ask(history), done)

        try:
            return (yield from called(work, progress=progress))
        except BenchrunError as error:
            yield Say(error.message, strong=True)
            return None

    def _shown(self, title: str, ask: "Callable[[History], T]", rows: Callable[[T], Rows]) -> Flow:
        """Show an answer; whether there was one."""
        past = yield from self._asked(title, ask)
        if past is None:
            return False
        # It does not change while it is looked at.
        told = [*answers.skipped_rows(past.index), *rows(past.answer)]
        yield from show_page(PagePrompt(title, lambda: told, returns=True))
        return True

    def _chosen(
        self,
        title: str,
        ask: "Callable[[History], Sequence[T]]",
        option: Callable[[T], Option],
        *,
        first: Sequence[Option] = (),
    ) -> Generator[Turn, object, T | int | None]:
        """One of what the index knows, the place of one of the first lines, or None."""
        past = yield from self._asked(title, ask)
        if past is None:
            return None
        options = (*first, *map(option, past.answer))
        said = "" if past.answer else NONE_YET
        place = yield from choose(Choose(title, options, said))
        if place is None or place < len(first):
            return place
        return past.answer[place - len(first)]

    def value(self, procedure: str, step: str, what: str, part: str = "") -> Flow:
        """One value over all runs, of one part or of all."""
        from benchrun.history.questions import reading_history

        return (
            yield from self._shown(
                f"{what} of {part or 'all parts'}",
                lambda history: reading_history(history, procedure, step, part),
                partial(answers.reading_rows, self.zone),
            )
        )

    def part(self, part: str) -> Flow:
        """A part's life."""
        from benchrun.history.questions import part_life

        return (
            yield from self._shown(
                f"The life of {part}",
                lambda history: part_life(history, part),
                partial(answers.part_life_rows, self.zone),
            )
        )

    def times(self, procedure: str, title: str) -> Flow:
        """How long each step of a procedure took."""
        from benchrun.history.questions import step_times

        return (
            yield from self._shown(
                f"Step times: {title}",
                lambda history: step_times(history, procedure),
                answers.times_rows,
            )
        )

    def tool(self, tool: str) -> Flow:
        """The readings of an instrument since its calibration."""
        from benchrun.history.command import calibrated_on
        from benchrun.history.questions import recall_list

        path = self.shop.path
        return (
            yield from self._shown(
                f"Measured with {tool}",
                lambda history: recall_list(history, tool, calibrated_on(path, tool)),
                partial(answers.recall_rows, self.zone),
            )
        )

    def deviations(self, procedure: str, title: str) -> Flow:
        """Deviations by step, of one procedure or of all."""
        from benchrun.history.questions import deviations_by_step

        return (
            yield from self._shown(
                f"Deviations: {title}",
                lambda history: deviations_by_step(history, procedure),
                partial(answers.deviation_rows, self.zone),
            )
        )

    def _of_procedure(
        self, then: Callable[[str, str], Flow], *, first: Sequence[Option] = ()
    ) -> Flow:
        """Ask which procedure, and go on with it; a line before them means all procedures."""
        from benchrun.history.known import known_procedures

        found = yield from self._chosen(
            "Of which procedure",
            known_procedures,
            lambda one: Option(one.title, count(one.runs, "run")),
            first=first,
        )
        if isinstance(found, int):
            return (yield from then("", "all procedures"))
        return False if found is None else (yield from then(found.id, found.title))

    def choose_value(self) -> Flow:
        """Which value of which procedure."""
        return (yield from self._of_procedure(self._values_of))

    def _values_of(self, procedure: str, title: str) -> Flow:
        from benchrun.history.known import known_values

        found = yield from self._chosen(
            title,
            lambda history: known_values(history, procedure),
            lambda one: Option(value_title(one.name, one.step), answers.step_title(one)),
        )
        if found is None or isinstance(found, int):
            return False
        what = value_title(found.name, found.step)
        return (yield from self.value(procedure, found.step, what))

    def choose_part(self) -> Flow:
        """Which part: those worked last, or typed."""
        from benchrun.history.known import indexed_parts

        found = yield from self._chosen(
            "Which part, those worked last first",
            indexed_parts,
            lambda one: Option(
                one.part, ", ".join(filter(None, (one.identity, count(one.runs, "run"))))
            ),
            first=[Option("Another", "by its tag or the numbers on it")],
        )
        if isinstance(found, int):
            return (yield from self._typed_part())
        return False if found is None else (yield from self.part(found.part))

    def _typed_part(self) -> Flow:
        """Ask for a part by its tag or numbers, until past runs know it."""
        typed, answered = "", False
        while not answered:
            prompt = Text("A part", "Its tag or its numbers:", typed=typed)
            typed = yield from text(prompt)
            if not typed:
                break
            answered = yield from self.part(typed)
        return False

    def choose_times(self) -> Flow:
        """The step times of which procedure."""
        return (yield from self._of_procedure(self.times))

    def choose_tool(self) -> Flow:
        """Which instrument."""
        from benchrun.history.known import known_tools

        names = _instrument_names(self.shop)
        found = yield from self._chosen(
            "Which instrument", known_tools, lambda one: Option(one, names.get(one, ""))
        )
        return (yield from self.tool(found)) if isinstance(found, str) else False

    def choose_deviations(self) -> Flow:
        """The deviations of all procedures or of one."""
        return (yield from self._of_procedure(self.deviations, first=[Option("All of them")]))

    def index(self) -> Flow:
        """The contents of the index, and what is damaged."""
        from benchrun.history.known import count_values

        anew = False
        while (past := (yield from self._asked("The index", count_values, anew=anew))) is not None:
            options = (
                Option("Rebuild", "from the logs; nothing is lost"),
                Option("Damaged runs", count(len(past.index.skipped), "run")),
            )
            said = answers.index_words(past.index, past.answer)
            place = yield from choose(Choose("The index", options, said))
            if place is None:
                break
            anew = not place
            if place:
                rows = list(answers.index_rows(past.index, past.answer))
                page = PagePrompt("The index, in full", partial(_same, rows), returns=True)
                yield from show_page(page)
        return False


def _same(rows: Rows) -> Rows:
    return rows


def _instrument_names(shop: Shop) -> dict[str, str]:
    """The names of the instruments in the shop's book by their ids; none where it is damaged."""
    from benchrun.shop.instruments import read_instruments

    try:
        return {one.id: one.name for one in read_instruments(shop).rows}
    except BenchrunError:
        return {}


def value_title(name: str, step: str) -> str:
    """The name of a value: by its name in formulas, else by its step."""
    return (name or step).replace("_", " ").replace("-", " ").capitalize()
