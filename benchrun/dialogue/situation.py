"""The situation of a run: what is due, its clocks, what became late, notes, the last entries."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from benchrun.board import offer_words
from benchrun.dialogue.page_prompt import PageRow, Tone
from benchrun.dialogue.work import Work
from benchrun.part_names import part_names
from benchrun.run import entries as e
from benchrun.run.clocks import LoadClock, load_clock_words, loads
from benchrun.run.offers import Deed
from benchrun.run.state import Run
from benchrun.text import count, span
from benchrun.wording import elapsed_words, time_limits

LAST_LINES: Final = 5
LAST_NOTES: Final = 3


TOLD_AT: Final = " / then 5 tells more."
"""The keys that tell more of it."""


def resumed_words(work: Work) -> str:
    """One line on a run that was just resumed: since when nobody was at it, what became late."""
    now, kept = work.now, _kept(work.session.entries)
    gone = now.at.utc_ms - kept[-1].at.utc_ms if kept else 0
    gone -= gone % 60_000 if gone > 600_000 else 0  # nobody counts the seconds of a long pause
    words = [f"last entry {work.when(kept[-1].at)}, {span(max(0, gone))} ago"] if kept else []
    clocks = loads(now.run, now.at)
    late = sum(offer.deed is Deed.LATE for offer in now.offers)
    late += sum(clock.to_most is not None and clock.to_most < 0 for clock in clocks)
    words += [f"{late} late"] if late else []
    words += ["times not certain"] if any(not clock.spent.exact for clock in clocks) else []
    notes = sum(isinstance(entry.data, e.Note) for entry in kept)
    words += [count(notes, "note")] if notes else []
    words += [work.later[0].partition(";")[0].removesuffix(".")] if work.later else []
    return f"Resumed: {', '.join(words)}.{TOLD_AT}"


def situation_rows(work: Work) -> Iterator[PageRow]:
    """Everything that matters on coming back to a run."""
    now, entries = work.now, work.session.entries
    kept = _kept(entries)
    if kept:
        gone = span(max(0, now.at.utc_ms - kept[-1].at.utc_ms))
        yield PageRow(f"Last entry {work.when(kept[-1].at)}, {gone} ago.", tone=Tone.QUIET)
    if work.approval.calls:
        yield PageRow(work.approval.words, tone=Tone.CALLS)
    for words in work.later:
        yield PageRow(words, tone=Tone.CALLS)
    if now.offers:
        yield PageRow()
        yield PageRow(offer_words(now.run, now.offers[0]), "next", Tone.STRONG)
    for offer in now.offers:
        if offer.deed is Deed.LATE:
            yield PageRow(offer_words(now.run, offer), "late", Tone.CALLS)
    yield PageRow()
    yield from clock_rows(now.run, loads(now.run, now.at))
    yield from _notes(entries)
    yield PageRow()
    yield PageRow("last entries of the log", tone=Tone.QUIET)
    for entry in kept[-LAST_LINES:]:
        yield PageRow(work.words(entry), f"{entry.n:>4}  {work.when(entry.at)}", indent=2)


def _kept(entries: Sequence[e.Entry]) -> list[e.Entry]:
    return [entry for entry in entries if not isinstance(entry.data, e.Sealed | e.Beat)]


def clock_rows(run: Run, clocks: Sequence[LoadClock]) -> Iterator[PageRow]:
    """Every clock of a run, with its step and its state in words."""
    yield PageRow("on the clock" if clocks else "No clock is running.", tone=Tone.QUIET)
    for clock in clocks:
        yield PageRow(load_words(run, clock), clock=(run, clock))
        state = load_clock_words(clock)
        tone = Tone.QUIET if clock.spent.exact else Tone.CALLS
        yield PageRow(f"{clock.step.number}  {clock.step.text}   {state}", tone=tone, indent=2)


def load_words(run: Run, clock: LoadClock) -> str:
    """How a load stands: what is in, how long, its limits, its state in words."""
    spent = clock.spent
    told = elapsed_words(spent.proven_ms, spent.possible_ms, told_late=spent.told_late)
    limits, who = time_limits(clock.least, clock.most), part_names(clock.parts, run.parts)
    state = load_clock_words(clock)
    # A time that is not certain is told with its state, once.
    words = (told if spent.exact else "", limits, state)
    return f"{clock.step.text} {who}: {', '.join(word for word in words if word)}"


def _notes(entries: Sequence[e.Entry]) -> Iterator[PageRow]:
    notes = [(entry.by, entry.data.text) for entry in entries if isinstance(entry.data, e.Note)]
    names = _names(entries)
    if notes:
        yield PageRow()
    for by, text in notes[-LAST_NOTES:]:
        yield PageRow(f"{text} ({names.get(by, by)})", "note")


def _names(entries: Sequence[e.Entry]) -> Mapping[str, str]:
    """The names of the people who were known when the run was begun."""
    opened = entries[0].data
    people = opened.about.get("people") if isinstance(opened, e.Opened) else None
    if not isinstance(people, Mapping):
        return {}
    return {
        who: str(person["name"])
        for who, person in people.items()
        if isinstance(person, Mapping) and "name" in person
    }
