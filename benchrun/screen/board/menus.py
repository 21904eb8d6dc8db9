"""The menus of the board: the shop, what can be looked up, everything to open or begin."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from benchrun.board import OpenRun
from benchrun.errors import BenchrunError
from benchrun.screen.board.host import BoardHost
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.shop.folder import Listed

if TYPE_CHECKING:
    from benchrun.shop.folder import Shop
    from benchrun.shop.parts import Job
    from benchrun.shop.people import Person


async def opened(host: BoardHost, run: OpenRun | Listed) -> None:
    """Open a run, or begin one of a procedure."""
    if isinstance(run, OpenRun):
        await host.open_run(run)
    else:
        await host.begin(run)


def everything(host: BoardHost, listed: Sequence[OpenRun | Listed]) -> Pane:
    """The menu of all open runs, then of all that can be begun."""

    def choice(run: OpenRun | Listed) -> MenuChoice:
        beside = f"under way, {run.words}" if isinstance(run, OpenRun) else run.edition
        return MenuChoice(run.title, partial(opened, host, run), beside)

    return MenuPane(host, "Everything on the board", [choice(one) for one in listed])


async def show_duties(host: BoardHost) -> None:
    """Open the page of everything that needs attention."""
    from benchrun.dialogue.duties import duties_page

    await host.read_duties()
    await host.converse(partial(duties_page, host.board.open_runs, host.duties))


def board_menu(host: BoardHost, which: str, who: "Person | None", shop: "Shop") -> Pane:
    """The menu of a key.

    Args:
        host: The board.
        which: `*` or its letter, `/` or its letter; any other key: the page of keys.
        who: Who works, if that is known.
        shop: The shop.
    """
    from benchrun.screen import help_page

    if which in ("*", "w"):
        return MenuPane(host, "The shop", _shop_choices(host, who, shop))
    if which in ("/", "l"):

        async def sums() -> None:
            from benchrun.dialogue.lookups import sums as sums_flow

            await host.converse(sums_flow)

        async def keys() -> None:
            host.push(help_page.help_pane(host))

        async def guide() -> None:
            from benchrun.dialogue.guide import guide as guide_flow

            await host.converse(guide_flow)

        async def past() -> None:
            from benchrun.dialogue.past_runs import past_runs

            await host.converse(partial(past_runs, shop, host.look.zone))

        async def plan() -> None:
            from benchrun.dialogue.evening import plan_page

            runs = host.board.open_runs
            await host.converse(partial(plan_page, shop, runs, host.now(), host.look.zone))

        async def needs() -> None:
            from benchrun.dialogue.evening import before_evening

            await host.converse(partial(before_evening, shop, host.now()))

        choices = [
            MenuChoice("Sums", sums, "the shop's sums"),
            MenuChoice("Keys", keys, "what each means, and your own"),
            MenuChoice("Guide", guide, "how a procedure is written, by chapters"),
            MenuChoice("Past runs", past, "a reading, a part, step times, a closed run"),
            MenuChoice("Plan of the evening", plan, "what to do when, and what not to begin"),
            *_thing_choices(host, shop),
            MenuChoice("Before the evening", needs, "what is short, goes off, falls due"),
        ]
        return MenuPane(host, "Look up", choices)
    return help_page.help_pane(host)


def _shop_choices(host: BoardHost, who: "Person | None", shop: "Shop") -> list[MenuChoice]:
    """Who works, the books, how long somebody is here, and what needs attention."""
    from benchrun.dialogue.hours import stay_today, today_in_words

    async def stay() -> None:
        await host.converse(partial(stay_today, shop, host.now(), host.look.zone))

    books = "instruments, supplies, parts, people"
    choices = [
        MenuChoice("Who works now", host.ask_who, who.name if who else "nobody was named yet"),
        MenuChoice("The shop's books", host.open_books, books),
        MenuChoice("Here today until", stay, today_in_words(shop, host.now(), host.look.zone)),
    ]
    if len(host.duties) or any(run.away for run in host.board.open_runs):
        said = "every row whole; 0 on the board"
        choices.append(MenuChoice("Needs attention", partial(show_duties, host), said))
    return choices


def _thing_choices(host: BoardHost, shop: "Shop") -> list[MenuChoice]:
    """The pages of a part, by its tag, and of a job."""
    from benchrun.shop.parts import part_of_tag, read_jobs, read_parts

    async def tagged(typed: str) -> None:
        try:
            part = part_of_tag(read_parts(shop), typed)
        except BenchrunError as error:
            host.say(error.message, strong=True)
            return
        await host.open_thing("parts", part.id)

    async def ask() -> None:
        said = "Scan its tag, or type it, or one of its cast or stamped numbers."
        host.push(TextPane(host, "Which part", tagged, said=said))

    async def jobs() -> None:
        rows = sorted(read_jobs(shop).rows, key=lambda job: job.done is not None)
        if len(rows) == 1:
            await host.open_thing("jobs", rows[0].id)
            return
        choices = [
            MenuChoice(job.name, partial(host.open_thing, "jobs", job.id), job_state(job))
            for job in rows
        ]
        host.push(MenuPane(host, "Which job", choices, said="" if rows else "No job yet."))

    return [
        MenuChoice("A part", ask, "its life, what is next, what it cost; by its tag"),
        MenuChoice("A job", jobs, "its parts on their routes, what holds it up"),
    ]


def job_state(job: "Job") -> str:
    """How a job stands, in words."""
    return f"done {job.done}" if job.done else "open"
