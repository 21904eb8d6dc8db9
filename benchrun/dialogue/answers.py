"""The numbers of a question's answers, which stay theirs whatever else is on offer."""

from collections.abc import Iterable
from typing import Final

from benchrun.dialogue.prompts import Choose, Option
from benchrun.procedure.route import Act, Consequence, Inspect, Reading, Step, WorkOut
from benchrun.run.dwelling import time_consequences
from benchrun.run.measurement import limit_consequences
from benchrun.run.questions import code_of
from benchrun.run.state import Answer, Ask, Question, Run

_BY_LIMIT: Final = frozenset({Ask.OUTSIDE, Ask.DOUBT, Ask.INSIDE})
_BY_TIME: Final = frozenset({Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE})


def numbered_answers(run: Run, question: Question) -> tuple[tuple[int, Answer], ...]:
    """The answers of a question with their numbers, the lowest first.

    A number belongs to what the procedure lets follow, in the order in which it is written: an
    answer that is used up leaves its number empty, and one that a correction adds takes none of
    theirs.
    """
    codes = [answer.code for answer in question.answers]
    order = list(dict.fromkeys((*_written(run.route.steps[question.step], question), *codes)))
    return tuple(
        sorted(
            ((order.index(answer.code) + 1, answer) for answer in question.answers),
            key=lambda pair: pair[0],
        )
    )


def answer_prompt(run: Run, question: Question) -> Choose:
    """The words of a question."""
    options = (
        Option(answer_text(run, answer), _asks(answer), number)
        for number, answer in numbered_answers(run, question)
    )
    return Choose(question.says, tuple(options))


def answer_text(run: Run, answer: Answer) -> str:
    """An answer in words; a way back names the step it leads to."""
    if answer.act is Act.REWORK and answer.to in run.route.steps:
        step = run.route.steps[answer.to]
        return f"Back to step {step.number}: {step.text}"
    return answer.text


def _asks(answer: Answer) -> str:
    words = ["with a reason"] if answer.reason else []
    if answer.most is not None:
        words.append(f"at most {answer.most}×")
    return ", ".join(words)


def _written(step: Step, question: Question) -> Iterable[str]:
    """The codes of all answers that the procedure gives to a question, in its order."""
    if question.ask in (Ask.GUARD, Ask.REPEAT):
        return ()
    return [code_of(one) for one in _consequences(step, question)]


def _consequences(step: Step, question: Question) -> tuple[Consequence, ...]:
    detail, ask = step.detail, question.ask
    changed = ask is Ask.CHANGED
    if ask is Ask.WINDOW or question.about.endswith("/window"):
        return step.window.late if step.window else ()
    if isinstance(detail, Inspect):
        said = question.today if changed else question.says.removeprefix("Found: ").rstrip(".")
        return next((one.consequences for one in detail.findings if one.name == said), ())
    if isinstance(detail, Reading | WorkOut) and (changed or ask in _BY_LIMIT):
        return limit_consequences(detail, question.today if changed else ask.value)
    if changed or ask in _BY_TIME:
        ruling = question.today if changed else ask.value
        return time_consequences(step, ruling)
    return ()
