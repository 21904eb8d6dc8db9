"""Decide: what a command becomes. Either the data of one entry, or a refusal in plain words."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.acts import decide_begin, decide_do, decide_late, decide_skip
from benchrun.run.advance import onward
from benchrun.run.amendment import decide_correct, decide_retract
from benchrun.run.answering import (
    decide_answer,
    decide_got,
    decide_put,
    decide_raise,
)
from benchrun.run.close_lines import decide_tick, not_ticked
from benchrun.run.commands import Command, Hand, Refusal, Want
from benchrun.run.course import Course
from benchrun.run.dwelling import decide_in, decide_out, decide_tend
from benchrun.run.holds import past_a_hold
from benchrun.run.part_values import fresh_marker, in_pairs, joined_pair, kind_fault
from benchrun.run.run_figures import decide_figure, figure_value, opened_figures
from benchrun.run.start_checks import no_part, no_step
from benchrun.run.state import WITNESS_SINCE, Run, Status, altered
from benchrun.run.tool_counts import decide_count_back, miscounted, not_counted_at_close
from benchrun.run.witnessing import WAITED_FOR, decide_tell, decide_witness, waits_for_witness
from benchrun.text import listed, shown, unfit

LONGEST_TAG = 24
MOST_PARTS = 200


def decide(run: Run, command: Command, at: Moment, hand: Hand) -> e.Data | Refusal:
    """Say what a command becomes.

    Args:
        run: The run as it stands; nothing of it changes.
        command: What is asked for.
        at: Now.
        hand: Who asks.

    Returns:
        The data of the one entry that it becomes, or why it is not taken and what would be.
    """
    if run.n == 0 and not isinstance(command, c.Open):
        return Refusal("The run has not begun. Open it with its parts first.")
    if run.unsigned is not None and not isinstance(command, c.SignOff):
        run = replace(run, unsigned=None)
    make = _DECISIONS.get(type(command))
    if make is None:
        raise TypeError(f"no such command: {command!r}")
    return make(run, command, at, hand)


def _words(run: Run, text: str, parts: tuple[str, ...]) -> Refusal | None:
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    unknown = [part for part in parts if part not in run.markers]
    if unknown:
        return no_part(run, unknown[0])
    return None if text.strip() else Refusal("There is nothing written. Type a few words.")


def _doubt(command: c.KeepDoubt) -> e.Data | Refusal:
    if not command.reason.strip():
        return Refusal("Going on anyway needs a reason.", Want.REASON)
    return e.Doubted(command.findings, command.reason.strip())


def _resume(run: Run, command: c.Resume) -> e.Data | Refusal:
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if not run.stopped:
        return Refusal("The run is not stopped. Go on with what is on offer.")
    return e.Resumed(command.reason.strip())


def tag_fault(tag: str, taken: tuple[str, ...]) -> str | None:
    """Say what is wrong with a part's tag, or None when it will do."""
    if not tag.strip() or tag != tag.strip():
        return "A part needs a tag, such as arm L, without spaces around it."
    if len(tag) > LONGEST_TAG:
        return f"The tag {shown(tag, 40)} is too long. At most {LONGEST_TAG} characters will do."
    fault = unfit(tag)
    if fault:
        return f"A tag holds {fault}, which cannot be written on a tag."
    return f"The tag {tag} is taken. Tags differ." if tag in taken else None


def _fits_all(course: Course, spec: e.PartSpec) -> Refusal | None:
    if spec.size < 1:
        return Refusal(f"{spec.part}: a part takes room for at least 1. Give a size of 1 or more.")
    for vessels in course.one_of_vessels:
        known = [course.route.vessels[name] for name in vessels]
        if all(one.capacity is not None and spec.size > one.capacity for one in known):
            holds = " and ".join(f"the {one.title} holds {one.capacity}" for one in known)
            return Refusal(
                f"{spec.part} takes room for {spec.size}; {holds}. Find a larger vessel, or set "
                "the part aside."
            )
    return None


