"""The page before the start of a run, drawn with its plates."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.prompts import PagePrompt
from benchrun.procedure.route import Procedure
from benchrun.screen.dialogue_panes import Answer
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.prompts import numbered
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.plate import plates
from benchrun.text import listed


def run_start_pane(host: PaneHost, prompt: PagePrompt, new: NewRun, answer: Answer) -> Pane:
    """The page that is read before a run begins."""
    return ReadPane(
        host,
        prompt.title,
        lambda paper: run_start_rows(paper, new.procedure, new.lacking, new.took),
        after=partial(answer, ""),
        enter=prompt.enter,
    )


def run_start_rows(
    paper: Paper, procedure: Procedure, lacking: Sequence[str] = (), took: str = ""
) -> list[TextLine]:
    """The purpose, what is lacking, must hold and can hurt, and what must be at hand."""
    rows = paper.paragraph(procedure.scope, role=Role.QUIET) if procedure.scope else []
    if took:
        rows += [paper.line(), *paper.paragraph(took, first=" past runs  ", lead=Role.QUIET)]
    if procedure.misgiving:
        rows += [paper.line(), *paper.paragraph(procedure.misgiving, role=Role.STRONG)]
    if lacking:
        rows += [paper.line(), paper.line(" ", ("not as it should be", Role.ACCENT))]
        for text in lacking:
            rows += paper.paragraph(text, first="   ", role=Role.STRONG)
    before = procedure.needs.before_start
    if before:
        rows += [paper.line(), paper.line(" ", ("must hold now", Role.QUIET))]
        rows += numbered(paper, [(text, "") for text in before])
    if procedure.needs.protection:
        rows += [paper.line(), paper.line(" ", ("to be worn", Role.QUIET))]
        rows += paper.paragraph(listed(procedure.needs.protection, most=20), first="   ")
    if procedure.hazards:
        first, *rest = plates(paper, procedure.hazards, apart=True)
        head = paper.line(" ", ("what can hurt here", Role.QUIET))
        # The head never stands alone at the foot of a page.
        rows += [paper.line(), head, replace(first, joined=True), *rest]
    if at_hand := procedure.needs.at_hand:
        told = paper.paragraph(listed(at_hand, most=len(at_hand)), first="   ")
        head = paper.line(" ", ("to be at hand", Role.QUIET))
        rows += [paper.line(), head, replace(told[0], joined=True), *told[1:]]
    return rows
