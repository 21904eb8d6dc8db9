"""An entry in the making: what an act starts from, and what it becomes for each of its parts."""

from collections.abc import Mapping
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Reading, Step
from benchrun.run import commands as c
from benchrun.run import effects as f
from benchrun.run import entries as e
from benchrun.run.advance import onward
from benchrun.run.clocks import WindowState
from benchrun.run.commands import Hand
from benchrun.run.drafts import marker_draft
from benchrun.run.photos import unphotographed
from benchrun.run.sittings import set_up_by
from benchrun.run.state import BOOKLESS_SINCE, CALIBRATION_SINCE, Run, altered
from benchrun.run.tool_counts import missing_tools, missing_words
from benchrun.text import listed

TOO_SOON = "too soon"
NOT_CALIBRATED = "no calibrated instrument of the shop was named"
_NO_OUTCOMES: Final[Mapping[str, e.Outcome]] = {}


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
    command, flags = making.command, [*start.flags]
    if start.windows and any(state.too_soon for state in start.windows.values()):
        flags.append(TOO_SOON)
    lacking = unphotographed(making.run, step, start.parts)
    if lacking:
        flags.append(_no_photo(lacking, start.parts))
    if _lacks_calibration(making, step):
        flags.append(NOT_CALIBRATED)
    missing = missing_tools(making.run, command.tools_back) if step.counts_back else {}
    if missing:
        flags.append(missing_words(missing))
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
    making: Making, start: Start, draft: e.Did, outcomes: Mapping[str, e.Outcome] = _NO_OUTCOMES
) -> e.Did:
    """Make the entry: for each part, fold what it did so far, then see where it goes on.

    Args:
        making: The entry in the making.
        start: What was checked.
        draft: The entry without outcomes.
        outcomes: What came of it for each part, so far.
    """
    entry = e.Entry(making.run.n, making.at, making.hand.id, draft)
    each = {}
    for part in start.parts:
        own, window = outcomes.get(part, e.NOTHING), start.windows.get(part)
        if window is not None:
            own = _timed(own, window_outcome(window))
        came = _with_falls(making, entry, draft, part, own)
        if came is not e.NOTHING:
            each[part] = came
    return altered(draft, each=each) if each else draft


def _timed(outcome: e.Outcome, timed: e.Outcome) -> e.Outcome:
    if outcome is e.NOTHING:
        return timed
    return altered(outcome, proven=timed.proven, possible=timed.possible, window=timed.window)


def _with_falls(
    making: Making, entry: e.Entry, draft: e.Did, part: str, outcome: e.Outcome
) -> e.Outcome:
    run = making.run
    old = run.markers[part]
    index = f.act_index(run.course, old, draft.step)
    if index != old.index or f.held(outcome.asks, index) or f.scrapped_there(draft, part):
        return outcome
    if run.course.stands_at(index + 1, old.ahead):
        return outcome  # no fork lies on the way, so that nothing needs to be tried out
    after = marker_draft(old)
    f.do_act(run, after, index, entry, draft, outcome)
    on = onward(run, after, index + 1, making.at, count=len(outcome.asks))
    if not on.falls and not on.asks:
        return outcome
    return altered(outcome, falls=on.falls, asks=(*outcome.asks, *on.asks))
