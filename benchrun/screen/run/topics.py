"""Pages that the screen draws richer than their rows: clocks, why a step is there, cautions."""

import re
from collections.abc import Mapping

from benchrun.procedure.route import Step, worst_first
from benchrun.screen.lessons import lesson_rows
from benchrun.screen.page_api import Pane
from benchrun.screen.reader_page import Done, ReadPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.plate import MEANING, plates


def before_pane(host: RunHost, step: Step, read: Done) -> Pane:
    """The cautions of a step on a page of their own, where they do not fit beside it."""
    return ReadPane(
        host,
        f"Before step {step.number}",
        lambda paper: plates(paper, step.cautions, apart=True),
        after=read,
        enter="read",
    )


def why_page(paper: Paper, host: RunHost, step: Step) -> list[TextLine]:
    """Why a step is there, what past runs taught of it, its cautions in full and its sources."""
    learned = lesson_rows(paper, host.learned(step.id), host.now(), first=" lesson  ")
    marks = source_rows(paper, step, host.session.procedure.sources)
    more = [*([paper.line()] if learned else []), *learned]
    return [*why_lines(paper, step), *more, *marks]


def why_lines(paper: Paper, step: Step) -> list[TextLine]:
    """Everything that the procedure says of a step."""
    rows = paper.paragraph(step.why or "No reason is written for this step.", first=" why     ")
    if step.cautions:
        rows += [paper.line(), *plates(paper, step.cautions, full=True, apart=True), paper.line()]
        for signal in dict.fromkeys(one.signal for one in worst_first(step.cautions)):
            words = f"{signal.value.upper()}: {MEANING[signal]}."
            rows += paper.paragraph(words, first="         ", role=Role.QUIET)
    labelled = (
        ("see that", "; ".join(step.standing)),
        ("drawing", step.drawing),
        ("source", step.source),
        ("carry out", step.carries_out),
    )
    for label, text in labelled:
        if text:
            rows += [paper.line(), *paper.paragraph(text, first=f" {label:<8}", lead=Role.QUIET)]
    for text in step.lessons:
        rows += [paper.line(), *paper.paragraph(text, first=" lesson  ", lead=Role.ACCENT)]
    return rows


def source_rows(paper: Paper, step: Step, sources: Mapping[str, str]) -> list[TextLine]:
    """The meaning of the short marks of a step's sources."""
    told = " ".join((step.source, *(one.source for one in step.cautions)))
    rows: list[TextLine] = []
    for mark, source in sources.items():
        if re.search(rf"(?<![\w-]){re.escape(mark)}(?![\w-])", told):
            rows += paper.paragraph(source, first=f" {mark}: ", rest=" " * 9, role=Role.QUIET)
    return [paper.line(), *rows] if rows else []
