"""Supplies of a run: what must be at hand, what was used, and the container in hand."""

from collections.abc import Iterator

from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.turns import (
    Destination,
    Flow,
    OpenPage,
    choose,
    show_page,
)
from benchrun.dialogue.work import Work
from benchrun.procedure.route import Procedure, Step
from benchrun.run.state import Use
from benchrun.run.strengths import strength_words
from benchrun.run.supply_use import using_words
from benchrun.session import Sitting
from benchrun.shop.amounts import day_of
from benchrun.shop.supplies import Supply, read_supplies, serving, spoiled
from benchrun.shop_use.supplies import would_use
from benchrun.wording import misgivings_words

_FIXED = 3


def uses_in_hand(session: Sitting, step: Step | None, parts: tuple[str, ...]) -> tuple[Use, ...]:
    """The supplies that a step would use for parts, with the containers in hand."""
    if step is None or not step.uses:
        return ()
    today, taken = day_of(session.now()), session.books.taken
    return would_use(session.shop, session.run, step, parts, today, taken)


def use_words(use: Use) -> str:
    """The use in words, from which container: `30 ml of primer from tin-2; it was good until …`."""
    container = f" from {use.name}" if use.name else ""
    misgivings = "".join(f"; it {one}" for one in use.misgivings)
    return f"{using_words((use,))[0]}{container}{misgivings}"


def supplies(work: Work) -> Flow:
    """Choose what is looked up of supplies, or take another container in hand."""
    session = work.session
    uses = uses_in_hand(session, work.step, work.parts)
    options = [
        Option("What must be at hand", "protection, tools, instruments, supplies, first aid"),
        Option("What this run used", "by entry, container and lot; strengths of baths"),
        Option("The shop's books", "instruments, supplies, vessels, parts"),
    ]
    options += [Option(f"Another container: {use.supply}", use.name or "none") for use in uses]
    place = yield from choose(Choose("Supplies", tuple(options), explains=True))
    match place:
        case None:
            return False
        case 0:
            title = "What must be at hand"
            yield from show_page(PagePrompt(title, lambda: list(needs_rows(session.procedure))))
        case 1:
            yield from show_page(PagePrompt("What this run used", lambda: used_rows(session)))
        case 2:
            yield OpenPage(Destination.BOOKS)
        case _:
            yield from _take(work, uses[place - _FIXED])
    return False


def _take(work: Work, use: Use) -> Flow:
    """Choose the container that a supply is taken from."""
    session = work.session
    today = day_of(session.now())
    found = [one for one in serving(read_supplies(session.shop), use.supply) if not one.out_of_use]

    def option(container: Supply) -> Option:
        state = "; ".join(spoiled(container, today)) or container.about()
        return Option(f"{container.id}, {container.left.words} left", state)

    said = "" if found else "The shop's books keep none: add it there."
    prompt = Choose(f"Which {use.supply}", tuple(option(one) for one in found), said)
    place = yield from choose(prompt)
    if place is not None:
        session.books.taken[use.supply] = found[place].id
    return False


def used_rows(session: Sitting) -> list[PageRow]:
    """The supplies that the acts of a run used and which strengths it read, the last first."""
    rows: list[PageRow] = []
    if session.books.trouble:
        rows.append(PageRow(session.books.trouble, tone=Tone.CALLS))
    used = session.run.used
    strengths = strength_words(session.run.route, session.entries)
    for n in sorted({*used, *strengths}, reverse=True):
        if n in strengths:
            rows.append(PageRow(strengths[n], f"entry {n}"))
        uses = used.get(n, ())
        for use, words in zip(uses, using_words(uses), strict=True):
            container = f" from {use.name}" if use.name else " (not in the shop's books)"
            rows.append(PageRow(f"{words}{container}", f"entry {n}"))
            if use.about:
                tone = Tone.CALLS if use.misgivings else Tone.QUIET
                rows.append(
                    PageRow(misgivings_words(use.about, use.misgivings), tone=tone, indent=11)
                )
    return rows or [PageRow("Nothing so far.")]


def needs_rows(procedure: Procedure) -> Iterator[PageRow]:
    """Everything that must be at hand."""
    needs = procedure.needs
    instruments = tuple(
        ", ".join(text for text in (one.name, one.reach, one.resolution) if text)
        for one in needs.instruments
    )
    named = False
    for label, texts in (
        ("protection", needs.protection),
        ("tools", needs.tools),
        ("instruments", instruments),
        ("supplies", needs.supplies),
        ("first aid", procedure.first_aid),
    ):
        if texts:
            named = True
            yield PageRow(label, tone=Tone.QUIET)
            yield from (PageRow(text, indent=2) for text in texts)
    if not named:
        yield PageRow("Nothing is named.")
