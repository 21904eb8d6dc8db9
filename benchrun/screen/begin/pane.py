"""Beginning a run: what can hurt, what must hold, the batch and what tells its parts apart."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import replace

from benchrun.board import uses_beside
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.folder import run_folders
from benchrun.run.entries import Opened, PartSpec, read_data
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.prompts import TextPane, numbered
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.plate import plates
from benchrun.shop.amounts import day_of
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop_use.readiness import shortages
from benchrun.text import count, listed

Begins = Callable[[tuple[PartSpec, ...]], Awaitable[None]]
LONGEST_TAG = 24


def lacks(shop: Shop, procedure: Procedure, now: Moment, parts: int = 0) -> tuple[str, ...]:
    """The shortages against beginning a run now, by the shop's books and its other runs."""
    uses = uses_beside(shop, "")
    return shortages(read_books(shop), procedure, day_of(now), uses=uses, parts=parts)


def begin_panes(
    host: PaneHost,
    shop: Shop,
    procedure: Procedure,
    done: Begins,
    lacking: Sequence[str] = (),
    took: str = "",
) -> None:
    """Ask for all that a run needs, one pane after the other.

    Args:
        host: The screen.
        shop: The shop, for the answers given last time.
        procedure: What is begun.
        done: What to do with the batch.
        lacking: What stands against beginning now, to be seen before going on.
        took: How long past runs took, in words, or empty.
    """

    async def batch() -> None:
        _ask_batch(host, shop, procedure, done, lacking)

    host.push(
        ReadPane(
            host,
            f"Before you begin: {procedure.title}",
            lambda paper: before_rows(paper, procedure, lacking, took),
            after=batch,
            enter="go on all the same" if lacking else "all of this holds",
        )
    )


def before_rows(
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


def _ask_batch(
    host: PaneHost, shop: Shop, procedure: Procedure, done: Begins, told_before: Sequence[str] = ()
) -> None:
    last = last_parts(shop, procedure)

    async def told(text: str) -> None:
        try:
            tags = typed_tags(procedure, text)
        except BenchrunError as error:
            host.say(error.message, strong=True)
            return
        found = await asyncio.to_thread(lacks, shop, procedure, host.now(), len(tags))
        more = tuple(one for one in found if one not in told_before)
        if more:
            host.push(_short_pane(host, procedure, tags, done, more))
        else:
            await _identities(host, procedure, tags, done)

    batch = procedure.batch
    bounds = f"{batch.least} to {batch.most}" if batch.least < batch.most else f"{batch.least}"
    said = (
        f"How many, or what stands on their tags, with commas between: each is one {batch.part}, "
        f"{bounds} at a time. Enter takes what stands below."
    )
    first = ", ".join(last) if last else str(batch.least)
    host.push(TextPane(host, f"The batch for: {procedure.title}", told, said=said, offered=first))


def _short_pane(
    host: PaneHost,
    procedure: Procedure,
    tags: tuple[str, ...],
    done: Begins,
    lacking: Sequence[str],
) -> Pane:
    """The shortages of this very batch, before it is begun."""

    def rows(paper: Paper) -> list[TextLine]:
        head = paper.line(" ", ("not as it should be", Role.ACCENT))
        told = [paper.paragraph(text, first="   ", role=Role.STRONG) for text in lacking]
        return [head, *(row for rows in told for row in rows)]

    async def on() -> None:
        await _identities(host, procedure, tags, done)

    title = f"For {count(len(tags), 'part')}: {procedure.title}"
    return ReadPane(host, title, rows, after=on, enter="go on all the same")


async def _identities(
    host: PaneHost, procedure: Procedure, tags: tuple[str, ...], done: Begins
) -> None:
    identity = procedure.batch.identity
    if not identity:
        await done(tuple(PartSpec(tag) for tag in tags))
        return

    async def filled(texts: tuple[str, ...]) -> None:
        await done(tuple(PartSpec(tag, 1, text) for tag, text in zip(tags, texts, strict=True)))

    asks = [FormField(tag, said="not known") for tag in tags]
    said = f"For each part: {identity}. What is not known stays empty."
    host.push(FormPane(host, "What tells them apart", asks, filled, said=said, enter="begin"))


def typed_tags(procedure: Procedure, text: str) -> tuple[str, ...]:
    """The tags of a batch from what was typed: a number, or tags with commas between.

    Raises:
        BenchrunError: It is no batch that the procedure takes.
    """
    batch = procedure.batch
    text = text.strip()
    if text.isdigit():
        number = int(text)
        if not batch.least <= number <= batch.most:
            raise BenchrunError(
                f"{count(number, 'part')}: this procedure takes {batch.least} to {batch.most}"
            )
        name = batch.part[: LONGEST_TAG - 4].strip()
        if number == 1:
            return (name,)
        return tuple(f"{name} {i}" for i in range(1, number + 1))
    tags = tuple(tag.strip() for tag in text.split(",") if tag.strip())
    if not tags:
        raise BenchrunError("type how many parts there are, or their tags")
    return tags


def last_parts(shop: Shop, procedure: Procedure) -> tuple[str, ...]:
    """The tags of the last run of the same procedure in this shop, or none."""
    named = [f for f in run_folders(shop.runs) if f.run[11:-5] == procedure.id[:40]]
    for folder in reversed(named):
        try:
            line = folder.read().lines[0]
            data = read_data(line.kind, line.data)
        except (BenchrunError, ValueError, IndexError):
            continue
        if isinstance(data, Opened):
            return tuple(spec.part for spec in data.parts)
    return ()
