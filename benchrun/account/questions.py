"""The questions of a run: what was asked of which part, and how it was settled."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from benchrun.account.facts import QuestionFacts, RunFacts
from benchrun.account.walker import EVERY_KIND, Takers
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Procedure, Step
from benchrun.procedure.steps import Act
from benchrun.run import entries as e
from benchrun.run.state import GO_ON, Answer, Question

StepOf = Callable[[str], Step | None]


@lean_dataclass(frozen=True, slots=True)
class AskedFacts:
    """A question as an entry put it.

    Attributes:
        id: Unique in the run.
        step: The step that it is about.
        answers: The words of each answer, by its code.
    """

    id: str
    step: str
    answers: Mapping[str, str]


def asked_in(data: e.Data, step_of: StepOf) -> Iterator[AskedFacts]:
    """The questions that an entry raises, each once, with its answers as people read them."""
    each: Mapping[str, e.Outcome] = getattr(data, "each", {})
    known: set[str] = set()
    for outcome in each.values():
        for question in outcome.asks:
            if question.id not in known:
                known.add(question.id)
                words = {answer.code: choice_words(answer, step_of) for answer in question.answers}
                yield AskedFacts(question.id, question.step, words)


def choice_words(answer: Answer, step_of: StepOf) -> str:
    """An answer as a reader understands it: a step by its number, not by its id."""
    step = step_of(answer.to) if answer.act is Act.REWORK else None
    return f"Back to step {step.number}" if step else answer.text


_OTHERWISE: Final = {GO_ON: "gone on anyway"}
"""The words of what no answer that was offered lets follow."""


def answer_words(data: e.Answered, asked: AskedFacts | None) -> str:
    """The answer, in the words in which the answer was offered."""
    return (
        asked.answers.get(data.code, _OTHERWISE.get(data.code, data.code)) if asked else data.code
    )


def settled_by(data: e.Answered) -> str:
    """The id of the question that an answer settles, or empty."""
    return next((outcome.settles for outcome in data.each.values() if outcome.settles), "")


class QuestionWalk:
    """Takes entry after entry and adds every question, for every part that it was put to."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._open: dict[tuple[str, str], QuestionFacts] = {}
        self.asked: dict[str, AskedFacts] = {}

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            **{kind: self._take for kind in EVERY_KIND if "each" in kind.__annotations__},
            e.Retracted: self._taken_back,
        }

    def says(self, question: str, part: str) -> str:
        """The words in which a question was put to a part; empty where none was."""
        asked = self._open.get((question, part))
        return asked.says if asked is not None else ""

    def _take(self, entry: e.Entry, data: Any) -> None:
        each: Mapping[str, e.Outcome] = data.each
        for outcome in each.values():
            if outcome.asks or outcome.settles or outcome.withdraws:
                break
        else:
            return
        self.asked |= {question.id: question for question in asked_in(data, self._steps.get)}
        for part, outcome in each.items():
            if outcome.settles or outcome.withdraws:
                self._settle(entry, data, part, outcome)
            for question in outcome.asks:
                self._ask(entry, part, question)

    def _taken_back(self, entry: e.Entry, data: e.Retracted) -> None:
        for question in self._open.values():
            if question.part not in data.parts:
                continue
            if question.n == data.of:
                question.answer, question.settled = "undone", entry.n
            elif question.settled == data.of:
                question.answer, question.reason, question.by = "", "", ""
                question.settled = None

    def _ask(self, entry: e.Entry, part: str, question: Question) -> None:
        step = self._steps.get(question.step)
        facts = QuestionFacts(
            question.id,
            entry.n,
            part,
            step.number if step else None,
            question.ask.value,
            question.says,
        )
        self._open[question.id, part] = facts
        self._facts.questions.append(facts)

    def _settle(self, entry: e.Entry, data: e.Data, part: str, outcome: e.Outcome) -> None:
        for gone in outcome.withdraws:
            question = self._open.get((gone, part))
            if question is not None and not question.answer:
                question.answer, question.settled, question.by = "withdrawn", entry.n, entry.by
        question = self._open.get((outcome.settles, part))
        if question is None or not isinstance(data, e.Answered):
            return
        question.answer = answer_words(data, self.asked.get(outcome.settles))
        question.reason, question.by, question.settled = data.reason, entry.by, entry.n
