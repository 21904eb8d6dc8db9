"""Supplies of a run: what must be at hand, what it used so far, and the shop's books."""

from functools import partial

from benchrun.fitting.uses import would_use
from benchrun.procedure.route import Procedure, Step
from benchrun.run.state import Use
from benchrun.run.strengths import strength_words
from benchrun.run.supply_use import using_words
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Choice, MenuPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.desk import RunDesk
from benchrun.screen.run.layout import Beside
from benchrun.screen.text_line import Line, Paper, Role
from benchrun.session import Sitting
from benchrun.shop.amounts import day_of
from benchrun.shop.supplies import Supply, read_supplies, serving, spoiled


def uses_in_hand(session: Sitting, step: Step | None, parts: tuple[str, ...]) -> tuple[Use, ...]:
    """What a step would use for parts, with the tins in hand."""
    if step is None or not step.uses:
        return ()
    today, taken = day_of(session.now()), session.books.taken
    return would_use(session.shop, session.run, step, parts, today, taken)


def beside_of(desk: RunDesk, step: Step | None, parts: tuple[str, ...]) -> Beside:
    """What past runs and the shop have to say of a step in hand."""
    if step is None:
        return Beside()
    uses = uses_in_hand(desk.session, step, parts)
    return Beside(desk.learned(step.id), desk.took(step.id), uses)


def supplies_menu(desk: RunDesk, step: Step | None = None, parts: tuple[str, ...] = ()) -> Pane:
    """What can be looked up about supplies, and which tin the step in hand takes.

    Args:
        desk: The run screen.
        step: The step in hand.
        parts: The parts in hand.
    """
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
        Choice("What this run used", used, "by entry, tin and lot; strengths of baths"),
        Choice("The shop's books", desk.open_books, "instruments, supplies, vessels, parts"),
    ]
    choices += [
        Choice(f"Another tin: {use.supply}", partial(_other_tin, desk, use), use.name or "none")
        for use in uses_in_hand(session, step, parts)
    ]
    return MenuPane(desk, "Supplies", choices[:8])


async def _other_tin(desk: RunDesk, use: Use) -> None:
    """Choose the tin that a supply is taken from."""
    session = desk.session
    today = day_of(session.now())

    async def take(tin: str) -> None:
        session.books.taken[use.supply] = tin
        desk.home()

    def choice(tin: Supply) -> Choice:
        state = "; ".join(spoiled(tin, today)) or tin.about()
        return Choice(f"{tin.id}, {tin.left.words} left", partial(take, tin.id), state)

    tins = [
        one for one in serving(read_supplies(session.shop).rows, use.supply) if not one.out_of_use
    ]
    said = "" if tins else "The shop's books keep none: add it there."
    desk.push(MenuPane(desk, f"Which {use.supply}", [choice(one) for one in tins], said=said))


def used_rows(paper: Paper, session: Sitting) -> list[Line]:
    """What the acts of a run used and which strengths it read, the last first."""
    rows: list[Line] = []
    if session.books.trouble:
        rows += [*paper.told(session.books.trouble, role=Role.ACCENT), paper.line()]
    used = session.run.used
    read = strength_words(session.run.route, session.entries)
    for n in sorted({*used, *read}, reverse=True):
        if n in read:
            rows += paper.told(read[n], first=f" entry {n:<4} ", lead=Role.QUIET)
        uses = used.get(n, ())
        for use, words in zip(uses, using_words(uses), strict=True):
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
