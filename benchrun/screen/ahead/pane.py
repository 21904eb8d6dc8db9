"""The procedure to read ahead: its scope, then every step with its cautions."""

from benchrun.procedure.route import Procedure, worst_first
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine


def ahead_pane(host: PaneHost, procedure: Procedure, here: str = "") -> Pane:
    """The whole procedure; the step in hand is marked.

    Args:
        host: The screen.
        procedure: What is read.
        here: The id of the step in hand, or empty.
    """
    title = f"{procedure.title}, revision {procedure.revision}"
    return ReadPane(host, title, lambda paper: ahead_rows(paper, procedure, here))


def ahead_rows(paper: Paper, procedure: Procedure, here: str = "") -> list[TextLine]:
    """Every step, from the one in hand on; the steps behind follow at the end."""
    steps = list(procedure.route.steps.values())
    start = next((i for i, step in enumerate(steps) if step.id == here), 0)
    rows: list[TextLine] = []
    if not start:
        for text in (procedure.scope, procedure.applies_to):
            rows += [*paper.paragraph(text, role=Role.QUIET), paper.line()] if text else []
    stage = ""
    for step in [*steps[start:], *steps[:start]]:
        if step.stage != stage:
            stage = step.stage
            rows += [*([paper.line()] if rows else []), paper.line(" ", (stage, Role.QUIET))]
        mark = paper.signs.here if step.id == here else " "
        role = Role.STRONG if step.id == here else Role.TEXT
        rows += paper.paragraph(step.text, first=f" {mark} {step.number:>3}  ", role=role)
        for hazard in worst_first(step.cautions):
            words = f"{hazard.signal.value.upper()}  {hazard.hazard}"
            rows += paper.paragraph(words, first="        ", role=Role.QUIET)
    return rows
