"""Walks through a log for its questions and what was decided."""

from collections.abc import Mapping

from benchrun.procedure.route import Procedure
from benchrun.report.facts import QuestionFacts, RunFacts
from benchrun.run import entries as e
from benchrun.run.state import Question, Run


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
        offered = self._asked[outcome.settles, part].answers
        one.answer = next((a.text for a in offered if a.code == data.code), data.code)
        one.reason, one.by, one.settled = data.reason, entry.by, entry.n