def _open(run: Run, command: c.Open, at: Moment) -> e.Data | Refusal:
    if run.n:
        return Refusal("The run has begun already.")
    if not 1 <= len(command.parts) <= MOST_PARTS:
        return Refusal(f"A batch is 1 to {MOST_PARTS} parts; {len(command.parts)} were named.")
    tags: list[str] = []
    for spec in command.parts:
        fault = tag_fault(spec.part, tuple(tags))
        refused = Refusal(fault) if fault else _fits_all(run.course, spec)
        refused = refused or kind_fault(run.route, spec)
        if refused:
            return refused
        tags.append(spec.part)
    each = {}
    figures = opened_figures(run, command.figures)
    if isinstance(figures, Refusal):
        return figures
    known = {spec.name: figure_value(spec, run.n) for spec in figures}
    run = altered(run, figures=known)
    wrong = miscounted(command.tools_out)
    if wrong:
        return wrong
    parts = in_pairs(run.route, command.parts)
    for spec in parts:
        on = onward(run, fresh_marker(run, spec, run.n), 0, at)
        if on.falls or on.asks:
            each[spec.part] = e.Outcome(falls=on.falls, asks=on.asks)
    return e.Opened(parts, each, command.about, figures, command.tools_out)


def _add(run: Run, command: c.Add, at: Moment) -> e.Data | Refusal:
    spec, reason = command.part, command.reason.strip()
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if len(run.parts) >= MOST_PARTS:
        return Refusal(f"A batch is at most {MOST_PARTS} parts. Begin another run for more.")
    fault = tag_fault(spec.part, run.parts)
    refused = Refusal(fault) if fault else _fits_all(run.course, spec)
    refused = refused or kind_fault(run.route, spec)
    if refused:
        return refused
    spec = joined_pair(run, spec)
    if command.step and command.step not in run.route.index:
        return no_step(command.step)
    refused = past_a_hold(run, command.step) if command.step else None
    if refused:
        return refused
    if command.step and not reason:
        return Refusal("Joining later than the start needs a reason.", Want.REASON)
    index = run.route.index[command.step] if command.step else 0
    passes = (1,) * len(run.route.within[index])
    marker = altered(fresh_marker(run, spec, run.n), index=index, passes=passes)
    on = onward(run, marker, index, at)
    each = {spec.part: e.Outcome(falls=on.falls, asks=on.asks)} if on.falls or on.asks else {}
    return e.Added(spec, command.step, command.waited, reason, each)


def _stop(run: Run, command: c.Stop) -> e.Data | Refusal:
    if run.ended:
        return Refusal("The run is closed already.")
    if run.stopped:
        return Refusal(f"The run is stopped already: {run.stopped}.")
    if not command.reason.strip():
        return Refusal("Stopping needs a reason.", Want.REASON)
    return e.Stopped(command.reason.strip())


def unfinished(run: Run) -> tuple[str, ...]:
    """The parts that need a reason when the run is closed now."""
    return tuple(m.part for m in run.each() if m.status not in (Status.DONE, Status.SCRAP))


def _close(run: Run, command: c.Close) -> e.Data | Refusal:
    if run.ended:
        return Refusal("The run is closed already.")
    inside = [m.part for m in run.each() if m.soak is not None and m.status is not Status.AWAY]
    told = [part for part in inside if waits_for_witness(run, part)]
    if told and run.format >= WITNESS_SINCE:
        return Refusal(f"{listed(told)}: {WAITED_FOR}")
    if inside:
        return Refusal(f"{listed(inside)}: still in. Take out before closing.")
    reasons: Mapping[str, str] = {
        part: text.strip() for part, text in command.reasons.items() if text.strip()
    }
    lacking = [part for part in unfinished(run) if part not in reasons]
    if lacking:
        return Refusal(
            f"{part_names(lacking)}: not done. Each part that is not done or scrapped "
            "needs a reason.",
            Want.REASON,
        )
    refused = not_counted_at_close(run) or not_ticked(run)
    if refused is not None:
        return refused
    if not command.says.strip():
        return Refusal("A close counts when it is signed. Say what the signature means.")
    kept = {part: reasons[part] for part in unfinished(run)}
    return e.Closed(kept, command.says.strip(), command.remarks)


