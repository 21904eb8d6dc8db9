"""Before a run begins: the conditions checked one by one, the tools counted out; and back."""

from collections.abc import Callable, Generator, Sequence

from benchrun.dialogue.delivery import done
from benchrun.dialogue.prompts import Blank, Check, Form
from benchrun.dialogue.turns import Flow, Say, Turn, check, fill
from benchrun.dialogue.work import Work
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.run.commands import Command
from benchrun.run.entries import ToolCount
from benchrun.run.tool_counts import MOST
from benchrun.session import Condition, Readied
from benchrun.shop.people import Person

Now = Callable[[], Moment]


def make_ready(
    procedure: Procedure, person: Person, now: Now
) -> Generator[Turn, object, Readied | None]:
    """Ask for each condition and count the tools out; None where the run is not to begin."""
    conditions = yield from _conditions(procedure, person, now)
    if conditions is None:
        return None
    tools = yield from _tools_out(procedure, person, now)
    return None if tools is None else Readied(conditions, tools)


def _conditions(
    procedure: Procedure, person: Person, now: Now
) -> Generator[Turn, object, tuple[Condition, ...] | None]:
    asked = procedure.needs.before_start
    found: list[tuple[str, Moment]] = []
    while len(found) < len(asked):
        place = len(found)
        title = f"Check before you begin: {procedure.title}"
        so = yield from check(Check(title, asked[place], tuple(found), asked[place + 1 :]))
        if so is None and not found:
            return None
        if so is None:
            found.pop()
        elif so:
            found.append((asked[place], now()))
        else:
            yield Say(
                f"Not begun. Not so: {asked[place]} Put it right, then begin again.", strong=True
            )
            return None
    return tuple(Condition(says, person.id, at.utc) for says, at in found)


def _tools_out(
    procedure: Procedure, person: Person, now: Now
) -> Generator[Turn, object, tuple[ToolCount, ...] | None]:
    needed = [(one.tool, one.number) for one in procedure.needs.counted]
    if not needed:
        return ()
    said = "How many go out to this work. They are counted back behind the last step."
    numbers = yield from count_tools(f"Count the tools out: {procedure.title}", said, needed)
    if numbers is None:
        return None
    at = now().utc
    return tuple(
        ToolCount(tool, number, person.id, at)
        for (tool, _), number in zip(needed, numbers, strict=True)
    )


def count_back(work: Work, command_of: Callable[[tuple[ToolCount, ...]], Command]) -> Flow:
    """Ask how many of each tool came back, and give the command that keeps it."""
    out = work.session.run.tools_out
    said = "How many came back. What is missing needs a reason, and stays in the report."
    numbers = yield from count_tools(
        "Count the tools back", said, [(one.tool, one.number) for one in out]
    )
    if numbers is None:
        return False
    back = tuple(ToolCount(one.tool, number) for one, number in zip(out, numbers, strict=True))
    return (yield from done(work, command_of(back)))


def count_tools(
    title: str, said: str, offered: Sequence[tuple[str, int]]
) -> Generator[Turn, object, tuple[int, ...] | None]:
    """Ask for the number of each tool; Enter takes the number that is offered."""
    typed: tuple[str, ...] = ("",) * len(offered)
    while True:
        blanks = tuple(
            Blank(tool, "", text, str(number))
            for (tool, number), text in zip(offered, typed, strict=True)
        )
        texts = yield from fill(Form(title, blanks, said, "all counted", counts=True))
        if texts is None:
            return None
        numbers = [text or str(number) for text, (_, number) in zip(texts, offered, strict=True)]
        wrong = [
            tool
            for number, (tool, _) in zip(numbers, offered, strict=True)
            if not (number.isascii() and number.isdigit() and int(number[:9]) <= MOST)
        ]
        if not wrong:
            return tuple(int(number) for number in numbers)
        typed = texts
        yield Say(f"{wrong[0]}: type how many there are, 0 to {MOST}.", strong=True)
