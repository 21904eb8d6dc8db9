"""The page of a resumed run: where it stands, what soaks, what became late, the last entries."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from benchrun.board import offer_words
from benchrun.dialogue.lookups import load_words
from benchrun.dialogue.prompts import PagePrompt, PageRow, Tone
from benchrun.dialogue.work import Work
from benchrun.run import entries as e
from benchrun.run.clocks import loads
from benchrun.run.offers import Deed
from benchrun.text import span
from benchrun.wording import timing_words

LAST_LINES: Final = 5
LAST_NOTES: Final = 3


def resume_page(work: Work) -> PagePrompt:
    """The page that is read when a run is resumed."""
    title = f"{work.session.procedure.title}: taken up again"
    return PagePrompt(title, lambda: list(resume_rows(work)), enter="go on")


def resume_rows(work: Work) -> Iterator[PageRow]:
    """Everything that matters on coming back."""
    now, entries = work.now, work.session.entries
    kept = [entry for entry in entries if not isinstance(entry.data, e.Sealed | e.Beat)]
    if kept:
        gone = span(max(0, now.at.utc_ms - kept[-1].at.utc_ms))
        yield PageRow(f"Last entry {work.when(kept[-1].at)}, {gone} ago.", tone=Tone.QUIET)
    if now.offers:
        yield PageRow()
        yield PageRow(offer_words(now.run, now.offers[0]), "where I stood", Tone.STRONG)
    for offer in now.offers:
        if offer.deed is Deed.LATE:
            yield PageRow(offer_words(now.run, offer), "late", Tone.CALLS)
    yield from _clocks(work)
    yield from _notes(entries)
    yield PageRow()
    yield PageRow("last entries of the log", tone=Tone.QUIET)
    for entry in kept[-LAST_LINES:]:
        yield PageRow(work.words(entry), f"{entry.n:>4}  {work.when(entry.at)}", indent=2)


def _clocks(work: Work) -> Iterator[PageRow]:
    run = work.session.run
    clocks = loads(run, work.now.at)
    if clocks:
        yield PageRow()
        yield PageRow("on the clock", tone=Tone.QUIET)
    for clock in clocks:
        yield PageRow(load_words(run, clock), clock=(run, clock))
        if not clock.spent.exact:
            words = timing_words(clock.spent, clock.least, clock.most)
            yield PageRow(words, tone=Tone.CALLS, indent=2)


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
