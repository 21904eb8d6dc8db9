"""The lines of the close, asked one by one before the release: put back, and what follows."""

from collections.abc import Generator
from dataclasses import replace
from typing import Final

from benchrun.dialogue.delivery import done, reason_prompt
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.turns import Flow, Turn, choose, text
from benchrun.dialogue.work import Work
from benchrun.procedure.route import CloseLine
from benchrun.run import commands as c
from benchrun.run.close_lines import lines_not_done, lines_to_tick
from benchrun.run.state import Run, Tick
from benchrun.wording import CLOSE_DONE, CLOSE_LISTS

NOT_DONE: Final = "NOT DONE"
"""How a line of the close that is not done says so."""
_DONE: Final = 0
_NOT_DONE: Final = 1
_BEFORE: Final = 2


def asks_lines(run: Run) -> bool:
    """Whether a line of the close is still asked for before a signature."""
    return bool(lines_to_tick(run) or lines_not_done(run))


def line_words(work: Work) -> tuple[str, ...]:
    """Each line of the close as it is ticked, in words, those first that are not done."""
    run = work.session.run
    ticks = [(line, run.ticks.get((line.sort, line.number))) for line in run.route.close_lines]
    told = [(line, tick) for line, tick in ticks if tick is not None]
    told.sort(key=lambda pair: pair[1].done)
    return tuple(f"{_said(line)}: {_tick_words(work, line, tick)}" for line, tick in told)


def tick_lines(work: Work) -> Flow:
    """Ask each line of the close that is open, then what was not done before; whether all are told.

    What was ticked stays ticked where the rest is left.
    """
    run = work.session.run
    lines = (*lines_to_tick(run), *lines_not_done(run))
    at = 0
    while at < len(lines):
        answered = yield from _tick(work, lines, at)
        if answered is None:
            return False
        at += answered
    return True


def tick_again(work: Work, line: CloseLine) -> Flow:
    """Ask one line of the close again, which was ticked wrong."""
    return (yield from _tick(work, (line,), 0)) is not None


def _tick(work: Work, lines: tuple[CloseLine, ...], at: int) -> Generator[Turn, object, int | None]:
    """Ask a line; by how many to go on, or None where that was left."""
    line, session = lines[at], work.session
    tick = session.run.ticks.get((line.sort, line.number))
    options = [Option(CLOSE_DONE[line.sort].capitalize()), Option("Not done", "with the reason")]
    if at:
        before = lines[at - 1]
        ticked = session.run.ticks[before.sort, before.number]
        heard = CLOSE_DONE[before.sort] if ticked.done else "not done"
        options.append(Option("The line before", _tick_words(work, before, ticked), heard=heard))
    said = _said(line) if tick is None else f"{_said(line)}: {_tick_words(work, line, tick)}"
    title = f"Before you sign, line {at + 1} of {len(lines)}"
    place = yield from choose(Choose(title, tuple(options), said))
    if place is None:
        return None
    if place == _BEFORE:
        return -1
    if tick is not None and tick.done == (place == _DONE):
        return 1
    command = c.TickLine(line.sort, line.number, place == _DONE)
    if place == _NOT_DONE:
        said = f"Not done: {line.text} Why?"
        reason = yield from text(reason_prompt(said, session.entries, command))
        if not reason:
            return 0
        command = replace(command, reason=reason)
    return 1 if (yield from done(work, command)) else None


def _said(line: CloseLine) -> str:
    return f"{CLOSE_LISTS[line.sort].capitalize()}: {line.text.removesuffix('.')}"


def _tick_words(work: Work, line: CloseLine, tick: Tick) -> str:
    """How a line is ticked, when and by whom: `done (14:02, Ada Brook)`."""
    name = next((one.name for one in work.people if one.id == tick.by), tick.by)
    state = CLOSE_DONE[line.sort] if tick.done else f"{NOT_DONE}, {tick.reason}"
    return f"{state} ({work.when(tick.at)}, {name})"
