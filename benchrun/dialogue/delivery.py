"""A command given to the run: a reason or a second word that it lacks is asked for, once."""

from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Protocol, cast

from benchrun.board import in_the_way, vessel_wanted
from benchrun.dialogue.acknowledgement import kept_words
from benchrun.dialogue.people import ask_person
from benchrun.dialogue.prompts import Choose, Option, Text
from benchrun.dialogue.turns import (
    Flow,
    Say,
    Send,
    Turn,
    called,
    choose,
    reply_of,
    text,
)
from benchrun.part_names import part_names
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Want
from benchrun.run.state import Run
from benchrun.run.vessels import makes_load, vessels_open
from benchrun.session import Kept, Reply, Sitting

AT_HAND: Final = (
    "looked at closely and judged sound",
    "as the maker's data sheet says",
    "as agreed with the owner",
    "called away",
    "tool or material not at hand",
    "done so to hold to the daylight or the working time",
    "tried out on purpose",
)
"""Reasons that are often given; common practice, no source."""
FOR_CORRECTIONS: Final = (
    "typed wrongly",
    "read off wrongly",
    "entered for another part",
    "measured at another place",
    "another instrument was used",
)
"""Why an entry is often wrong; common practice, no source."""


NOT_DONE_YET: Final = (
    "still in use",
    "somebody else sees to it",
    "on another day",
    "not possible today",
    "not needed this time",
)
"""Why a line of the close is often not done; common practice, no source."""


FOR_LEAVING: Final = (
    "damage seen",
    "worn beyond use",
    "a part or material is missing",
    "as agreed with the owner",
    "done in another run",
)
"""Why a part is often set aside, scrapped, or left unfinished; common practice, no source."""
FOR_STOPS: Final = (
    "the working time is over",
    "tool or material not at hand",
    "called away",
    "somebody is hurt or unwell",
    "the procedure does not fit these parts",
)
"""Why a run is often stopped; common practice, no source."""


class Works(Protocol):
    """Whatever has a run that commands are given to."""

    @property
    def session(self) -> Sitting:
        """The run."""
        ...


def reason_last_given(entries: Iterable[e.Entry]) -> str:
    """The reason given last in a run, or empty."""
    last = ""
    for entry in entries:
        reason = getattr(entry.data, "reason", "")
        if isinstance(reason, str) and reason:
            last = reason
    return last


_READY: Final[Mapping[type, tuple[str, ...]]] = {
    c.Correct: FOR_CORRECTIONS,
    c.TickLine: NOT_DONE_YET,
    c.Put: FOR_LEAVING,
    c.Close: FOR_LEAVING,
    c.Stop: FOR_STOPS,
}


_OF_ENTRIES: Final = (FOR_CORRECTIONS, NOT_DONE_YET)
"""Behind these no reason of another sort stands."""


def reason_prompt(
    said: str, entries: Iterable[e.Entry], command: Command | None = None, typed: str = ""
) -> Text:
    """The question for a reason.

    Each reason at hand keeps its number; the one given last in the run stands behind them.

    Args:
        said: Why one is needed.
        entries: What was kept so far.
        command: What it is given for.
        typed: What stands in the field already.
    """
    ready = _READY.get(type(command), AT_HAND)
    if isinstance(command, c.Put) and command.to not in ("aside", "scrap"):
        ready = AT_HAND
    last = reason_last_given(entries)
    more = (last,) if last and last not in ready and ready not in _OF_ENTRIES else ()
    return Text("A reason", said, (*ready, *more), typed=typed)


