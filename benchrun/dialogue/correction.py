"""Putting right what was entered: a correction keeps both values, the last entry can be undone."""

from dataclasses import replace

from benchrun.dialogue.close_lines import tick_again
from benchrun.dialogue.delivery import done, typed_in
from benchrun.dialogue.figures import ask_figure
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.readying import count_back
from benchrun.dialogue.turns import (
    Flow,
    Say,
    choose,
)
from benchrun.dialogue.work import Work
from benchrun.part_names import part_names
from benchrun.procedure.route import CloseLine, Inspect
from benchrun.run import commands as c
from benchrun.run.amendable import kept_value_words, last_acts, uses_of, values_of
from benchrun.run.commands import Command
from benchrun.run.entries import ToolCount
from benchrun.run.state import COUNTED_SINCE, Run, Value
from benchrun.wording import CLOSE_LISTS

_Wrong = Value | str | CloseLine | tuple[ToolCount, ...]


def correct(work: Work) -> Flow:
    """Choose a value that was entered wrong, the newest first, and give the right one."""
    run = work.session.run
    lines = _entered(run)
    if not lines:
        yield Say("No reading, finding or amount was entered yet.")
        return False
    options = tuple(option for _, option, _ in lines)
    place = yield from choose(Choose("Which is wrong", options, "The newest first."))
    if place is None:
        return False
    n, option, wrong = lines[place]
    if isinstance(wrong, CloseLine):
        return (yield from tick_again(work, wrong))
    if isinstance(wrong, tuple):
        return (yield from count_back(work, c.CountBack))
    if isinstance(wrong, str):
        words = option.words.removeprefix("used: ")
        said = f"{words} was used by entry {n}. Type how much it really was; the book follows."
        return (
            yield from _typed(
                work, "The right amount", said, c.Correct(n, run.parts[0], "", place=wrong)
            )
        )
    return (yield from _value(work, wrong, option))


def _value(work: Work, wrong: Value, option: Option) -> Flow:
    run, n = work.session.run, wrong.n
    command = c.Correct(n, wrong.part, "", place=wrong.id[2])
    if not wrong.part:
        return (yield from _figure(work, wrong, command))
    if not wrong.step:
        return (yield from _kind(work, command))
    detail = run.route.steps[wrong.step].detail
    if isinstance(detail, Inspect):
        said = f"{option.words} was given in entry {n}. Choose what is right; both are kept."
        return (yield from _finding(work, detail, command, said))
    said = f"{option.words} was given in entry {n}. Type the right value; both are kept."
    return (yield from _typed(work, "The right value", said, command))


def _entered(run: Run) -> list[tuple[int, Option, _Wrong]]:
    """The entries that can be put right, the newest first: number, words, the thing itself."""
    lines: list[tuple[int, Option, _Wrong]] = [
        (values[0].n, Option(_named(values), _where(run, values[0])), values[0])
        for values in _given_once(run)
    ]
    for n, supply, words in uses_of(run):
        lines.append((n, Option(f"used: {words}", f"entry {n}"), supply))
    for one in run.route.close_lines:
        tick = run.ticks.get((one.sort, one.number))
        if tick is not None:
            state = "done" if tick.done else "not done"
            words = f"{CLOSE_LISTS[one.sort]}: {one.text.removesuffix('.')}, {state}"
            lines.append((tick.n, Option(words, f"entry {tick.n}"), one))
    if run.counted_back and run.format >= COUNTED_SINCE:
        n = [*run.counted_back][-1]
        lines.append((n, Option("tools counted back", f"entry {n}"), run.tools_out))
    return sorted(lines, key=lambda line: -line[0])


def _typed(work: Work, title: str, said: str, command: c.Correct) -> Flow:
    def corrected(typed: str) -> Command:
        return replace(command, typed=typed)

    return (yield from typed_in(work, Text(title, said), corrected))


def _finding(work: Work, detail: Inspect, command: c.Correct, said: str) -> Flow:
    names = [one.name for one in detail.findings]
    place = yield from choose(Choose("What was found", tuple(map(Option, names)), said))
    if place is None:
        return False
    corrected = replace(command, finding=names[place])
    return (yield from done(work, corrected))


def _figure(work: Work, wrong: Value, command: c.Correct) -> Flow:
    figure = work.session.run.route.figures[wrong.name]
    spec = yield from ask_figure(figure)
    if spec is None:
        return False
    right = replace(command, typed=spec.typed, document=spec.document, page=spec.page)
    return (yield from done(work, right))


def _kind(work: Work, command: c.Correct) -> Flow:
    kinds = tuple(work.session.run.route.kinds.values())
    options = tuple(Option(kind.title) for kind in kinds)
    place = yield from choose(Choose(f"Which kind: {command.part}", options))
    if place is None:
        return False
    return (yield from done(work, replace(command, finding=kinds[place].id)))


def _given_once(run: Run) -> list[list[Value]]:
    """The values that can be put right; those that one reading gave to several parts together.

    Whichever of such is put right, the others are too.
    """
    found: dict[tuple[int, str, str, str], list[Value]] = {}
    for value in values_of(run):
        step = run.route.steps.get(value.step)
        whose = "" if step is not None and step.shared else value.part
        found.setdefault((value.n, value.name, value.place, whose), []).append(value)
    return list(found.values())


def _named(values: list[Value]) -> str:
    value = values[0]
    if not value.part:
        return f"figure {value.name.replace('_', ' ')}: {kept_value_words(value)}"
    place = f" {value.place}" if value.place else ""
    return f"{part_names([one.part for one in values])}{place}: {kept_value_words(value)}"


def _where(run: Run, value: Value) -> str:
    step = run.route.steps.get(value.step)
    return f"entry {value.n}, " + (f"step {step.number}" if step else "from the begin")


def undo(work: Work) -> Flow:
    """Choose an entry to take back: only the last of its parts can be."""
    run = work.session.run
    last = last_acts(run)
    entries = {entry.n: entry for entry in work.session.entries if entry.n in last}
    found = [n for n in last if n in entries]
    if not found:
        yield Say("Nothing to undo. Correct a value, or send a part back to a step.")
        return False
    options = tuple(Option(work.words(entries[n]), f"entry {n}") for n in found)
    said = "It stays in the log, marked as undone."
    place = yield from choose(Choose("Undo", options, said))
    if place is None:
        return False
    return (yield from done(work, c.Retract(found[place], work.seen)))
