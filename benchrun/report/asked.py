"""Walks through a log for its questions and what was decided."""

from collections.abc import Mapping

from benchrun.procedure.route import Procedure, Step
from benchrun.procedure.steps import Act
from benchrun.report.facts import QuestionFacts, RunFacts
from benchrun.run import entries as e
from benchrun.run.state import Question, Run


def answer_words(data: e.Answered, question: Question | None, steps: Mapping[str, Step]) -> str:
    """An answer as a reader understands it: a step by its number, not by its id."""
    offered = question.answers if question else ()
    chosen = next((one for one in offered if one.code == data.code), None)
    if chosen is None:
        return data.code
    step = steps.get(chosen.to)
    return f"Rework from step {step.number}" if step and chosen.act is Act.REWORK else chosen.text


def question_of(before: Run, data: e.Answered) -> Question | None:
    """The question that an answer settles, from the state before it."""
    for part, outcome in data.each.items():
        marker = before.markers.get(part)
        for one in marker.questions if marker else ():
            if one.id == outcome.settles:
                return one
    return None


class QuestionWalk:
    """Takes entry after entry and adds every question, for every part that it was put to."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._open: dict[tuple[str, str], QuestionFacts] = {}
        self._asked: dict[tuple[str, str], Question] = {}

    def take(self, before: Run, entry: e.Entry, after: Run) -> None:
        """Take the next entry with the run before and after it."""
        del before, after
        data = entry.data
        each: Mapping[str, e.Outcome] = getattr(data, "each", {})
        for part, outcome in each.items():
            self._settle(entry, data, part, outcome)
            for question in outcome.asks:
                self._ask(entry, part, question)
        if isinstance(data, e.Retracted):
            for one in self._open.values():
                if one.part not in data.parts:
                    continue
                if one.n == data.of:
                    one.answer, one.settled = "taken back", entry.n
                elif one.settled == data.of:
                    one.answer, one.reason, one.by, one.settled = "", "", "", None

    def _ask(self, entry: e.Entry, part: str, question: Question) -> None:
        step = self._steps.get(question.step)
        made = QuestionFacts(
            question.id,
            entry.n,
            part,
            step.number if step else None,
            question.ask.value,
            question.says,
        )
        self._open[question.id, part] = made
        self._asked[question.id, part] = question
        self._facts.questions.append(made)

    def _settle(self, entry: e.Entry, data: e.Data, part: str, outcome: e.Outcome) -> None:
        for gone in outcome.withdraws:
            one = self._open.get((gone, part))
            if one is not None and not one.answer:
                one.answer, one.settled, one.by = "withdrawn", entry.n, entry.by
        one = self._open.get((outcome.settles, part))
        if one is None or not isinstance(data, e.Answered):
            return
        one.answer = answer_words(data, self._asked[outcome.settles, part], self._steps)
        one.reason, one.by, one.settled = data.reason, entry.by, entry.n
