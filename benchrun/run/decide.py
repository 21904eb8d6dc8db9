"""Decide: what a command becomes. Either the data of one entry, or a refusal in plain words."""

from collections.abc import Mapping
from dataclasses import replace

from benchrun.moment import Moment
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.acts import decide_do, decide_late, decide_skip
from benchrun.run.advance import onward
from benchrun.run.amendment import decide_correct, decide_retract
from benchrun.run.answering import (
    decide_answer,
    decide_got,
    decide_put,
    decide_raise,
)
from benchrun.run.commands import Command, Hand, Refusal, Want
from benchrun.run.course import Course
from benchrun.run.dwelling import decide_in, decide_out, decide_tend
from benchrun.run.start_checks import no_part, no_step
from benchrun.run.state import Marker, Run, Status
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
    match command:
        case c.Do():
            return decide_do(run, command, at, hand)
        case c.PutIn():
            return decide_in(run, command, at, hand)
        case c.Lift():
            return decide_out(run, command, at)
        case c.Tend():
            return decide_tend(run, command)
        case c.Skip():
            return decide_skip(run, command, at)
        case c.Settle():
            return decide_answer(run, command, at)
    return _decide_parts(run, command, at)


def _decide_parts(run: Run, command: Command, at: Moment) -> e.Data | Refusal:
    match command:
        case c.Raise():
            return decide_raise(run, command)
        case c.FindLate():
            return decide_late(run, command, at)
        case c.Put():
            return decide_put(run, command)
        case c.GetBack():
            return decide_got(run, command)
        case c.Correct():
            return decide_correct(run, command)
        case c.Retract():
            return decide_retract(run, command)
    return _decide_run(run, command, at)


def _decide_run(run: Run, command: Command, at: Moment) -> e.Data | Refusal:
    match command:
        case c.Open():
            return _open(run, command, at)
        case c.Add():
            return _add(run, command, at)
        case c.Stop():
            return _stop(run, command)
        case c.Resume():
            return _resume(run, command)
        case c.Close():
            return _close(run, command)
        case c.SignOff():
            return _sign(run, command)
    return _keep(run, command)


def _keep(run: Run, command: Command) -> e.Data | Refusal:
    match command:
        case c.KeepNote(text, step, parts):
            return _words(run, text, parts) or e.Note(text.strip(), step, parts)
        case c.KeepPhoto(file, sha256, size, step, text, parts, position):
            kept = e.Photo(file, sha256, size, step, text, parts, position)
            return _words(run, file, parts) or kept
        case c.KeepLesson(text, step):
            return _words(run, text, ()) or e.Lesson(text.strip(), step)
        case c.KeepBeat(slept, stepped):
            return e.Beat(slept, stepped)
        case c.KeepSeal(sshsig, who, why):
            return e.Sealed(sshsig, who, why)
        case c.KeepRecovered(files):
            return e.Recovered(files)
        case c.KeepDoubt(findings, reason):
            if not reason.strip():
                return Refusal("Going on all the same needs a reason.", Want.REASON)
            return e.Doubted(findings, reason.strip())
    raise TypeError(f"no such command: {command!r}")


def _words(run: Run, text: str, parts: tuple[str, ...]) -> Refusal | None:
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    unknown = [part for part in parts if part not in run.markers]
    if unknown:
        return no_part(run, unknown[0])
    return None if text.strip() else Refusal("There is nothing written. Type a few words.")


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
    for vessel in course.route.vessels.values():
        if vessel.capacity is not None and spec.size > vessel.capacity:
            return Refusal(
                f"{spec.part} takes room for {spec.size}; the {vessel.title} holds "
                f"{vessel.capacity}. Find a larger vessel, or leave the part out."
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
        if refused:
            return refused
        tags.append(spec.part)
    each = {}
    for spec in command.parts:
        on = onward(run, Marker(spec.part, size=spec.size), 0, at)
        if on.falls or on.asks:
            each[spec.part] = e.Outcome(falls=on.falls, asks=on.asks)
    return e.Opened(command.parts, each, command.about)


def _add(run: Run, command: c.Add, at: Moment) -> e.Data | Refusal:
    spec, reason = command.part, command.reason.strip()
    if run.ended:
        return Refusal("The run is closed. Begin a new one to do more.")
    if len(run.parts) >= MOST_PARTS:
        return Refusal(f"A batch is at most {MOST_PARTS} parts. Begin another run for more.")
    fault = tag_fault(spec.part, run.parts)
    refused = Refusal(fault) if fault else _fits_all(run.course, spec)
    if refused:
        return refused
    if command.step and command.step not in run.route.index:
        return no_step(command.step)
    if command.step and not reason:
        return Refusal("Joining later than the start needs a reason.", Want.REASON)
    index = run.route.index[command.step] if command.step else 0
    passes = (1,) * len(run.route.within[index])
    on = onward(run, Marker(spec.part, index, passes, size=spec.size), index, at)
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
    if inside:
        return Refusal(f"{listed(inside)}: still in. Lift before closing.")
    reasons: Mapping[str, str] = {
        part: text.strip() for part, text in command.reasons.items() if text.strip()
    }
    lacking = [part for part in unfinished(run) if part not in reasons]
    if lacking:
        return Refusal(
            f"{listed(lacking)}: not done. Each part that is not done or scrapped needs a reason.",
            Want.REASON,
        )
    if not command.says.strip():
        return Refusal("A close counts when it is signed. Say what the signature means.")
    kept = {part: reasons[part] for part in unfinished(run)}
    return e.Closed(kept, command.says.strip())


def _sign(run: Run, command: c.SignOff) -> e.Data | Refusal:
    if run.unsigned is None:
        return Refusal("Nothing stands in the last entry to be signed.")
    held = run.unsigned.entry
    parts = held.parts if isinstance(held, e.Did) else ()
    return e.Signed(run.unsigned.n, command.who, command.sshsig, parts)
