"""Taking a run up again: where it stood, what soaks, what became late, the last lines, notes."""

from collections.abc import Mapping, Sequence

from benchrun.account.entry_line import brief_words
from benchrun.account.entry_words import EntryWords
from benchrun.board import offer_words
from benchrun.moment import Moment
from benchrun.run import entries as e
from benchrun.run.clocks import loads
from benchrun.run.offers import Deed, offers
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.run.clock_view import clock_row, state_words
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.theme import Appearance
from benchrun.session import Sitting
from benchrun.text import span

LAST_LINES = 5


def resume_pane(host: PaneHost, session: Sitting) -> Pane:
    """The page when a run is taken up again; Enter goes on."""

    def rows(paper: Paper) -> list[TextLine]:
        return resume_rows(paper, session, host.now(), host.look)

    return ReadPane(host, f"{session.procedure.title}: taken up again", rows, enter="go on")


def resume_rows(paper: Paper, session: Sitting, now: Moment, look: Appearance) -> list[TextLine]:
    """Everything that matters on coming back."""
    run, entries = session.run, session.entries
    rows: list[TextLine] = []
    before = [one for one in entries if not isinstance(one.data, e.Sealed | e.Beat)]
    if before:
        last = before[-1].at
        gone = max(0, now.utc_ms - last.utc_ms)
        rows += paper.paragraph(
            f"Last entry {look.since(last, now)}, {span(gone)} ago.", role=Role.QUIET
        )
    found = offers(run, now)
    if found:
        rows += [paper.line(), *_labelled(paper, "where I stood", offer_words(run, found[0]))]
    for one in found:
        if one.deed is Deed.LATE:
            rows += _labelled(paper, "late", offer_words(run, one), role=Role.ACCENT)
    clocks = loads(run, now)
    if clocks:
        rows += [paper.line(), paper.line(" ", ("on the clock", Role.QUIET))]
        for clock in clocks:
            rows += [clock_row(paper, run, clock)]
            if not clock.spent.exact:
                rows += paper.paragraph(state_words(clock), first="   ", role=Role.ACCENT)
    rows += _notes(paper, entries)
    rows += [paper.line(), paper.line(" ", ("last entries of the log", Role.QUIET))]
    telling = EntryWords(session.procedure, entries, when=lambda at: look.since(at, now))
    last_ones = [(one, look.since(one.at, now)) for one in before[-LAST_LINES:]]
    wide = max((len(when) for _, when in last_ones), default=0)
    for entry, when in last_ones:
        first = f"   {entry.n:>4}  {when:>{wide}}  "
        words = brief_words(telling, entry)
        rows += paper.paragraph(words, first=first, lead=Role.QUIET, most=2)
    return rows


def _labelled(paper: Paper, label: str, text: str, role: Role = Role.STRONG) -> list[TextLine]:
    return paper.paragraph(text, first=f" {label:<15}", lead=Role.QUIET, role=role)


def _names(entries: Sequence[e.Entry]) -> Mapping[str, str]:
    """The names of the people who were known when the run was begun."""
    opened = entries[0].data
    people = opened.about.get("people") if isinstance(opened, e.Opened) else None
    if not isinstance(people, Mapping):
        return {}
    return {
        who: str(one["name"])
        for who, one in people.items()
        if isinstance(one, Mapping) and "name" in one
    }


def _notes(paper: Paper, entries: Sequence[e.Entry]) -> list[TextLine]:
    rows: list[TextLine] = []
    notes = [(one.by, one.data.text) for one in entries if isinstance(one.data, e.Note)]
    names = _names(entries)
    for by, text in notes[-3:]:
        rows += _labelled(paper, "note", f"{text} ({names.get(by, by)})", role=Role.TEXT)
    return [paper.line(), *rows] if rows else []
