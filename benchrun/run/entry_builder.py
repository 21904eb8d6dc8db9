"""An entry in the making: what an act starts from, and what it becomes for each of its parts."""

from collections.abc import Mapping

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Reading, Step
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.advance import onward
from benchrun.run.clocks import WindowState
from benchrun.run.commands import Hand
from benchrun.run.photos import unphotographed
from benchrun.run.sittings import set_up_by
from benchrun.run.state import BOOKLESS_SINCE, CALIBRATION_SINCE, Run, altered
from benchrun.run.tool_counts import missing_tools, missing_words
from benchrun.text import listed

TOO_SOON = "too soon"
NOT_CALIBRATED = "no calibrated instrument of the shop was named"


@lean_dataclass(frozen=True, slots=True)
class Making:
    """An entry in the making: the run, the moment, who, and the command."""

    run: Run
    at: Moment
    hand: Hand
    command: c.Do


@lean_dataclass(frozen=True, slots=True)
class Start:
    """A start that may be made: its parts in order, who is left behind, the windows kept.

    Attributes:
        vessel: The vessel that the load takes, where this makes it.
        flags: What a reader must know of how the load was made.
    """

    parts: tuple[str, ...]
    without: tuple[str, ...]
    windows: dict[str, WindowState]
    vessel: str = ""
    flags: tuple[str, ...] = ()


def window_outcome(state: WindowState | None) -> e.Outcome:
    """The outcome of the window that a part has kept, or not."""
    if state is None:
        return e.NOTHING
    soon = TOO_SOON if state.too_soon else ""
    since, since_most = state.since, state.since_most
    times = e.WindowTimes(
        state.ruling,
        state.least,
        state.most,
        (since.proven_ms, since.possible_ms),
        (since_most.proven_ms, since_most.possible_ms),
        state.settled,
    )
    return e.Outcome(
        verdict=soon,
        proven=since.proven_ms,
        possible=since.possible_ms,
        window=times if state.depends else None,
    )


def draft_of(making: Making, step: Step, start: Start) -> e.Did:
    """The entry as the command alone tells it."""
    command = making.command
    soon = any(state.too_soon for state in start.windows.values())
    lacking = unphotographed(making.run, step, start.parts)
    flags = [*start.flags, *((TOO_SOON,) if soon else ())]
    flags += [_no_photo(lacking, start.parts)] if lacking else []
    flags += [NOT_CALIBRATED] if _lacks_calibration(making, step) else []
    missing = missing_tools(making.run, command.tools_back) if step.counts_back else {}
    flags += [missing_words(missing)] if missing else []
    return e.Did(
        step.id,
        start.parts,
        reason=command.reason.strip(),
        without=start.without,
        flags=tuple(flags),
        tool=command.tool,
        uses=command.uses,
        vessel=start.vessel,
        carried=command.carried if step.carries_out else None,
        set_up=set_up_by(making.run, step, making.at),
        tools_back=command.tools_back if step.counts_back else (),
    )


def _lacks_calibration(making: Making, step: Step) -> bool:
    """Whether a reading wants a calibrated instrument, and names none whose calibration is told."""
    detail, tool, run = step.detail, making.command.tool, making.run
    wants = isinstance(detail, Reading) and detail.calibrated
    if not wants or run.format < CALIBRATION_SINCE or (tool and tool.calibrated):
        return False
    return run.format < BOOKLESS_SINCE or not lists_no_instrument(run.about)


def lists_no_instrument(about: Mapping[str, object]) -> bool:
    """Whether the shop of a run listed no instrument when it began, by its first line."""
    unkept = about.get("not_kept")
    return isinstance(unkept, list) and "instruments" in unkept


def _no_photo(lacking: tuple[str, ...], parts: tuple[str, ...]) -> str:
    """The flag of a step that wants a photo and was done without, of whom if not of all."""
    return "no photo was taken" + ("" if lacking == parts else f": {listed(lacking, most=40)}")


def finish(
    making: Making, start: Start, draft: e.Did, outcomes: dict[str, e.Outcome] | None = None
) -> e.Did:
    """Make the entry: for each part, fold what it did so far, then see where it goes on.

    Args:
        making: The entry in the making.
        start: What was checked.
        draft: The entry without outcomes.
        outcomes: What came of it for each part, so far.
    """
    each = {}
    for part in start.parts:
        timed = window_outcome(start.windows.get(part))
        own = (outcomes or {}).get(part)
        each[part] = timed if own is None else _timed(own, timed)
    draft = altered(draft, each=each)
    entry = e.Entry(making.run.n, making.at, making.hand.id, draft)
    each = {part: _with_falls(making, entry, draft, part) for part in start.parts}
    return altered(draft, each={part: one for part, one in each.items() if one != e.NOTHING})


def _timed(outcome: e.Outcome, timed: e.Outcome) -> e.Outcome:
    return altered(outcome, proven=timed.proven, possible=timed.possible, window=timed.window)


def _with_falls(making: Making, entry: e.Entry, draft: e.Did, part: str) -> e.Outcome:
    run, outcome = making.run, draft.each[part]
    old = run.markers[part]
    index = f.act_index(run.course, old, draft.step)
    if index != old.index or f.held(outcome.asks, index) or f.scrapped_there(draft, part):
        return outcome
    if run.course.stands_at(index + 1, old.ahead):
        return outcome  # no fork lies on the way, so that nothing needs to be tried out
    after = f.acted(run, old, index, entry, draft, outcome)
    on = onward(run, after, index + 1, making.at, count=len(outcome.asks))
    return altered(outcome, falls=on.falls, asks=(*outcome.asks, *on.asks))