def _sign(run: Run, command: c.SignOff) -> e.Data | Refusal:
    if run.unsigned is None:
        return Refusal("The last entry holds nothing to sign.")
    held = run.unsigned.entry
    parts = held.parts if isinstance(held, e.Did) else ()
    return e.Signed(run.unsigned.n, command.who, command.sshsig, parts)


def _photo(run: Run, command: c.KeepPhoto) -> e.Data | Refusal:
    photo = e.Photo(
        command.file,
        command.sha256,
        command.bytes,
        command.step,
        command.text,
        command.parts,
        command.position,
    )
    return _words(run, command.file, command.parts) or photo


def _note(run: Run, command: c.KeepNote) -> e.Data | Refusal:
    note = e.Note(command.text.strip(), command.step, command.parts)
    return _words(run, command.text, command.parts) or note


def _lesson(run: Run, command: c.KeepLesson) -> e.Data | Refusal:
    return _words(run, command.text, ()) or e.Lesson(command.text.strip(), command.step)


_DECISIONS: Final[Mapping[type, Callable[[Run, Any, Moment, Hand], e.Data | Refusal]]] = {
    c.Begin: decide_begin,
    c.Do: decide_do,
    c.PutIn: decide_in,
    c.Lift: lambda run, command, at, hand: decide_out(run, command, at),
    c.Tell: decide_tell,
    c.EndNotice: lambda run, command, at, hand: decide_witness(run, command, at),
    c.Tend: lambda run, command, at, hand: decide_tend(run, command),
    c.Skip: lambda run, command, at, hand: decide_skip(run, command, at),
    c.Settle: lambda run, command, at, hand: decide_answer(run, command, at),
    c.Raise: lambda run, command, at, hand: decide_raise(run, command),
    c.FindLate: lambda run, command, at, hand: decide_late(run, command, at),
    c.Put: lambda run, command, at, hand: decide_put(run, command),
    c.GetBack: lambda run, command, at, hand: decide_got(run, command),
    c.Correct: lambda run, command, at, hand: decide_correct(run, command),
    c.Retract: lambda run, command, at, hand: decide_retract(run, command),
    c.KeepFigure: lambda run, command, at, hand: decide_figure(run, command),
    c.Open: lambda run, command, at, hand: _open(run, command, at),
    c.Add: lambda run, command, at, hand: _add(run, command, at),
    c.Stop: lambda run, command, at, hand: _stop(run, command),
    c.Resume: lambda run, command, at, hand: _resume(run, command),
    c.CountBack: lambda run, command, at, hand: decide_count_back(run, command),
    c.TickLine: lambda run, command, at, hand: decide_tick(run, command),
    c.Close: lambda run, command, at, hand: _close(run, command),
    c.SignOff: lambda run, command, at, hand: _sign(run, command),
    c.KeepNote: lambda run, command, at, hand: _note(run, command),
    c.KeepPhoto: lambda run, command, at, hand: _photo(run, command),
    c.KeepLesson: lambda run, command, at, hand: _lesson(run, command),
    c.KeepBeat: lambda run, command, at, hand: e.Beat(command.slept, command.stepped),
    c.KeepSeal: lambda run, command, at, hand: e.Sealed(command.sshsig, command.who, command.why),
    c.KeepRecovered: lambda run, command, at, hand: e.Recovered(command.files),
    c.KeepDoubt: lambda run, command, at, hand: _doubt(command),
}
