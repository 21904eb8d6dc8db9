"""Tools counted out before the start and back, at the last step or the close; what is missing."""

from collections.abc import Iterable
from typing import Final

from benchrun.procedure.route import Step
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal, Want
from benchrun.run.entries import ToolCount
from benchrun.run.state import COUNTED_SINCE, Run
from benchrun.text import listed, shown

MOST: Final = 999
"""How many of one tool are counted at most: more is a slip of the key."""


def miscounted(counts: Iterable[ToolCount]) -> Refusal | None:
    """Refuse tools that are named twice, or a number that nobody counts."""
    named: set[str] = set()
    for one in counts:
        if one.tool in named:
            return Refusal(f"{shown(one.tool, 60)} was counted twice. Count each tool once.")
        if not 0 <= one.number <= MOST:
            return Refusal(f"{shown(one.tool, 60)}: a number from 0 to {MOST} is counted.")
        named.add(one.tool)
    return None


def counts_back(run: Run, step: Step) -> bool:
    """Whether a step wants the number of each tool: they were counted out, and it counts back."""
    return step.counts_back and bool(run.tools_out)


def missing_tools(run: Run, back: Iterable[ToolCount]) -> dict[str, int]:
    """How many of each tool went out and did not come back; only those of which some lack."""
    came = {one.tool: one.number for one in back}
    lacking = {one.tool: one.number - came.get(one.tool, 0) for one in run.tools_out}
    return {tool: number for tool, number in lacking.items() if number > 0}


def missing_words(missing: dict[str, int]) -> str:
    """The missing tools: `missing: 1 × drift and 2 × wedge`."""
    return f"missing: {listed([f'{n} × {tool}' for tool, n in missing.items()], most=40)}"


def not_counted_back(run: Run, step: Step, command: c.Do) -> Refusal | None:
    """Refuse a step that counts tools back without their numbers, or a shortfall unexplained."""
    if not counts_back(run, step):
        return None
    return _not_counted(run, command.tools_back, command.reason)


def tools_to_count(run: Run) -> bool:
    """Whether tools went out that nobody counted back, so that a close asks for their numbers.

    No part comes to the step that counts them where each was scrapped, set aside or left.
    """
    return run.format >= COUNTED_SINCE and bool(run.tools_out) and not run.counted_back


def not_counted_at_close(run: Run) -> Refusal | None:
    """Refuse a close with tools that nobody counted back."""
    return _not_counted(run, (), "") if tools_to_count(run) else None


def decide_count_back(run: Run, command: c.CountBack) -> e.Data | Refusal:
    """Decide a count beside the step for it; until the run is closed they may be counted again."""
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if run.format < COUNTED_SINCE:
        return Refusal("A log of this number counts tools back at their step alone.")
    if not run.tools_out:
        return Refusal("No tools were counted out. There is nothing to count back.")
    refused = _not_counted(run, command.tools_back, command.reason)
    if refused:
        return refused
    if run.counted_back and [*run.counted_back.values()][-1] == command.tools_back:
        return Refusal("The tools are counted so already. Nothing to change.")
    missing = missing_tools(run, command.tools_back)
    flags = (missing_words(missing),) if missing else ()
    return e.CountedBack(command.tools_back, command.reason.strip() if missing else "", flags)


def _not_counted(run: Run, back: tuple[ToolCount, ...], reason: str) -> Refusal | None:
    wrong = miscounted(back)
    if wrong:
        return wrong
    counted = {one.tool for one in back}
    uncounted = [one.tool for one in run.tools_out if one.tool not in counted]
    if uncounted:
        return Refusal(f"Count back: {listed(uncounted, most=40)}. Say how many came back.")
    missing = missing_tools(run, back)
    if missing and not reason.strip():
        said = missing_words(missing)
        return Refusal(
            f"{said[:1].upper()}{said[1:]}. Look for it, or give a reason to go on.",
            Want.REASON,
        )
    return None
