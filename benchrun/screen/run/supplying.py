"""Supplies of a run: what must be at hand, what it used so far, and the shop's books."""

from functools import partial

from benchrun.procedure.route import Procedure, Step
from benchrun.run.state import Use
from benchrun.run.strengths import strength_words
from benchrun.run.supply_use import using_words
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.layout import Beside
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.session import Sitting
from benchrun.shop.amounts import day_of
from benchrun.shop.supplies import Supply, read_supplies, serving, spoiled
from benchrun.shop_use.supplies import would_use
from benchrun.wording import misgivings_words


def uses_in_hand(session: Sitting, step: Step | None, parts: tuple[str, ...]) -> tuple[Use, ...]:
    """What a step would use for parts, with the tins in hand."""
    if step is None or not step.uses:
        return ()
    today, taken = day_of(session.now()), session.books.taken
    return would_use(session.shop, session.run, step, parts, today, taken)


def beside_of(host: RunHost, step: Step | None, parts: tuple[str, ...]) -> Beside:
    """What past runs and the shop have to say of a step in hand."""
    if step is None:
        return Beside()
    uses = uses_in_hand(host.session, step, parts)
    return Beside(host.learned(step.id), host.took(step.id), uses)


def supplies_menu(host: RunHost, step: Step | None = None, parts: tuple[str, ...] = ()) -> Pane:
    """What can be looked up about supplies, and which tin the step in hand takes.

    Args:
        host: The run screen.
        step: The step in hand.
        parts: The parts in hand.
    """
    session = host.session

    async def needs() -> None:
        title = "What must be at hand"
        host.push(ReadPane(host, title, lambda paper: needs_rows(paper, session.procedure)))

    async def used() -> None:
        title = "What this run used"
        host.push(ReadPane(host, title, lambda paper: used_rows(paper, session)))

    choices = [
        MenuChoice(
            "What must be at hand", needs, "protection, tools, instruments, supplies, first aid"
        ),
        MenuChoice("What this run used", used, "by entry, tin and lot; strengths of baths"),
        MenuChoice("The shop's books", host.open_books, "instruments, supplies, vessels, parts"),
    ]
    choices += [
        MenuChoice(f"Another tin: {use.supply}", partial(_other_tin, host, use), use.name or "none")
        for use in uses_in_hand(session, step, parts)
    ]
    return MenuPane(host, "Supplies", choices[:8])


async def _other_tin(host: RunHost, use: Use) -> None:
    """Choose the tin that a supply is taken from."""
    session = host.session
    today = day_of(session.now())

    async def take(tin: str) -> None:
        session.books.taken[use.supply] = tin
        host.home()

    def choice(tin: Supply) -> MenuChoice:
        state = "; ".join(spoiled(tin, today)) or tin.about()
        return MenuChoice(f"{tin.id}, {tin.left.words} left", partial(take, tin.id), state)

    tins = [
        one for one in serving(read_supplies(session.shop).rows, use.supply) if not one.out_of_use
    ]
    said = "" if tins else "The shop's books keep none: add it there."
    host.push(MenuPane(host, f"Which {use.supply}", [choice(one) for one in tins], said=said))


def used_rows(paper: Paper, session: Sitting) -> list[TextLine]:
    """What the acts of a run used and which strengths it read, the last first."""
    rows: list[TextLine] = []
    if session.books.trouble:
        rows += [*paper.paragraph(session.books.trouble, role=Role.ACCENT), paper.line()]
    used = session.run.used
    read = strength_words(session.run.route, session.entries)
    for n in sorted({*used, *read}, reverse=True):
        if n in read:
            rows += paper.paragraph(read[n], first=f" entry {n:<4} ", lead=Role.QUIET)
        uses = used.get(n, ())
        for use, words in zip(uses, using_words(uses), strict=True):
            tin = f" from {use.name}" if use.name else ", which the shop's books do not keep"
            rows += paper.paragraph(f"{words}{tin}", first=f" entry {n:<4} ", lead=Role.QUIET)
            about = misgivings_words(use.about, use.misgivings) if use.about else ""
            role = Role.ACCENT if use.misgivings else Role.QUIET
            rows += paper.paragraph(about, first="            ", role=role) if about else []
    return rows or paper.paragraph("Nothing so far.")


def needs_rows(paper: Paper, procedure: Procedure) -> list[TextLine]:
    """Everything that must be at hand."""
    needs = procedure.needs
    instruments = tuple(
        ", ".join(text for text in (one.name, one.reach, one.resolution) if text)
        for one in needs.instruments
    )
    rows: list[TextLine] = []
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
                rows += paper.paragraph(text, first="   ")
    return rows or paper.paragraph("Nothing is named.")
