"""Putting right what was entered: a correction keeps both values, a mis-tap is taken back."""

from benchrun.procedure.route import Inspect
from benchrun.run import commands as c
from benchrun.run.amendable import last_acts, uses_of, value_words, values_of
from benchrun.run.state import Run, Value
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.host import RunHost
from benchrun.screen.words import brief_words, telling_of


def correct_menu(host: RunHost) -> Pane:
    """Choose the value that was entered wrong."""
    run = host.session.run
    found = [(value.n, _correct_one(host, run, value)) for value in values_of(run)]
    found += [(n, _correct_use(host, run, n, *use)) for n, *use in uses_of(run)]
    choices = [choice for _, choice in sorted(found, key=lambda pair: -pair[0])]
    if not choices:
        return ReadPane(
            host,
            "Correct",
            lambda paper: paper.paragraph("No reading, finding or amount was entered yet."),
        )
    return MenuPane(host, "Which is wrong", choices, said="The newest first.")


def _correct_one(host: RunHost, run: Run, value: Value) -> MenuChoice:
    step = run.route.steps[value.step]
    place = f" {value.place}" if value.place else ""
    words = f"{value.part}{place}: {value_words(value)}"

    async def do() -> None:
        if isinstance(step.detail, Inspect):
            host.push(_other_finding(host, value, step.detail))
            return

        async def typed(text: str) -> None:
            await host.give(c.Correct(value.n, value.part, "", text, place=value.place))

        said = f"{words} was given in entry {value.n}. Type the right value; both are kept."
        host.push(TextPane(host, "The right value", typed, said=said))

    return MenuChoice(words, do, f"entry {value.n}, step {step.number}")


def _correct_use(host: RunHost, run: Run, n: int, supply: str, words: str) -> MenuChoice:
    """How much of a supply was really used."""

    async def typed(text: str) -> None:
        await host.give(c.Correct(n, run.parts[0], "", text, place=supply))

    async def do() -> None:
        said = f"{words} was used by entry {n}. Type how much it really was; the book follows."
        host.push(TextPane(host, "The right amount", typed, said=said))

    return MenuChoice(f"used: {words}", do, f"entry {n}")


def _other_finding(host: RunHost, value: Value, detail: Inspect) -> Pane:
    def choice(name: str) -> MenuChoice:
        async def do() -> None:
            await host.give(c.Correct(value.n, value.part, "", finding=name, place=value.place))

        return MenuChoice(name, do)

    return MenuPane(host, "What was found", [choice(one.name) for one in detail.findings])


def mis_tap_menu(host: RunHost) -> Pane:
    """Choose the entry to take back: only the last of its parts can be."""
    session = host.session
    run = session.run
    last = last_acts(run)
    entries = {entry.n: entry for entry in session.entries if entry.n in last}
    telling = telling_of(session.procedure, session.entries, host.look, host.now())

    def choice(n: int) -> MenuChoice:
        async def do() -> None:
            await host.give(c.Retract(n, run.n - 1))

        return MenuChoice(brief_words(telling, entries[n]), do, f"entry {n}")

    choices = [choice(n) for n in last if n in entries]
    if not choices:
        said = "Nothing can be taken back. Correct a value, or put a part back to a step."
        return ReadPane(host, "Mis-tap", lambda paper: paper.paragraph(said))
    return MenuPane(host, "Take back", choices, said="It stays in the log, marked as taken back.")
