"""Putting right what was entered: a correction keeps both values, a mis-tap is taken back."""

from benchrun.procedure.route import Inspect
from benchrun.run import commands as c
from benchrun.run.amendable import last_acts, uses_of, value_words, values_of
from benchrun.run.state import Run, Value
from benchrun.screen.page_api import Pane
from benchrun.screen.prompts import Choice, MenuPane, TextPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.desk import RunDesk
from benchrun.screen.words import brief_words, telling_of


def correct_menu(desk: RunDesk) -> Pane:
    """Choose the value that was entered wrong."""
    run = desk.session.run
    found = [(value.n, _correct_one(desk, run, value)) for value in values_of(run)]
    found += [(n, _correct_use(desk, run, n, *use)) for n, *use in uses_of(run)]
    choices = [choice for _, choice in sorted(found, key=lambda pair: -pair[0])]
    if not choices:
        return ReadPane(
            desk,
            "Correct",
            lambda paper: paper.told("No reading, finding or amount was entered yet."),
        )
    return MenuPane(desk, "Which is wrong", choices, said="The newest first.")


def _correct_one(desk: RunDesk, run: Run, value: Value) -> Choice:
    step = run.route.steps[value.step]
    place = f" {value.place}" if value.place else ""
    words = f"{value.part}{place}: {value_words(value)}"

    async def do() -> None:
        if isinstance(step.detail, Inspect):
            desk.push(_other_finding(desk, value, step.detail))
            return

        async def typed(text: str) -> None:
            await desk.give(c.Correct(value.n, value.part, "", text, place=value.place))

        said = f"{words} was given in entry {value.n}. Type the right value; both are kept."
        desk.push(TextPane(desk, "The right value", typed, said=said))

    return Choice(words, do, f"entry {value.n}, step {step.number}")


def _correct_use(desk: RunDesk, run: Run, n: int, supply: str, words: str) -> Choice:
    """How much of a supply was really used."""

    async def typed(text: str) -> None:
        await desk.give(c.Correct(n, run.parts[0], "", text, place=supply))

    async def do() -> None:
        said = f"{words} was used by entry {n}. Type how much it really was; the book follows."
        desk.push(TextPane(desk, "The right amount", typed, said=said))

    return Choice(f"used: {words}", do, f"entry {n}")


def _other_finding(desk: RunDesk, value: Value, detail: Inspect) -> Pane:
    def choice(name: str) -> Choice:
        async def do() -> None:
            await desk.give(c.Correct(value.n, value.part, "", finding=name, place=value.place))

        return Choice(name, do)

    return MenuPane(desk, "What was found", [choice(one.name) for one in detail.findings])


def mis_tap_menu(desk: RunDesk) -> Pane:
    """Choose the entry to take back: only the last of its parts can be."""
    session = desk.session
    run = session.run
    last = last_acts(run)
    entries = {entry.n: entry for entry in session.entries if entry.n in last}
    telling = telling_of(session.procedure, session.entries, desk.look, desk.now())

    def choice(n: int) -> Choice:
        async def do() -> None:
            await desk.give(c.Retract(n, run.n - 1))

        return Choice(brief_words(telling, entries[n]), do, f"entry {n}")

    choices = [choice(n) for n in last if n in entries]
    if not choices:
        said = "Nothing can be taken back. Correct a value, or put a part back to a step."
        return ReadPane(desk, "Mis-tap", lambda paper: paper.told(said))
    return MenuPane(desk, "Take back", choices, said="It stays in the log, marked as taken back.")