def give(
    works: Works, command: Command, said: str = "", *, quiet: bool = False
) -> Generator[Turn, object, Reply | None]:
    """Give a command until it is recorded, refused for good, or left.

    Args:
        works: The run.
        command: What is to be done.
        said: Why a reason is asked before it is given; empty where that is for the rules to say.
        quiet: Whether it is one of several, of which the caller says what came of them.

    Returns:
        What came of it; None where who works, the reason or the second word was left.
    """
    session, typed = works.session, ""
    ready = (yield from _placed(session.run, command)) if (yield from _named(session)) else None
    if ready is None:
        return None
    command = ready
    said = said or (yield from _crowded(session, command))
    while True:
        if said:
            prompt = reason_prompt(
                _for_whom(session.run, command, said), session.entries, command, typed
            )
            typed = yield from text(prompt)
            if not typed:
                return None
            # Only commands that have the field are ever refused for want of a reason.
            command = replace(cast("c.Skip", command), reason=typed)
        before = session.run
        reply = reply_of((yield Send(command)))
        if isinstance(reply, Kept):
            entry = reply.entries[0]
            if not quiet:
                yield Say(kept_words(entry, before), heard=kept_words(entry, before, whose=False))
            return reply
        if reply.want is Want.REASON:
            said = reply.text
        else:
            yield Say(reply.text, strong=True)
            # A reason that was typed is not lost: it can be mended or tried again.
            if not typed or any(typed in ready for ready in (AT_HAND, *_READY.values())):
                return reply


def _named(session: Sitting) -> Generator[Turn, object, bool]:
    """Ask who works where nobody is named yet; whether somebody is."""
    if session.person is None:
        person = yield from ask_person(session.shop, last=_last_worker(session.entries))
        if person is None:
            return False
        session.hand_over(person)
    return True


def _for_whom(run: Run, command: Command, said: str) -> str:
    """Why a reason is asked; in front for whom and at which step, where it does not say so."""
    parts, step = getattr(command, "parts", ()), run.route.steps.get(getattr(command, "step", ""))
    named = len(run.parts) < 2 or not parts or any(part in said for part in parts)
    about = [] if named else [part_names(parts, run.parts)]
    if step is not None and step.text not in said:
        about.append(f"{'step' if about else 'Step'} {step.number}")
    return f"{', '.join(about)}: {said}" if about else said


def _last_worker(entries: Sequence[e.Entry]) -> str:
    """Whoever made the last entry of a run that is a person's: who most likely works now, too."""
    acts = (entry for entry in reversed(entries) if not isinstance(entry.data, e.Sealed | e.Beat))
    return next((entry.by for entry in acts), "")


def _placed(run: Run, command: Command) -> Generator[Turn, object, Command | None]:
    """The command with the vessel of its load, asked where several have room; None: left."""
    if not isinstance(command, c.PutIn | c.Do | c.Tell) or command.vessel:
        return command
    step = run.route.steps.get(command.step)
    named = all(part in run.markers for part in command.parts)
    if step is None or not named or not makes_load(run, step, command.parts):
        return command
    vessels = vessels_open(run, step, command.parts)
    if len(vessels) < 2:
        return command
    known = [run.route.vessels[name] for name in vessels]
    holds = ["" if one.capacity is None else f"holds {one.capacity}" for one in known]
    options = tuple(Option(one.title, room) for one, room in zip(known, holds, strict=True))
    place = yield from choose(Choose("The vessel of this load", options))
    return None if place is None else replace(command, vessel=vessels[place])


def _crowded(session: Sitting, command: Command) -> Generator[Turn, object, str]:
    """Why a load needs a reason to go in beside those of other runs; empty where it needs none."""
    if not isinstance(command, c.PutIn | c.Do) or command.reason:
        return ""
    if not vessel_wanted(session.run, command):
        return ""  # nothing goes into a vessel: the other runs need not be looked at
    shop, run_id = session.shop, session.folder.run
    crowded = yield from called(lambda: in_the_way(shop, run_id, session.run, command))
    return f"{crowded}. Put in anyway: why?" if crowded else ""


def done(works: Works, command: Command) -> Flow:
    """Give a command; whether it was recorded."""
    return isinstance((yield from give(works, command)), Kept)


def typed_in(works: Works, prompt: Text, command_of: Callable[[str], Command]) -> Flow:
    """Ask for a text and record what it comes to; one that is refused stays typed.

    Args:
        works: The run.
        prompt: What is asked.
        command_of: The command for a text.
    """
    typed = ""
    while True:
        typed = yield from text(replace(prompt, typed=typed))
        reply = (yield from give(works, command_of(typed))) if typed else None
        if reply is None or isinstance(reply, Kept):
            return reply is not None
