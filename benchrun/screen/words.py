"""Entries in words, one text each."""

from collections.abc import Sequence

from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.run.entries import Entry
from benchrun.screen.look import Look
from benchrun.show import Telling


def telling_of(procedure: Procedure, entries: Sequence[Entry], look: Look, now: Moment) -> Telling:
    """Tells entries with what was corrected or taken back since, by the bench's own time."""
    telling = Telling(procedure, when=lambda at: look.since(at, now))
    telling.amended.read(entries)
    return telling


def entry_words(telling: Telling, entry: Entry) -> str:
    """What an entry says, in one text; empty for a mere sign of life."""
    return "; ".join(text.strip() for text in telling.words(entry))
