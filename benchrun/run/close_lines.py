"""The lines of the close: what is put back and what follows, ticked before anybody releases."""

from benchrun.procedure.route import CloseLine
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal, Want
from benchrun.run.state import TICKS_SINCE, Run
from benchrun.text import shown

RESTORE = "restore"
"""The list of what is put back; the other one is of what follows."""


def lines_to_tick(run: Run) -> tuple[CloseLine, ...]:
    """The lines of the close that nobody has ticked yet; a log of an older number has none."""
    if run.format < TICKS_SINCE:
        return ()
    lines = run.route.close_lines
    return tuple(line for line in lines if (line.sort, line.number) not in run.ticks)


def lines_not_done(run: Run) -> tuple[CloseLine, ...]:
    """The lines of the close that were ticked as not done."""
    ticks = run.ticks
    return tuple(
        line
        for line in run.route.close_lines
        if (tick := ticks.get((line.sort, line.number))) is not None and not tick.done
    )


def not_ticked(run: Run) -> Refusal | None:
    """Refuse a release or a close before each line of the close is ticked."""
    left = lines_to_tick(run)
    if not left:
        return None
    more = f" and {len(left) - 1} more" if len(left) > 1 else ""
    return Refusal(
        f"Not ticked yet: {shown(left[0].text, 200).removesuffix('.')}{more}. Tick each line "
        "as done, or say why it is not."
    )


def decide_tick(run: Run, command: c.TickLine) -> e.Ticked | Refusal:
    """Decide the tick at a line of the close; until the run is closed it may be changed."""
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if run.format < TICKS_SINCE:
        return Refusal("A log of this number has no ticks at its close.")
    key, reason = (command.sort, command.line), command.reason.strip()
    line = next((one for one in run.route.close_lines if (one.sort, one.number) == key), None)
    if line is None:
        return Refusal(f"The close has no line {command.line} under {shown(command.sort, 40)!r}.")
    if not command.done and not reason:
        return Refusal("Not done: that needs a reason.", Want.REASON)
    if command.done and reason:
        return Refusal("A line that is done needs no reason. Write a note instead.")
    tick = run.ticks.get(key)
    if tick is not None and (tick.done, tick.reason) == (command.done, reason):
        return Refusal("That line is ticked so already. Nothing to change.")
    return e.Ticked(line.sort, line.number, line.text, command.done, reason)
