"""Supplies of a run: what must be at hand, what it used so far, and the shop's books."""

from benchrun.procedure.route import Procedure
from benchrun.run.using import using_words
from benchrun.screen.asks import Choice, MenuPane
from benchrun.screen.desk import Pane
from benchrun.screen.ink import Line, Paper, Role
from benchrun.screen.leaf import ReadPane
from benchrun.screen.run.desk import RunDesk
from benchrun.session import Sitting


def supplies_menu(desk: RunDesk) -> Pane:
    """What can be looked up about supplies."""
    session = desk.session

    async def needs() -> None:
        title = "What must be at hand"
        desk.push(ReadPane(desk, title, lambda paper: needs_rows(paper, session.procedure)))

    async def used() -> None:
        title = "What this run used"
        desk.push(ReadPane(desk, title, lambda paper: used_rows(paper, session)))

    choices = [
        Choice(
            "What must be at hand", needs, "protection, tools, instruments, supplies, first aid"
        ),
        Choice("What this run used", used, "by the entries of its log, with the tin and its lot"),
        Choice("The shop's books", desk.open_books, "instruments, supplies, vessels, parts"),
    ]
    return MenuPane(desk, "Supplies", choices)


def used_rows(paper: Paper, session: Sitting) -> list[Line]:
    """What the acts of a run used, the last first."""
    rows: list[Line] = []
    if session.trouble:
        rows += [*paper.told(session.trouble, role=Role.ACCENT), paper.line()]
    for n in sorted(session.run.used, reverse=True):
        for use, words in zip(session.run.used[n], using_words(session.run.used[n]), strict=True):
            tin = f" from {use.name}" if use.name else ", which the shop's books do not keep"
            rows += paper.told(f"{words}{tin}", first=f" entry {n:<4} ", lead=Role.QUIET)
            about = "; it ".join((use.about, *use.misgivings)) if use.about else ""
            role = Role.ACCENT if use.misgivings else Role.QUIET
            rows += paper.told(about, first="            ", role=role) if about else []
    return rows or paper.told("Nothing so far.")


def needs_rows(paper: Paper, procedure: Procedure) -> list[Line]:
    """Everything that must be at hand."""
    needs = procedure.needs
    instruments = tuple(
        ", ".join(text for text in (one.name, one.reach, one.resolution) if text)
        for one in needs.instruments
    )
    rows: list[Line] = []
    for label, texts in (
        ("protection", needs.protection),
        ("tools", needs.tools),
        ("instruments", instruments),
        ("supplies", needs.supplies),
        ("first aid", procedure.first_aid),
    ):
        if texts:
            rows += [*([paper.line()] if rows else []), paper.line(" ", (label, Role.QUIET))]
            for text in texts:
                rows += paper.told(text, first="   ")
    return rows or paper.told("Nothing is named.")
